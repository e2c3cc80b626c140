package trials

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"terret/internal/fault"
	"terret/internal/rota"
	"terret/internal/trial"
	"terret/internal/trial/order"
	"terret/internal/web/book"
)

// dayRoutes are the pages of the Day tab.
func (s *server) dayRoutes() {
	if s.opened == nil {
		s.Page("GET /day", s.Room(book.Room{Path: "/day", Key: "day", Name: "Day", Will: "Here a day is run: who is out, who is next, how many minutes late.", Meanwhile: "This program was started without a place to keep trials. Run the day by the printed order of go."}))
		return
	}
	s.Page("GET /day", s.dayNewest)
	s.on("GET /day/{id}", s.day)
	s.on("POST /day/{id}/start", s.dayStart)
	s.on("POST /day/{id}/undo", s.dayUndo)
	s.on("GET /day/{id}/timetable", s.dayTimetable)
	s.on("POST /day/{id}/timetable", s.dayTimetableKeep)
	s.Page("GET /day/{id}/replan", s.dayReplan)
	s.on("POST /day/{id}/replan", s.dayTake)
	s.rotaRoutes()
}

// dayEmptyPage is the tab without a trial.
type dayEmptyPage struct{ book.Frame }

// dayNewest is GET /day: the trial worked on last.
func (s *server) dayNewest(w http.ResponseWriter, r *http.Request) error {
	all, err := s.opened.store.Trials(r.Context())
	if err != nil {
		return err
	}
	for _, t := range all {
		if t.Trial != nil {
			http.Redirect(w, r, "/day/"+url.PathEscape(t.ID), http.StatusSeeOther)
			return nil
		}
	}
	return s.Render(w, http.StatusOK, "day_empty", dayEmptyPage{s.Frame("day", "Day")})
}

// dayPage is the programme as it runs.
type dayPage struct {
	dayHead
	Clock     string
	AsIf      string // the time somebody looks at it as if it were; "" now
	Phases    []dayPhase
	On        *dayPhase
	Entries   []book.Choice // who can be scratched
	Timed     bool          // there is a timetable
	Startless []string      // who drives and has no start, phase by phase
	Made      bool          // there are starts
	Empty     int           // shifts with a free seat that stop the day, now or later
	Mark      string
	Done      string
}

// dayPhase is one phase of the timetable.
type dayPhase struct {
	Name, Address, Says string
	On                  bool
	Unseen              bool // nobody presses starts there
	Late                int  // minutes
	Out                 *dayStart
	Next                []dayStart // not started, in their order
	Started             int
	Of                  int
	Every               int // minutes from start to start
	Rows                []dayStart
}

// dayStart is one line of the list.
type dayStart struct {
	Number       int
	Driver, With string
	Planned      string
	Due          string // when it is expected; "" it has started
	In           string // "in 12 min"
	LateMin      int
	Started      string // when it did
	Mark         string // of its start
	Sheet        bool   // nobody pressed its start, and its sheet is in
	Gap          string
}

// timeOfDay is a moment as a time of the day it happens on.
func timeOfDay(t time.Time) order.Clock {
	t = t.Local()
	return order.Clock(t.Hour()*3600 + t.Minute()*60 + t.Second())
}

// planOf is the order of go that stands, without those who do not drive.
func planOf(t *trial.Trial, drives map[order.Start]bool) *order.Plan {
	p := &order.Plan{}
	for _, run := range t.Timetable.Phases {
		l := order.List{Phase: run.Name}
		for _, s := range t.Timetable.Starts {
			if s.Phase == run.Name && drives[order.Start{Phase: s.Phase, Entry: s.Entry}] {
				l.Slots = append(l.Slots, order.Slot{At: s.At, Entry: s.Entry})
			}
		}
		slices.SortStableFunc(l.Slots, func(a, b order.Slot) int { return int(a.At - b.At) })
		p.Lists = append(p.Lists, l)
	}
	return p
}

