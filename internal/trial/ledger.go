package trial

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"slices"

	"terret/internal/fault"
	"terret/internal/rules"
)

// Ledger is the marks of a trial in the order they came. It only grows. The zero
// Ledger is empty and ready.
//
// Which marks count is worked out from the marks alone:
//
//	A mark is in force unless a later one in force undoes it.
//	A mark in force counts unless one in force replaces it.
//
// So a correction and its undo leave what was there before, and the undo can be
// undone. Devices that were out of touch may both correct one sheet: both marks
// are kept, the one that came first counts, and Disputes names the run until
// somebody replaces one of them.
type Ledger struct {
	marks []Mark
	byID  map[string]int
	byRun map[string][]int
	undos map[string][]int // by the ID they undo
	next  map[string][]int // by the ID they replace

	ticks, replies, postings map[string][]int // by the sheet, the query, the class
	queries                  []int
}

// Len is how many marks there are.
func (l *Ledger) Len() int { return len(l.marks) }

// Marks lists every mark, in the order they came. It is a copy.
func (l *Ledger) Marks() []Mark { return slices.Clone(l.marks) }

// Append takes one more mark. The error is a fault (see Mark.Check), and the
// ledger then as it was. A mark that is there already, the same in everything, is
// taken as read: devices send again what was not acknowledged.
func (l *Ledger) Append(m Mark) error {
	twice, err := m.Check(l.find)
	if twice || err != nil {
		return err
	}
	m = *m.clone()
	if l.byID == nil {
		l.byID, l.byRun, l.undos, l.next = map[string]int{}, map[string][]int{}, map[string][]int{}, map[string][]int{}
		l.ticks, l.replies, l.postings = map[string][]int{}, map[string][]int{}, map[string][]int{}
	}
	i := len(l.marks)
	l.marks = append(l.marks, m)
	l.byID[m.ID] = i
	if r := m.run(); r != "" {
		l.byRun[r] = append(l.byRun[r], i)
	}
	if m.Undoes != "" {
		l.undos[m.Undoes] = append(l.undos[m.Undoes], i)
	}
	if m.Replaces != "" {
		l.next[m.Replaces] = append(l.next[m.Replaces], i)
	}
	switch m.Kind() {
	case TickMark:
		l.ticks[m.Tick.Sheet] = append(l.ticks[m.Tick.Sheet], i)
	case QueryMark:
		l.queries = append(l.queries, i)
	case ReplyMark:
		l.replies[m.Reply.Query] = append(l.replies[m.Reply.Query], i)
	case PostingMark:
		l.postings[m.Posting.Class] = append(l.postings[m.Posting.Class], i)
	}
	return nil
}

// find finds a mark by its ID; nil when there is none.
func (l *Ledger) find(id string) (*Mark, error) {
	if i, ok := l.byID[id]; ok {
		return &l.marks[i], nil
	}
	return nil, nil
}

// Mark is the mark of an ID; nil when there is none. It is a copy.
func (l *Ledger) Mark(id string) *Mark {
	if i, ok := l.byID[id]; ok {
		return l.marks[i].clone()
	}
	return nil
}

// InForce reports whether a mark is there and no mark in force undoes it.
func (l *Ledger) InForce(id string) bool {
	i, ok := l.byID[id]
	return ok && l.inForce(i)
}

// inForce reports whether no later mark in force undoes mark i. Undos refer
// backwards only, so this ends.
func (l *Ledger) inForce(i int) bool {
	for _, u := range l.undos[l.marks[i].ID] {
		if l.inForce(u) {
			return false
		}
	}
	return true
}

// counts reports whether mark i counts.
func (l *Ledger) counts(i int) bool {
	if l.marks[i].Undoes != "" || !l.inForce(i) {
		return false
	}
	for _, n := range l.next[l.marks[i].ID] {
		if l.inForce(n) {
			return false
		}
	}
	return true
}

// Counting is the mark that counts for a run (see Sheet.Run); nil when none does.
// Of several, the one that came first.
func (l *Ledger) Counting(run string) *Mark {
	for _, i := range l.byRun[run] {
		if l.counts(i) {
			return l.marks[i].clone()
		}
	}
	return nil
}

// Disputes names the runs for which more than one mark counts, in the order they
// came, with the IDs of those marks.
func (l *Ledger) Disputes() map[string][]string {
	found := map[string][]string{}
	for run, all := range l.byRun {
		var ids []string
		for _, i := range all {
			if l.counts(i) {
				ids = append(ids, l.marks[i].ID)
			}
		}
		if len(ids) > 1 {
			found[run] = ids
		}
	}
	return found
}

// Chain lists the marks a mark replaces, one after another, the newest first,
// beginning with itself.
func (l *Ledger) Chain(id string) []Mark {
	var all []Mark
	for {
		i, ok := l.byID[id]
		if !ok {
			return all
		}
		all = append(all, *l.marks[i].clone())
		id = l.marks[i].Replaces
	}
}

