package trial

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"terret/internal/fault"
	"terret/internal/rules"
)

// Mark is one thing that somebody wrote down. It is never changed and never taken
// away; a later mark replaces it, or undoes it. It holds one of the things that
// [Mark.Kind] names.
type Mark struct {
	ID       string   `json:"id"`                // unique; made by the device that wrote it
	At       int64    `json:"at_ms"`             // when, UTC milliseconds
	By       string   `json:"by"`                // who
	Device   string   `json:"device"`            // on which device, or "paper"
	Sheet    *Sheet   `json:"sheet,omitempty"`   // what a judge or a timer wrote
	Status   *Status  `json:"status,omitempty"`  // what became of an entry
	Tick     *Tick    `json:"tick,omitempty"`    // a second reader's
	Query    *Query   `json:"query,omitempty"`   // somebody doubts a number
	Reply    *Reply   `json:"reply,omitempty"`   // what was decided
	Posting  *Posting `json:"posting,omitempty"` // placings put up
	Start    *Started `json:"start,omitempty"`   // somebody started, at the mark's time
	Undoes   string   `json:"undoes,omitempty"`  // the ID of a mark that counts as if never written
	Replaces string   `json:"replaces,omitempty"`
	Why      string   `json:"why,omitempty"` // in the writer's words
}

// Status is what became of an entry.
type Status struct {
	Entry   int    `json:"entry"`
	Status  string `json:"status"`             // of Statuses
	InPhase string `json:"in_phase,omitempty"` // where
	Why     string `json:"why,omitempty"`
}

// Tick is a second reader's: the mark of that ID says what the paper says. A
// correction is another mark and wants a tick of its own.
type Tick struct {
	Sheet string `json:"sheet"` // the ID of the sheet's mark
}

// Query is a doubt about a number, as it stands on the query slip. It is open
// until a reply to it is in force.
type Query struct {
	Entry int    `json:"entry"`
	Phase string `json:"phase,omitempty"` // of rules.Phases; "" the total or the placing
	About string `json:"about,omitempty"` // the course or judge; ""
	From  string `json:"from"`            // who asks
	Asks  string `json:"asks"`            // the plain statement
	Rule  string `json:"rule,omitempty"`  // the rule named
}

// Reply is what was decided on a query. What it changes is written as a
// correction, and Changed names that mark.
type Reply struct {
	Query   string `json:"query"` // the ID of the query's mark
	Says    string `json:"says"`  // the decision and its reason
	Heard   string `json:"heard,omitempty"`
	Changed string `json:"changed,omitempty"` // the ID of the mark that corrects a number; "" nothing changed
}

// States of placings that are up.
const (
	Provisional = "provisional" // queries are heard until a time
	Final       = "final"       // signed: no more queries
)

// Posting is the placings of a class put up on the board.
type Posting struct {
	Class string `json:"class"`
	State string `json:"state"`                      // Provisional, Final
	Until int64  `json:"queries_until_ms,omitempty"` // of provisional ones: until when queries are heard, UTC milliseconds
	// Counted is how many marks of the ledger were counted: more that count now
	// for this class mean that what hangs there is out of date.
	Counted int `json:"counted"`
}

// Started is an entry that was sent off in a phase of the timetable, at the time
// of its mark. It scores nothing; what a start counts for stands on the sheets.
type Started struct {
	Phase string `json:"phase"` // as the timetable names it
	Entry int    `json:"entry"`
}

// Kinds of a mark.
const (
	StartMark   = "start"
	SheetMark   = "sheet"
	StatusMark  = "status"
	TickMark    = "tick"
	QueryMark   = "query"
	ReplyMark   = "reply"
	PostingMark = "posting"
	UndoMark    = "undo"
)