// startless says who drives a phase and has no start in it: late entries, and everybody
// of a phase that came into the timetable after the order was made.
func startless(day *trial.Trial, in order.Input) []string {
	left := in.Drives()
	for _, x := range day.Timetable.Starts {
		delete(left, order.Start{Phase: x.Phase, Entry: x.Entry})
	}
	var all []string
	for _, p := range in.Phases {
		var without []int
		for _, e := range in.Entries {
			if left[order.Start{Phase: p.Name, Entry: e.Number}] {
				without = append(without, e.Number)
			}
		}
		if len(without) > 0 {
			all = append(all, fmt.Sprintf("%s: %s", p.Name, numbers(without)))
		}
	}
	return all
}

// asked is the time of day that a page is looked at for.
func (s *server) asked(r *http.Request) (now order.Clock, asIf string, err error) {
	now = timeOfDay(s.Now())
	if asIf = strings.TrimSpace(r.URL.Query().Get("at")); asIf != "" {
		c, ok := order.ParseClock(asIf)
		if !ok {
			return now, "", &fault.Fault{Code: fault.Input, Rule: "clock", Place: "as if it were", Message: fmt.Sprintf("%q is no time of day", asIf), Hint: "write hours and minutes, such as 10:40"}
		}
		now = c
	}
	return now, asIf, nil
}

// day is GET /day/{id}?phase=cones&at=10:40.
func (s *server) day(w http.ResponseWriter, r *http.Request, t *openTrial) error {
	v, err := s.dayPage(r, t)
	if err != nil {
		return err
	}
	return s.Render(w, http.StatusOK, "day", v)
}

func (s *server) dayPage(r *http.Request, t *openTrial) (*dayPage, error) {
	now, asIf, err := s.asked(r)
	if err != nil {
		return nil, err
	}
	v := &dayPage{dayHead: s.dayHead(r, t, "programme", "Day"), Clock: now.Minute().String(), AsIf: asIf, Mark: newMark()}
	v.Done = map[string]string{"taken": "The new order stands. Tell those whose start has moved."}[r.URL.Query().Get("done")]
	day := t.now()
	for _, e := range day.Entries {
		if e.Status == "" || e.Status == trial.Placed || e.Status == trial.HorsConcours {
			v.Entries = append(v.Entries, book.Choice{Value: fmt.Sprint(e.Number), Label: fmt.Sprintf("%d, %s", e.Number, e.Driver)})
		}
	}
	if v.Timed = day.Timetable != nil; !v.Timed {
		return v, nil
	}
	in, err := day.OrderInput()
	if err != nil {
		return nil, err
	}
	v.Made = len(day.Timetable.Starts) > 0
	from := rota.Time(now / 60)
	if !t.begun() {
		from = 0 // the clock may be the evening's before
	}
	if v.Empty, err = s.emptySeats(r.Context(), t.id, from); err != nil {
		return nil, err
	}
	plan := planOf(day, in.Drives())
	if v.Made {
		v.Startless = startless(day, in)
	}
	want := r.URL.Query().Get("phase")
	for i := range day.Timetable.Phases {
		p, err := t.dayPhase(day, plan, day.Timetable.Phases[i].Phase, now)
		if err != nil {
			return nil, err
		}
		q := url.Values{"phase": {p.Name}}
		if asIf != "" {
			q.Set("at", asIf)
		}
		p.Address = "/day/" + url.PathEscape(t.id) + "?" + q.Encode()
		v.Phases = append(v.Phases, p)
	}
	// Where nobody was seen to start and a later phase has begun, nobody presses
	// starts: that is no lateness.
	running := -1
	for i := range v.Phases {
		if v.Phases[i].Started > 0 && len(v.Phases[i].Next) > 0 {
			running = i
		}
		if later := slices.ContainsFunc(v.Phases[i+1:], func(p dayPhase) bool { return p.Started > 0 }); later && v.Phases[i].Started == 0 {
			v.Phases[i].Late, v.Phases[i].Unseen = 0, true
			v.Phases[i].Says = v.Phases[i].Name + ": no start was pressed here, and a later phase has begun"
		}
	}
	// The phase that runs: the one asked for, else the last that has begun and is
	// not over, else the first to come.
	at := slices.IndexFunc(v.Phases, func(p dayPhase) bool { return p.Name == want })
	if at < 0 {
		at = running
	}
	if at < 0 {
		at = max(0, slices.IndexFunc(v.Phases, func(p dayPhase) bool { return len(p.Next) > 0 && !p.Unseen }))
	}
	if len(v.Phases) > 0 {
		v.Phases[at].On = true
		v.On = &v.Phases[at]
	}
	return v, nil
}