// Trial is a trial with the sheets of the ledger that count instead of its own,
// and the statuses of the ledger before its own.
func (l *Ledger) Trial(t *Trial) *Trial {
	c := *t
	c.Entries = slices.Clone(t.Entries)
	c.Sheets = nil
	at := make(map[int]int, len(c.Entries))
	for i := range c.Entries {
		at[c.Entries[i].Number] = i
	}
	done := map[string]bool{}
	for i := range l.marks {
		m := &l.marks[i]
		run := m.run()
		if run == "" || done[run] || !l.counts(i) {
			continue
		}
		done[run] = true
		if m.Sheet != nil {
			s := m.Sheet.clone()
			s.ID, s.Replaces = m.ID, ""
			c.Sheets = append(c.Sheets, s)
			continue
		}
		if k, ok := at[m.Status.Entry]; ok {
			e := &c.Entries[k]
			e.Status, e.InPhase, e.Why = m.Status.Status, m.Status.InPhase, m.Status.Why
		}
	}
	return &c
}

// Encode writes the ledger as JSON, one mark a line. The same marks give the same
// bytes.
func (l *Ledger) Encode() ([]byte, error) {
	var b bytes.Buffer
	for i := range l.marks {
		line, err := l.marks[i].Line()
		if err != nil {
			return nil, err
		}
		b.Write(line)
		b.WriteByte('\n')
	}
	return b.Bytes(), nil
}

// DecodeLedger reads what Encode wrote. name is the file's name for the places of
// faults.
func DecodeLedger(name string, data []byte) (*Ledger, error) {
	l := &Ledger{}
	in := bufio.NewScanner(bytes.NewReader(data))
	in.Buffer(nil, maxLine)
	n := 0
	for in.Scan() {
		n++
		if len(bytes.TrimSpace(in.Bytes())) == 0 {
			continue
		}
		place := fmt.Sprintf("%s:%d", name, n)
		m, err := ReadMark(in.Bytes())
		if err != nil {
			return nil, &fault.Fault{Code: fault.Input, Rule: "ledger", Place: place, Message: "this line is no mark", Hint: "a ledger holds one mark a line, as JSON"}
		}
		if err := l.Append(m); err != nil {
			if f, ok := err.(*fault.Fault); ok {
				f.Place = place + ": " + f.Place
			}
			return nil, err
		}
	}
	if err := in.Err(); err != nil {
		return nil, &fault.Fault{Code: fault.TooLarge, Rule: "ledger", Place: fmt.Sprintf("%s:%d", name, n+1), Message: "the line is too long for a mark", Hint: fmt.Sprintf("at most %d bytes are read", maxLine)}
	}
	return l, nil
}

// Board is a board of the ledger's marks; Follow keeps it up to date.
func (l *Ledger) Board(t *Trial, p *rules.Profile) (*Board, error) {
	b, err := NewBoard(l.Trial(t), p)
	if err != nil {
		return nil, err
	}
	for i := range t.Entries {
		b.own[t.Entries[i].Number] = t.Entries[i].own()
	}
	return b, nil
}

// Follow brings a board up to date after marks were appended: since is how many
// the board knew. The board must be the ledger's own; see Ledger.Open and
// Ledger.Board. The error is a fault.List that names each mark whose sheet or
// status cannot be right; such a one is left off the board, its run then has
// none, and all others are on it.
func (b *Board) Follow(l *Ledger, since int) error {
	var wrong fault.List
	done := map[string]bool{}
	var touch func(i int)
	touch = func(i int) {
		m := &l.marks[i]
		for _, ref := range []string{m.Undoes, m.Replaces} {
			if k, ok := l.byID[ref]; ok {
				touch(k)
			}
		}
		run := m.run()
		if run == "" || done[run] {
			return
		}
		done[run] = true
		now := l.Counting(run)
		var err error
		switch {
		case m.Status != nil:
			own := b.own[m.Status.Entry]
			own.Entry = m.Status.Entry
			if now == nil {
				err = b.SetStatus(own)
			} else if err = b.SetStatus(*now.Status); err != nil && b.entries[own.Entry] != nil {
				wrong = append(wrong, faultsOf(now, err)...)
				err = b.SetStatus(own)
			}
		case now == nil:
			b.Clear(run)
		default:
			s := *now.Sheet
			s.ID, s.Replaces = now.ID, ""
			if err = b.Set(s); err != nil {
				b.Clear(run)
			}
		}
		if err != nil {
			wrong = append(wrong, faultsOf(now, err)...)
		}
	}
	for i := since; i < len(l.marks); i++ {
		touch(i)
	}
	return wrong.Err()
}

// faultsOf lists the faults of a mark that could not be put on a board.
func faultsOf(m *Mark, err error) fault.List {
	var l fault.List
	if errors.As(err, &l) {
		return l
	}
	if f, ok := err.(*fault.Fault); ok {
		named := *f
		if m != nil {
			named.Place = "mark " + m.ID
		}
		return fault.List{&named}
	}
	return fault.List{{Code: fault.Input, Rule: "mark", Message: err.Error()}}
}
