package trial

import (
	"context"
	"errors"
	"fmt"
	"time"

	"terret/internal/fault"
	"terret/internal/rules"
)

// Setting is one kept version of what a trial is: its classes, entries, tests,
// courses and rule profile, without a single sheet. Versions of one trial count up
// from 1 and are never changed or taken away; a scratched entry, a late-comer or a
// measured course is the next version.
type Setting struct {
	ID      string    // of the trial, the same for all its versions
	Version int       // from 1
	Name    string    // the trial's name in this version
	Note    string    // why it was kept, in the keeper's words; may be empty
	By      string    // who kept it; may be empty
	At      time.Time // when it was kept, UTC to the millisecond
	Overlay string    // text of a rules/1 file that counts instead of Trial.Rules; "": Trial.Rules is a built-in profile
	Trial   *Trial    // without sheets; nil in lists of versions
}

// Profile is the rule profile that counts: the overlay kept with the setting, or
// the built-in one that the trial names. A path in Trial.Rules is not followed:
// a kept trial rests on nothing outside the store. The error is a fault.
func (s *Setting) Profile() (*rules.Profile, error) {
	if s.Overlay != "" {
		return rules.Decode("rules of "+s.ID, []byte(s.Overlay))
	}
	name := s.Trial.Rules
	if name == "" {
		name = rules.Default
	}
	for _, n := range rules.Names() {
		if n == name {
			return rules.Load(name)
		}
	}
	return nil, &fault.Fault{Code: fault.NotFound, Rule: "profile", Place: "trial " + s.ID, Message: "the rules " + name + " were not kept with this trial", Hint: "keep the trial again with its rule file, or name a built-in profile"}
}

// Kept is a mark as the store keeps it.
type Kept struct {
	Seq  int64     // from 1 in the order acknowledged, without a gap
	Came time.Time // when it reached the store; Mark.At is when it was written
	Mark Mark
}

// Receipt is what became of one mark that was handed in.
type Receipt struct {
	ID    string
	Seq   int64        // where it is kept; 0: it was refused
	Twice bool         // it had been kept before, the same in everything
	Fault *fault.Fault // why it was refused; nil: it is kept
}

// Refused gathers why marks were refused, a fault.List; nil when all are kept.
func Refused(receipts []Receipt) error {
	var l fault.List
	for _, r := range receipts {
		if r.Fault != nil {
			l = append(l, r.Fault)
		}
	}
	return l.Err()
}