// dayPhase is how one phase runs at a time.
func (t *openTrial) dayPhase(day *trial.Trial, plan *order.Plan, phase order.Phase, now order.Clock) (dayPhase, error) {
	v := dayPhase{Name: phase.Name, Every: phase.Every / 60}
	started := map[int]trial.Mark{}
	var actual []order.Actual
	var last int
	for _, m := range t.ledger.Starts(phase.Name) {
		started[m.Start.Entry] = m
		actual = append(actual, order.Actual{Entry: m.Start.Entry, At: timeOfDay(time.UnixMilli(m.At))})
		last = m.Start.Entry
	}
	// Whose sheet is in has started, whether or not somebody pressed it.
	list := plan.Lists[slices.IndexFunc(plan.Lists, func(l order.List) bool { return l.Phase == phase.Name })]
	paper := map[int]bool{}
	for i := range day.Sheets {
		if s := &day.Sheets[i]; s.Phase == phase.Name {
			paper[s.Entry] = true
		}
	}
	for _, slot := range list.Slots {
		if _, ok := started[slot.Entry]; !ok && paper[slot.Entry] {
			actual = append(actual, order.Actual{Entry: slot.Entry, At: slot.At})
		}
	}
	f, err := order.Late(plan, phase, actual, now, 0, false)
	if err != nil {
		return v, err
	}
	v.Says, v.Late = f.Says, max(0, f.LateS/60)
	if len(list.Slots) == 0 {
		v.Says = phase.Name + ": nobody has a start here"
	}
	due := map[int]order.Due{}
	for _, d := range f.Due {
		due[d.Entry] = d
	}
	for _, slot := range list.Slots {
		row := dayStart{Number: slot.Entry, Planned: slot.At.String()}
		if e := t.entry(slot.Entry); e != nil {
			row.Driver = e.Driver
			row.With = strings.Join(e.Horses, " and ")
			if phase.Gaps && e.GapCM > 0 {
				row.Gap = fmt.Sprintf("%d cm", e.GapCM)
			}
		}
		v.Of++
		if m, ok := started[slot.Entry]; ok {
			row.Started, row.Mark = clockTime(m.At), m.ID
			v.Started++
			if slot.Entry == last {
				out := row
				v.Out = &out
			}
		} else if paper[slot.Entry] {
			row.Sheet = true
			v.Started++
		} else {
			d := due[slot.Entry]
			row.Due = d.Now.Minute().String()
			row.LateMin = int(d.Now-d.Planned) / 60
			row.In = "now"
			if m := int(d.Now-now) / 60; m > 0 {
				row.In = "in " + minutesText(time.Duration(m)*time.Minute)
			}
			v.Next = append(v.Next, row)
		}
		v.Rows = append(v.Rows, row)
	}
	return v, nil
}

// First is the one to be called next; nil when all have started.
func (p dayPhase) First() *dayStart {
	if len(p.Next) == 0 {
		return nil
	}
	return &p.Next[0]
}

// Then are the two behind.
func (p dayPhase) Then() []dayStart { return p.Next[min(1, len(p.Next)):min(3, len(p.Next))] }