// Kind is what a mark holds; "" when that is nothing, or several things.
func (m *Mark) Kind() string {
	kind, n := "", 0
	for _, k := range []struct {
		name string
		is   bool
	}{
		{SheetMark, m.Sheet != nil}, {StatusMark, m.Status != nil}, {TickMark, m.Tick != nil}, {QueryMark, m.Query != nil},
		{ReplyMark, m.Reply != nil}, {PostingMark, m.Posting != nil}, {StartMark, m.Start != nil}, {UndoMark, m.Undoes != ""},
	} {
		if k.is {
			kind, n = k.name, n+1
		}
	}
	if n != 1 {
		return ""
	}
	return kind
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

// maxLine is the longest mark that is taken, bytes of its line.
const maxLine = 1 << 20

// Check says whether a mark can be one, among those that find knows by their ID
// (nil for one that is not there). It asks for what a ledger rests on: an ID, who,
// when and where, one content, and that what it speaks of is there and of the
// right kind. It does not ask whether the scores are right; see CheckSheet. twice
// reports that the very same mark is there already. The error is a fault, or
// find's own.
func (m *Mark) Check(find func(id string) (*Mark, error)) (twice bool, err error) {
	wrong := func(rule, message, hint string) error {
		return &fault.Fault{Code: fault.Input, Rule: rule, Place: "mark " + m.ID, Message: message, Hint: hint}
	}
	if !usable(m.ID) {
		f := wrong("mark-id", "the mark has no ID that can be used", "at most 100 bytes of text").(*fault.Fault)
		f.Place = "mark"
		return false, f
	}
	old, err := find(m.ID)
	if err != nil {
		return false, err
	}
	if old != nil {
		if same(old, m) {
			return true, nil
		}
		return false, wrong("mark-id", "there is another mark of this ID", "give each mark an ID of its own")
	}
	kind := m.Kind()
	switch {
	case m.At <= 0:
		return false, wrong("mark-time", "the mark does not say when it was written", "UTC milliseconds")
	case m.By == "" || m.Device == "":
		return false, wrong("mark-who", "the mark does not say who wrote it and on which device", `write "paper" for a device that is none`)
	case kind == "":
		return false, wrong("mark-content", "a mark holds one thing: a sheet, a status, a tick, a query, a reply, a posting, a start or an undo", "")
	case m.Replaces != "" && m.Undoes != "":
		return false, wrong("mark-content", "an undo replaces nothing", "undo the mark, or write one that replaces it")
	}
	switch kind {
	case StatusMark:
		if !slices.Contains(Statuses(), m.Status.Status) {
			return false, wrong("mark-status", fmt.Sprintf("there is no status %q", m.Status.Status), "one of these is wanted: "+fmt.Sprint(Statuses()))
		}
	case SheetMark:
		if !slices.Contains(rules.Phases(), m.Sheet.Phase) {
			return false, wrong("mark-phase", fmt.Sprintf("there is no phase %q", m.Sheet.Phase), "the phases are "+strings.Join(rules.Phases(), ", "))
		}
	case QueryMark:
		q := m.Query
		if q.Entry <= 0 || q.From == "" || q.Asks == "" || q.Phase != "" && !slices.Contains(rules.Phases(), q.Phase) {
			return false, wrong("mark-query", "a query names its entry, who asks and what", "")
		}
	case ReplyMark:
		if m.Reply.Says == "" {
			return false, wrong("mark-reply", "the reply does not say what was decided", "")
		}
	case StartMark:
		if m.Start.Phase == "" || len(m.Start.Phase) > 100 || m.Start.Entry <= 0 {
			return false, wrong("mark-start", "a start names its phase and its entry", "")
		}
	case PostingMark:
		p := m.Posting
		if p.Class == "" || p.State != Provisional && p.State != Final || p.Counted < 0 {
			return false, wrong("mark-posting", "a posting names its class and whether it is provisional or final", "")
		}
		if p.State == Provisional && p.Until < m.At {
			return false, wrong("mark-posting", "provisional placings say until when queries are heard", "a time behind that of the posting")
		}
	}
	if _, err := m.Line(); err != nil {
		return false, wrong("mark-content", "the mark cannot be written down: "+err.Error(), "")
	}
	for _, ref := range m.refs() {
		var old *Mark
		if usable(ref.id) {
			if old, err = find(ref.id); err != nil {
				return false, err
			}
		}
		if old == nil {
			return false, wrong("mark-reference", fmt.Sprintf("there is no mark %q", ref.id), "send the mark it speaks of first")
		}
		if ref.kind != "" && old.Kind() != ref.kind {
			return false, wrong("mark-reference", fmt.Sprintf("mark %q is of another kind", ref.id), fmt.Sprintf("a %s is wanted there", ref.kind))
		}
		if kind == TickMark && old.By == m.By {
			return false, wrong("mark-tick", fmt.Sprintf("%s wrote sheet %q", m.By, ref.id), "a second reader is somebody else")
		}
	}
	return false, nil
}

// usable reports whether a text can be the ID of a mark.
func usable(id string) bool {
	return id != "" && len(id) <= 100 && utf8.ValidString(id) && !strings.ContainsFunc(id, unicode.IsControl)
}

// ref is a mark that another speaks of.
type ref struct{ id, kind string } // kind "": any

// refs lists the marks that a mark speaks of.
func (m *Mark) refs() []ref {
	var all []ref
	if m.Replaces != "" {
		all = append(all, ref{m.Replaces, m.Kind()})
	}
	if m.Undoes != "" {
		all = append(all, ref{m.Undoes, ""})
	}
	if m.Tick != nil {
		all = append(all, ref{m.Tick.Sheet, SheetMark})
	}
	if m.Reply != nil {
		all = append(all, ref{m.Reply.Query, QueryMark})
		if m.Reply.Changed != "" {
			all = append(all, ref{m.Reply.Changed, ""})
		}
	}
	return all
}

// Line writes a mark as one line of JSON, without its end. The same mark gives the
// same bytes: it is what a ledger is written with and what a store keeps.
func (m *Mark) Line() ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	if err := e.Encode(m); err != nil {
		return nil, err
	}
	if b.Len() > maxLine {
		return nil, fmt.Errorf("it is longer than %d bytes", maxLine)
	}
	return bytes.TrimRight(b.Bytes(), "\n"), nil
}

// ReadMark reads what Line wrote. Anything else is an error.
func ReadMark(line []byte) (Mark, error) {
	var m Mark
	d := json.NewDecoder(bytes.NewReader(line))
	d.DisallowUnknownFields()
	if err := d.Decode(&m); err != nil {
		return Mark{}, err
	}
	if _, err := d.Token(); err != io.EOF {
		return Mark{}, fmt.Errorf("something stands behind the mark")
	}
	return m, nil
}

func same(a, b *Mark) bool {
	x, errX := a.Line()
	y, errY := b.Line()
	return errX == nil && errY == nil && bytes.Equal(x, y)
}

// clone copies a mark with all it holds, so that nobody changes it afterwards.
func (m *Mark) clone() *Mark {
	c := *m
	if m.Sheet != nil {
		s := m.Sheet.clone()
		c.Sheet = &s
	}
	c.Status, c.Tick, c.Query, c.Reply, c.Posting, c.Start = copied(m.Status), copied(m.Tick), copied(m.Query), copied(m.Reply), copied(m.Posting), copied(m.Start)
	return &c
}

func copied[T any](p *T) *T {
	if p == nil {
		return nil
	}
	c := *p
	return &c
}