// Store keeps trials. Package store has the two implementations, and one contract
// suite holds both to what stands here.
//
// # Store and Ledger
//
// The Store knows nothing of scores, and the Ledger nothing of disks. A store
// keeps, for each trial, two histories that only grow: versions of the setting,
// and marks. What counts is worked out from them by the pure code of this package:
//
//	setting, _ := store.Setting(ctx, id, 0)        // what the trial is
//	ledger, seq, _ := ReadLedger(ctx, store, id)   // everything that was written
//	profile, _ := setting.Profile()
//	board, wrong, _ := ledger.Open(setting.Trial, profile)
//	answer := board.Answer()
//
// and kept up to date as marks come in:
//
//	seq, _ = ledger.ReadOn(ctx, store, id, seq)
//	err := board.Follow(ledger, before)            // before: ledger.Len() until now
//
// The marks come back in the order they were acknowledged, so a ledger read from
// a store has the same bytes (Ledger.Encode) as one that took the marks as they
// came, and the answer is the same to the byte, whenever and wherever it is
// worked out. There is no table of totals that could differ from it.
//
// # Idempotence
//
// A mark's ID is made on the device that wrote it. A device that got no answer
// sends the same marks again: what is kept already is acknowledged again and not
// kept twice.
type Store interface {
	// Trials lists the newest setting of every trial, the one kept last first. A
	// setting that this edition cannot read has a nil Trial.
	Trials(ctx context.Context) ([]Setting, error)

	// Settings lists every version of one trial's setting, newest first, without
	// the trials themselves. Fault NotFound when there is none of that id.
	Settings(ctx context.Context, id string) ([]Setting, error)

	// Version is the newest version's number, told without reading it. Fault NotFound.
	Version(ctx context.Context, id string) (int, error)

	// Setting fetches one version; 0 is the newest. Fault NotFound.
	Setting(ctx context.Context, id string, version int) (Setting, error)

	// SaveSetting keeps s.Trial, Overlay, Note, By and At as the version after
	// base; base 0 begins a new trial. It takes a trial that is not finished, or
	// that Validate would fault, but none with sheets. Fault Conflict, with
	// nothing written, when base is not the newest version.
	SaveSetting(ctx context.Context, id string, base int, s Setting) (Setting, error)

	// Append keeps marks in the order given and returns one receipt for each, in
	// that order, when all that are kept have reached the disk. came is when they
	// reached this machine. A mark that cannot be one (see Mark.Check) is refused
	// in its receipt, and the others are kept. That a sheet is odd (an unknown
	// entry, a mark over the scale) is no reason to refuse it: what was written was
	// written; see CheckSheet to ask before, and Ledger.Open for afterwards. Fault
	// NotFound when there is no such trial. With any error nothing was kept.
	Append(ctx context.Context, id string, marks []Mark, came time.Time) ([]Receipt, error)

	// Marks lists the marks behind the one with sequence number after, in order,
	// at most most of them; 0 takes all. Nothing is ever put before what was
	// already listed, so the last Seq is where to go on. Fault NotFound when there
	// is no such trial.
	Marks(ctx context.Context, id string, after int64, most int) ([]Kept, error)
}

// MarkReader is the part of a Store that a ledger is read from.
type MarkReader interface {
	Marks(ctx context.Context, id string, after int64, most int) ([]Kept, error)
}

// ReadLedger reads all marks of a trial, and the sequence number of the last.
func ReadLedger(ctx context.Context, s MarkReader, id string) (*Ledger, int64, error) {
	l := &Ledger{}
	seq, err := l.ReadOn(ctx, s, id, 0)
	return l, seq, err
}

// ReadOn appends the marks behind after to the ledger and gives the sequence
// number of the last one; after itself when there is nothing new.
func (l *Ledger) ReadOn(ctx context.Context, s MarkReader, id string, after int64) (int64, error) {
	all, err := s.Marks(ctx, id, after, 0)
	if err != nil {
		return after, err
	}
	for _, k := range all {
		if err := l.Append(k.Mark); err != nil {
			return after, err
		}
		after = k.Seq
	}
	return after, nil
}

// Open is Ledger.Board for a day that goes on: one sheet that cannot be right (its
// entry was taken out, a phone wrote nonsense) is left off the board and named in
// wrong, and all others are on it. The error is a fault of the trial itself.
func (l *Ledger) Open(t *Trial, p *rules.Profile) (b *Board, wrong fault.List, err error) {
	bare := *t
	bare.Sheets = nil
	b, err = NewBoard(&bare, p)
	if err != nil {
		return nil, nil, err
	}
	errors.As(b.Follow(l, 0), &wrong)
	return b, wrong, nil
}

// Split parts a trial as it is read from a file into its setting and the marks of
// its sheets, for keeping: each mark is by by, on device, at at. The marks come in
// an order in which each stands behind what it replaces. The overlay is the text
// of the file that t.Rules names, "" for a built-in profile.
func Split(t *Trial, by, device string, at time.Time) (*Trial, []Mark) {
	t.NameSheets()
	setting := *t
	setting.Sheets = nil
	place := make(map[string]int, len(t.Sheets))
	for i := range t.Sheets {
		place[t.Sheets[i].ID] = i
	}
	var marks []Mark
	done := make([]bool, len(t.Sheets))
	var put func(i int)
	put = func(i int) {
		if done[i] {
			return
		}
		done[i] = true
		s := t.Sheets[i].clone()
		if k, ok := place[s.Replaces]; ok && s.Replaces != "" {
			put(k) // it may stand in another phase's list, further down
		}
		m := Mark{ID: s.ID, At: at.UnixMilli(), By: by, Device: device, Replaces: s.Replaces}
		s.ID, s.Replaces = "", ""
		m.Sheet = &s
		marks = append(marks, m)
	}
	for i := range t.Sheets {
		put(i)
	}
	return &setting, marks
}