// dayStart is POST /day/{id}/start: the one that is next starts now, or another one
// out of turn.
func (s *server) dayStart(w http.ResponseWriter, r *http.Request, t *openTrial) error {
	f, err := form(w, r)
	if err != nil {
		return err
	}
	n, _ := book.NumberText(f.Get("entry"))
	phase := f.Get("phase")
	day := t.now()
	in, err := day.OrderInput()
	if err != nil {
		return err
	}
	if !in.Drives()[order.Start{Phase: phase, Entry: n}] {
		return &fault.Fault{Code: fault.Input, Rule: "start", Place: fmt.Sprintf("entry %s in %s", f.Get("entry"), phase), Message: "it does not start there, or is scratched", Hint: "look at the order of go"}
	}
	if why := nameless(f.Get("by")); why != "" {
		return &fault.Fault{Code: fault.Input, Rule: "by", Place: "who writes", Message: "nobody is named", Hint: why}
	}
	m := s.mark(f.Get("mark"), f.Get("by"))
	if t.ledger.Mark(m.ID) == nil {
		for _, o := range t.ledger.Starts(phase) {
			if o.Start.Entry == n {
				return &fault.Fault{Code: fault.Conflict, Rule: "start", Place: fmt.Sprintf("entry %d in %s", n, phase), Message: fmt.Sprintf("it started at %s already, as %s wrote", clockTime(o.At), o.By), Hint: "look at the page again"}
			}
		}
		m.Start = &trial.Started{Phase: phase, Entry: n}
		if err := t.keep(r.Context(), s.Now(), m); err != nil {
			return err
		}
	}
	rememberWriter(w, m.By)
	return dayAgain(w, r, t, phase)
}

// dayUndo is POST /day/{id}/undo: it has not started after all.
func (s *server) dayUndo(w http.ResponseWriter, r *http.Request, t *openTrial) error {
	f, err := form(w, r)
	if err != nil {
		return err
	}
	old := t.ledger.Mark(f.Get("undoes"))
	if old == nil || old.Start == nil {
		return &fault.Fault{Code: fault.NotFound, Rule: "mark", Place: "start", Message: "there is no such start", Hint: "look at the page again"}
	}
	m := s.mark(f.Get("mark"), f.Get("by"))
	if m.By == "" {
		m.By = old.By
	}
	if t.ledger.Mark(m.ID) == nil && t.ledger.InForce(old.ID) {
		m.Undoes = old.ID
		if err := t.keep(r.Context(), s.Now(), m); err != nil {
			return err
		}
	}
	return dayAgain(w, r, t, old.Start.Phase)
}

func dayAgain(w http.ResponseWriter, r *http.Request, t *openTrial, phase string) error {
	http.Redirect(w, r, "/day/"+url.PathEscape(t.id)+"?"+url.Values{"phase": {phase}}.Encode(), http.StatusSeeOther)
	return nil
}

// replanPage shows what an order made anew would change, before it is taken.
type replanPage struct {
	book.Frame
	ID, Name, By string
	Clock        string
	Warm         int
	Afresh       bool // there is none yet
	Moved        []movedStart
	Broken       []order.Broken
	Cannot       []string
	None         *fault.Fault // no order can be made
	Lists        []replanList
	Version      int
	Starts       []order.Start // what is taken
	Before       bool          // it is looked at as before the day: nobody is called
	Unseen       bool          // nobody was seen to start, and some would count as called by the clock
	Wrong        string
	AsIf         string
}

type movedStart struct {
	Number              int
	Driver, Phase       string
	Was, Now, ByHowMuch string
}

type replanList struct {
	Phase string
	Rows  []replanRow
	Gaps  string
}

type replanRow struct {
	At, Driver string
	Number     int
	Moved      bool
}

// Value is one start in a hidden box.
func (replanPage) Value(s order.Start) string { return fmt.Sprintf("%s|%d|%d", s.Phase, s.Entry, s.At) }

