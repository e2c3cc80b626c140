package trial

import (
	"bufio"
	"bytes"
	"encoding/json"
	"fmt"
	"slices"
	"unicode/utf8"

	"terret/internal/fault"
	"terret/internal/rules"
)

// Mark is one thing that somebody wrote down: a sheet, or an entry's status. It
// is never changed and never taken away; a later mark replaces it, or undoes it.
type Mark struct {
	ID       string  `json:"id"`                 // unique; made by the device that wrote it
	At       int64   `json:"at_ms"`              // when, UTC milliseconds
	By       string  `json:"by"`                 // who
	Device   string  `json:"device"`             // on which device, or "paper"
	Sheet    *Sheet  `json:"sheet,omitempty"`    // one of the three
	Status   *Status `json:"status,omitempty"`   //
	Undoes   string  `json:"undoes,omitempty"`   // the ID of a mark that counts as if never written
	Replaces string  `json:"replaces,omitempty"` // of a sheet or status: the mark it corrects
	Why      string  `json:"why,omitempty"`      // in the writer's words
}

// Status is what became of an entry.
type Status struct {
	Entry   int    `json:"entry"`
	Status  string `json:"status"`             // of Statuses
	InPhase string `json:"in_phase,omitempty"` // where
	Why     string `json:"why,omitempty"`
}

// run names what a mark is of: two that count for one run are a dispute.
func (m *Mark) run() string {
	switch {
	case m.Sheet != nil:
		return m.Sheet.Run()
	case m.Status != nil:
		return "status:" + itoa(m.Status.Entry)
	}
	return ""
}

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
}

// Len is how many marks there are.
func (l *Ledger) Len() int { return len(l.marks) }

// Marks lists every mark, in the order they came. It is a copy.
func (l *Ledger) Marks() []Mark { return slices.Clone(l.marks) }

// Append takes one more mark. The error is a fault, and the ledger then as it
// was. A mark that is there already, the same in everything, is taken as read:
// devices send again what was not acknowledged.
func (l *Ledger) Append(m Mark) error {
	wrong := func(rule, message, hint string) error {
		return &fault.Fault{Code: fault.Input, Rule: rule, Place: "mark " + m.ID, Message: message, Hint: hint}
	}
	if i, twice := l.byID[m.ID]; twice {
		if same(&l.marks[i], &m) {
			return nil
		}
		return wrong("mark-id", "there is another mark of this ID", "give each mark an ID of its own")
	}
	given := 0
	for _, there := range []bool{m.Sheet != nil, m.Status != nil, m.Undoes != ""} {
		if there {
			given++
		}
	}
	switch {
	case m.ID == "" || len(m.ID) > 100 || !utf8.ValidString(m.ID):
		return wrong("mark-id", "the mark has no ID that can be used", "at most 100 bytes of text")
	case m.At <= 0:
		return wrong("mark-time", "the mark does not say when it was written", "UTC milliseconds")
	case m.By == "" || m.Device == "":
		return wrong("mark-who", "the mark does not say who wrote it and on which device", `write "paper" for a device that is none`)
	case given != 1:
		return wrong("mark-content", "a mark is a sheet, a status or an undo, and one of them", "")
	case m.Replaces != "" && m.Undoes != "":
		return wrong("mark-content", "an undo replaces nothing", "undo the mark, or write one that replaces it")
	case m.Status != nil && !slices.Contains(Statuses(), m.Status.Status):
		return wrong("mark-status", fmt.Sprintf("there is no status %q", m.Status.Status), "one of these is wanted: "+fmt.Sprint(Statuses()))
	case m.Sheet != nil && !slices.Contains(rules.Phases(), m.Sheet.Phase):
		return wrong("mark-phase", fmt.Sprintf("there is no phase %q", m.Sheet.Phase), "")
	}
	for _, ref := range []string{m.Replaces, m.Undoes} {
		if _, known := l.byID[ref]; ref != "" && !known {
			return wrong("mark-reference", fmt.Sprintf("there is no mark %q", ref), "send the mark it speaks of first")
		}
	}
	if m.Replaces != "" {
		old := &l.marks[l.byID[m.Replaces]]
		if (old.Sheet == nil) != (m.Sheet == nil) || (old.Status == nil) != (m.Status == nil) {
			return wrong("mark-reference", fmt.Sprintf("mark %q is of another kind", m.Replaces), "a sheet replaces a sheet, a status a status")
		}
	}
	m = *m.clone()
	if l.byID == nil {
		l.byID, l.byRun, l.undos, l.next = map[string]int{}, map[string][]int{}, map[string][]int{}, map[string][]int{}
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
	return nil
}

func same(a, b *Mark) bool {
	x, errX := json.Marshal(a)
	y, errY := json.Marshal(b)
	return errX == nil && errY == nil && bytes.Equal(x, y)
}

// clone copies a mark with all it holds, so that nobody changes it afterwards.
func (m *Mark) clone() *Mark {
	c := *m
	if m.Sheet != nil {
		s := m.Sheet.clone()
		c.Sheet = &s
	}
	if m.Status != nil {
		s := *m.Status
		c.Status = &s
	}
	return &c
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
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	for i := range l.marks {
		if err := e.Encode(&l.marks[i]); err != nil {
			return nil, err
		}
	}
	return b.Bytes(), nil
}

// maxLine is the longest mark that is read, bytes.
const maxLine = 1 << 20

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
		var m Mark
		d := json.NewDecoder(bytes.NewReader(in.Bytes()))
		d.DisallowUnknownFields()
		place := fmt.Sprintf("%s:%d", name, n)
		if err := d.Decode(&m); err != nil || d.More() {
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
// the board knew. The board must be the ledger's own; see Ledger.Board. The fault
// names the first mark whose sheet cannot be right; such a sheet is left off the
// board, and the others are on it.
func (b *Board) Follow(l *Ledger, since int) error {
	var first error
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
			st := b.own[m.Status.Entry]
			st.Entry = m.Status.Entry
			if now != nil {
				st = *now.Status
			}
			err = b.SetStatus(st)
		case now == nil:
			b.Clear(run)
		default:
			s := *now.Sheet
			s.ID, s.Replaces = now.ID, ""
			err = b.Set(s)
		}
		if err != nil && first == nil {
			first = err
		}
	}
	for i := since; i < len(l.marks); i++ {
		touch(i)
	}
	return first
}