// Joined is the trial with every sheet the ledger holds that is in force, those
// that were corrected and their corrections alike, as a file has them; Ledger.Trial
// gives those that count alone. Statuses of the ledger stand before the trial's
// own.
func (l *Ledger) Joined(t *Trial) *Trial {
	c := l.Trial(t)
	counting := make(map[string]bool, len(c.Sheets))
	for i := range c.Sheets {
		counting[c.Sheets[i].ID] = true
	}
	// A chain of corrections is written where its first sheet came.
	c.Sheets = nil
	replaced := map[string]bool{}
	for i := range l.marks {
		m := &l.marks[i]
		if m.Sheet == nil || !l.inForce(i) || !counting[m.ID] && !l.leads(m.ID, counting) {
			continue
		}
		s := m.Sheet.clone()
		s.ID, s.Replaces = m.ID, ""
		if m.Replaces != "" && !replaced[m.Replaces] && l.inForce(l.byID[m.Replaces]) {
			s.Replaces = m.Replaces
			replaced[m.Replaces] = true
		}
		c.Sheets = append(c.Sheets, s)
	}
	return c
}

// Sound is Joined without what cannot be right under a profile: what a file of this
// trial can hold. Each sheet and status that would count and is left out is named in
// wrong.
func (l *Ledger) Sound(t *Trial, p *rules.Profile) (sound *Trial, wrong fault.List) {
	c := l.Joined(t)
	b := Board{check: newValidator(c, p)}
	counting := map[string]bool{}
	for i := range l.marks {
		if m := &l.marks[i]; m.Sheet != nil && l.counts(i) {
			counting[m.ID] = true
		}
	}
	// From the last to the first: a sheet that does not count stays only if the one
	// that corrects it does.
	keep, right := map[string]bool{}, map[string]bool{}
	for i := len(c.Sheets) - 1; i >= 0; i-- {
		s := &c.Sheets[i]
		if err := b.checked(s); err != nil {
			if counting[s.ID] { // one that was corrected is nobody's trouble any more
				wrong = append(faultsOf(l.Mark(s.ID), err), wrong...)
			}
			continue
		}
		right[s.ID] = true
		if counting[s.ID] || keep[s.ID] {
			keep[s.ID] = true
			keep[s.Replaces] = true
		}
	}
	sheets := c.Sheets
	c.Sheets = nil
	for _, s := range sheets {
		if !keep[s.ID] || !right[s.ID] {
			continue
		}
		if !right[s.Replaces] {
			s.Replaces = ""
		}
		c.Sheets = append(c.Sheets, s)
	}
	for i := range c.Entries {
		e := &c.Entries[i]
		if k := b.check.classes[e.Class]; k != nil && e.InPhase != "" && !k.Has(e.InPhase) && e.InPhase != t.Entries[i].InPhase {
			wrong = append(wrong, &fault.Fault{Code: fault.Input, Rule: "entry-phase", Place: fmt.Sprintf("status of entry %d", e.Number), Message: fmt.Sprintf("class %s does not drive %s", e.Class, e.InPhase)})
			e.Status, e.InPhase, e.Why = t.Entries[i].Status, t.Entries[i].InPhase, t.Entries[i].Why
		}
	}
	return c, wrong
}

// leads reports whether a mark was replaced, by one or more steps, by one of the
// given marks.
func (l *Ledger) leads(id string, to map[string]bool) bool {
	for _, n := range l.next[id] {
		if m := &l.marks[n]; l.inForce(n) && (to[m.ID] || l.leads(m.ID, to)) {
			return true
		}
	}
	return false
}