// warmMinutes is how long before their start turnouts are taken to be warming up
// and are not moved: an estimate, to be changed on the page.
const warmMinutes = 20

// replanning is what an order is made anew from, taken down while the trial was held.
type replanning struct {
	replanPage
	in      order.Input
	was     map[order.Start]order.Clock // as people were told
	drivers map[int]string              // by number
}

// dayReplan is GET /day/{id}/replan?warm=20&at=10:40: the order made anew. Those
// that have started, and those due within the warm minutes, stay; the others move
// only where something is gained. Nothing is kept. Making an order takes a second or
// two: meanwhile the trial is free, for the desk has sheets to type.
func (s *server) dayReplan(w http.ResponseWriter, r *http.Request) error {
	var v *replanning
	err := s.withTrial(r.Context(), r.PathValue("id"), func(t *openTrial) (err error) {
		v, err = s.replanning(r, t)
		return err
	})
	if err != nil {
		return err
	}
	done, err := s.Place(r.Context())
	if err != nil {
		return err
	}
	defer done()
	plan, err := s.order(v.in)
	if l := book.FaultsOf(err); l != nil {
		v.None = l[0]
		return s.Render(w, http.StatusOK, "day_replan", v.replanPage)
	}
	if err != nil {
		return err
	}
	v.show(plan)
	return s.Render(w, http.StatusOK, "day_replan", v.replanPage)
}

// replanning takes down what an order is made anew from.
func (s *server) replanning(r *http.Request, t *openTrial) (*replanning, error) {
	now, asIf, err := s.asked(r)
	if err != nil {
		return nil, err
	}
	day := t.now()
	in, err := day.OrderInput()
	if err != nil {
		return nil, err
	}
	v := &replanning{
		replanPage: replanPage{Frame: s.Frame("day", "Order of go: "+t.setting.Name), ID: t.id, Name: t.setting.Name, By: writer(r), Clock: now.Minute().String(), Warm: warmMinutes, Version: t.setting.Version, Afresh: len(day.Timetable.Starts) == 0, AsIf: asIf},
		was:        map[order.Start]order.Clock{}, drivers: map[int]string{},
	}
	if m := r.URL.Query().Get("warm"); m != "" {
		n, err := strconv.Atoi(m)
		if err != nil || n < 0 || n > 600 {
			return nil, &fault.Fault{Code: fault.Input, Rule: "warm", Place: "minutes before their start", Message: fmt.Sprintf("%q stands there", m), Hint: "whole minutes, from 0 to 600"}
		}
		v.Warm = n
	}
	for i := range day.Entries {
		v.drivers[day.Entries[i].Number] = day.Entries[i].Driver
	}
	if !v.Afresh {
		in.Now = now + order.Clock(60*v.Warm)
		gone := map[order.Start]bool{}
		for _, run := range day.Timetable.Phases {
			for _, m := range t.ledger.Starts(run.Name) {
				gone[order.Start{Phase: run.Name, Entry: m.Start.Entry}] = true
			}
		}
		in.Stand(day.Timetable.Starts, func(x order.Start) bool {
			return gone[order.Start{Phase: x.Phase, Entry: x.Entry}] || x.At < in.Now
		})
		for _, x := range slices.Concat(in.Called, in.Posted) {
			v.was[order.Start{Phase: x.Phase, Entry: x.Entry}] = x.At
		}
	}
	v.Before = now == 0
	v.Unseen = !v.Before && len(in.Called) > 0 && !t.begun()
	v.in = in
	return v, nil
}

// begun reports whether anybody was seen to start, or a sheet is in. The clock alone
// does not say it: an order is often changed the evening before.
func (t *openTrial) begun() bool {
	return len(t.now().Sheets) > 0 || slices.ContainsFunc(t.setting.Trial.Timetable.Phases, func(p trial.Run) bool { return len(t.ledger.Starts(p.Name)) > 0 })
}

// show puts a new order onto the page, beside what people were told.
func (v *replanning) show(plan *order.Plan) {
	v.Broken, v.Cannot, v.Starts = plan.Broken, plan.Cannot, plan.Starts()
	for _, l := range plan.Lists {
		rl := replanList{Phase: l.Phase}
		for _, slot := range l.Slots {
			if slot.Entry == 0 {
				continue
			}
			old, had := v.was[order.Start{Phase: l.Phase, Entry: slot.Entry}]
			moved := had && old != slot.At || !had && !v.Afresh
			rl.Rows = append(rl.Rows, replanRow{slot.At.String(), v.drivers[slot.Entry], slot.Entry, moved})
			if !moved {
				continue
			}
			m := movedStart{Number: slot.Entry, Driver: v.drivers[slot.Entry], Phase: l.Phase, Now: slot.At.String(), Was: "none", ByHowMuch: "new"}
			if had {
				m.Was = old.String()
				if d := int(slot.At-old) / 60; d > 0 {
					m.ByHowMuch = minutesText(time.Duration(d)*time.Minute) + " later"
				} else {
					m.ByHowMuch = minutesText(time.Duration(-d)*time.Minute) + " earlier"
				}
			}
			v.Moved = append(v.Moved, m)
		}
		if slices.ContainsFunc(l.Slots, func(s order.Slot) bool { return s.GapCM > 0 }) {
			rl.Gaps = fmt.Sprintf("The cones are set to another gap %d times; %d is the least there can be.", l.GapChanges, l.GapChangesLeast)
		}
		v.Lists = append(v.Lists, rl)
	}
}

// dayTake is POST /day/{id}/replan: what was shown becomes the order of go, exactly
// as it was shown, unless the trial has changed meanwhile.
func (s *server) dayTake(w http.ResponseWriter, r *http.Request, t *openTrial) error {
	f, err := form(w, r)
	if err != nil {
		return err
	}
	if why := nameless(f.Get("by")); why != "" {
		return &fault.Fault{Code: fault.Input, Rule: "by", Place: "who writes", Message: "nobody is named", Hint: why}
	}
	if f.Get("version") != fmt.Sprint(t.setting.Version) {
		return &fault.Fault{Code: fault.Conflict, Rule: "version", Place: "order of go", Message: "the trial was changed while you looked", Hint: "make the order anew and look at it again"}
	}
	if t.setting.Trial.Timetable == nil {
		return &fault.Fault{Code: fault.Input, Rule: "timetable", Place: "order of go", Message: "the trial has no timetable", Hint: "say first when its phases start"}
	}
	next := *t.setting.Trial
	table := *next.Timetable
	table.Starts = nil
	for _, text := range f["start"] {
		part := strings.Split(text, "|")
		if len(part) != 3 {
			return &fault.Fault{Code: fault.Usage, Rule: "start", Message: "the form came in torn", Hint: "make the order anew"}
		}
		n, err := strconv.Atoi(part[1])
		at, err2 := strconv.Atoi(part[2])
		known := slices.ContainsFunc(table.Phases, func(p trial.Run) bool { return p.Name == part[0] })
		if err != nil || err2 != nil || t.entry(n) == nil || !known || at < 0 || at >= 48*3600 {
			return &fault.Fault{Code: fault.Usage, Rule: "start", Place: text, Message: "this is no start of this trial", Hint: "make the order anew"}
		}
		table.Starts = append(table.Starts, order.Start{Phase: part[0], Entry: n, At: order.Clock(at)})
	}
	next.Timetable = &table
	if err := s.save(r, t, &next, t.setting.Overlay, f.Get("by"), "order of go"); err != nil {
		return err
	}
	rememberWriter(w, f.Get("by"))
	http.Redirect(w, r, "/day/"+url.PathEscape(t.id)+"?done=taken", http.StatusSeeOther)
	return nil
}
