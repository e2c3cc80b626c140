package trials

import (
	"fmt"
	"net/http"
	"net/url"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"terret/internal/fault"
	"terret/internal/rules"
	"terret/internal/trial"
	"terret/internal/trial/order"
	"terret/internal/web/book"
)

// dayHead is what every page of one day shows at its top.
type dayHead struct {
	book.Frame
	ID, Name, By string
	Here         string // which of its pages
	HasJobs      bool   // people's jobs are kept here
}

func (s *server) dayHead(r *http.Request, t *openTrial, here, title string) dayHead {
	return dayHead{Frame: s.Frame("day", title+": "+t.setting.Name), ID: t.id, Name: t.setting.Name, By: writer(r), Here: here, HasJobs: s.rotas != nil}
}

// Rooms are the pages of one day.
func (h dayHead) Rooms() []book.Tab {
	at := "/day/" + url.PathEscape(h.ID)
	all := []book.Tab{{Name: "Programme", Path: at, Key: "programme"}, {Name: "When the phases start", Path: at + "/timetable", Key: "timetable"}}
	if h.HasJobs {
		all = append(all, book.Tab{Name: "Jobs", Path: at + "/rota", Key: "rota"})
	}
	return all
}

// timetablePage is the timetable as a form.
type timetablePage struct {
	dayHead
	Version int // of the trial the form was drawn from
	Made    bool
	Phases  bool // some class has a phase, so there is something to time
	Known   []string
	Rows    []runRow
	Rests   []fill
	Wrong   map[string]string // what is wrong with the form as a whole, by box
	Moved   []string          // somebody changed the timetable meanwhile: what stands now

	classes []string  // of the trial
	timed   []*runRow // the rows that become phases, in their order
}

// runRow is one phase of the form, as it is written there. The keys of Wrong are those
// of the file.
type runRow struct {
	N                                                    int
	Was                                                  string // its name in the timetable; "" it is new
	Name, Start, End, Every, Lasts, Breaks, Spare, After string
	Gaps, Keep, Out                                      bool
	Classes                                              []book.Choice
	Others                                               []string // the phases it may come after
	Wrong                                                map[string]string
	run                                                  trial.Run
}

// Box is one box of the row.
func (r runRow) Box(key, label, value, hint string) fill {
	return fill{Key: fmt.Sprintf("p.%d.%s", r.N, key), As: fmt.Sprintf("p-%d-%s", r.N, key), Label: label, Value: value, Hint: hint, Wrong: r.Wrong[key]}
}

// BreakBox takes the breaks of the phase.
func (r runRow) BreakBox() fill {
	b := r.Box("breaks", "Breaks, one a line", r.Breaks, "")
	b.Long, b.Example = true, "10:00 to 10:15 tea"
	return b
}

// AfterBox chooses the phase to be driven before.
func (r runRow) AfterBox() fill {
	b := r.Box("after", "Each drives this phase first", "", "")
	b.Choices = offer("any", r.After, r.Others...)
	return b
}

// More reports whether there is something in what is folded away.
func (r runRow) More() bool {
	return r.Breaks != "" || r.Spare != "" || r.After != "" || r.Keep || r.Gaps || slices.ContainsFunc(r.Classes, func(c book.Choice) bool { return c.On }) ||
		r.Wrong["breaks"]+r.Wrong["spare"]+r.Wrong["after"] != ""
}

// rests are the rests of a day with the words beside them, by their keys in the file.
func rests(r *order.Rests) []struct {
	key, label string
	at         *int
} {
	return []struct {
		key, label string
		at         *int
	}{
		{"phases", "between one entry's own phases", &r.Phases}, {"driver", "for a driver with two turnouts", &r.Driver}, {"groom", "for a groom who is shared", &r.Groom},
		{"horse", "for a horse that goes twice", &r.Horse}, {"vehicle", "for a vehicle that is shared", &r.Vehicle},
	}
}

// mostPhases is how many phases the form takes: as many as the file.
const mostPhases = 20

// timetablePage is the form as the timetable stands, or a proposal where there is none.
func (s *server) timetablePage(r *http.Request, t *openTrial) *timetablePage {
	v := &timetablePage{dayHead: s.dayHead(r, t, "timetable", "When the phases start"), Version: t.setting.Version, Wrong: map[string]string{}}
	day := t.setting.Trial
	for _, p := range rules.Phases() {
		if slices.ContainsFunc(day.Classes, func(c trial.Class) bool { return c.Has(p) }) {
			v.Known = append(v.Known, p)
		}
	}
	v.Phases = len(v.Known) > 0
	for i := range day.Classes {
		v.classes = append(v.classes, day.Classes[i].ID)
	}
	table := day.Timetable
	if table == nil {
		table = proposedTimes(v.Known)
	} else {
		v.Made = len(table.Starts) > 0
	}
	for _, run := range table.Phases {
		row := runRow{Name: run.Name, Start: run.Start.String(), Every: order.MinutesText(run.Every), After: run.After, Gaps: run.Gaps, Keep: run.KeepClasses, Wrong: map[string]string{}}
		if day.Timetable != nil {
			row.Was = run.Name
		}
		if run.End != 0 {
			row.End = run.End.String()
		}
		if run.Lasts != 0 {
			row.Lasts = order.MinutesText(run.Lasts)
		}
		if run.Spare != 0 {
			row.Spare = strconv.Itoa(run.Spare)
		}
		var breaks []string
		for _, b := range run.Breaks {
			breaks = append(breaks, b.String())
		}
		row.Breaks = strings.Join(breaks, "\n")
		row.Classes = v.ticks(run.Classes)
		v.Rows = append(v.Rows, row)
	}
	v.number()
	own := order.DefaultRests()
	if table.Rests != nil {
		own = *table.Rests
	}
	for _, k := range rests(&own) {
		v.Rests = append(v.Rests, fill{Key: "rest." + k.key, As: "rest-" + k.key, Label: k.label, Value: order.MinutesText(*k.at), Numeric: true})
	}
	return v
}

// ticks are the trial's classes with these ticked.
func (v *timetablePage) ticks(on []string) []book.Choice {
	var all []book.Choice
	for _, c := range v.classes {
		all = append(all, book.Choice{Value: c, Label: c, On: slices.Contains(on, c)})
	}
	return all
}

// number gives each row its place and the phases it may come after.
func (v *timetablePage) number() {
	for i := range v.Rows {
		v.Rows[i].N, v.Rows[i].Others = i, nil
		for k := range v.Rows {
			if k != i && v.Rows[k].Name != "" {
				v.Rows[i].Others = append(v.Rows[i].Others, v.Rows[k].Name)
			}
		}
	}
}

// proposedTimes is a day of these phases: estimates, to be replaced by the organiser's
// own.
func proposedTimes(phases []string) *trial.Timetable {
	starts := map[string]order.Clock{rules.Dressage: order.At(9, 0), rules.Sections: order.At(11, 0), rules.Hazards: order.At(13, 30), rules.Cones: order.At(11, 30), rules.Timed: order.At(10, 0), rules.Judged: order.At(9, 0)}
	every := map[string]int{rules.Dressage: 8, rules.Sections: 6, rules.Hazards: 6, rules.Cones: 5, rules.Timed: 5, rules.Judged: 15}
	t := &trial.Timetable{}
	for _, p := range phases {
		t.Phases = append(t.Phases, trial.Run{Phase: order.Phase{Name: p, Start: starts[p], Every: 60 * every[p], Gaps: p == rules.Cones}})
	}
	return t
}

// dayTimetable is GET /day/{id}/timetable.
func (s *server) dayTimetable(w http.ResponseWriter, r *http.Request, t *openTrial) error {
	return s.Render(w, http.StatusOK, "day_timetable", s.timetablePage(r, t))
}

// dayTimetableKeep is POST /day/{id}/timetable: the form becomes the timetable. With
// "do" it only gets a row more. The starts that stand are kept; what would move is
// shown on the page that this leads to.
func (s *server) dayTimetableKeep(w http.ResponseWriter, r *http.Request, t *openTrial) error {
	f, err := form(w, r)
	if err != nil {
		return err
	}
	v := s.timetablePage(r, t)
	if err := v.typed(f); err != nil {
		return err
	}
	if f.Get("do") == "add" {
		v.add()
		return s.Render(w, http.StatusOK, "day_timetable", v)
	}
	table := v.read(t)
	next := *t.setting.Trial
	next.Timetable = table
	v.faults(t, &next)
	if why := nameless(f.Get("by")); why != "" {
		v.Wrong["by"] = why
	}
	if v.Bad() {
		return s.Render(w, http.StatusUnprocessableEntity, "day_timetable", v)
	}
	same, err := s.sameTimes(r, t, f.Get("version"))
	if err != nil {
		return err
	}
	if !same {
		v.Moved = standing(t.setting.Trial.Timetable)
		return s.Render(w, http.StatusConflict, "day_timetable", v)
	}
	err = s.save(r, t, &next, t.setting.Overlay, f.Get("by"), "timetable")
	if code, ok := fault.CodeOf(err); ok && code == fault.Conflict {
		// Another program on the same store was quicker by a hair.
		if err := t.refresh(r.Context()); err != nil {
			return err
		}
		v.Version, v.Moved = t.setting.Version, standing(t.setting.Trial.Timetable)
		return s.Render(w, http.StatusConflict, "day_timetable", v)
	}
	if err != nil {
		return err
	}
	rememberWriter(w, f.Get("by"))
	to := "/day/" + url.PathEscape(t.id) + "/replan"
	if len(table.Starts) > 0 && !t.begun() {
		to += "?at=00:00" // the day has not begun: by the clock of the evening before everybody would be called
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
	return nil
}

// sameTimes reports whether the timetable is still as it was in the version the form
// was drawn from. That the trial has changed otherwise, or an order was taken, is no
// matter here.
func (s *server) sameTimes(r *http.Request, t *openTrial, version string) (bool, error) {
	n, err := strconv.Atoi(version)
	if err != nil || n < 1 {
		return false, book.Torn()
	}
	if n == t.setting.Version {
		return true, nil
	}
	old, err := t.store.Setting(r.Context(), t.id, n)
	if code, ok := fault.CodeOf(err); ok && code == fault.NotFound {
		return false, book.Torn()
	}
	if err != nil {
		return false, err
	}
	bare := func(t *trial.Timetable) *trial.Timetable {
		if t == nil {
			return nil
		}
		c := *t
		c.Starts = nil
		return &c
	}
	return reflect.DeepEqual(bare(old.Trial.Timetable), bare(t.setting.Trial.Timetable)), nil
}

// standing says a timetable in a line a phase.
func standing(t *trial.Timetable) []string {
	if t == nil || len(t.Phases) == 0 {
		return []string{"there is no timetable any more"}
	}
	var all []string
	for _, p := range t.Phases {
		line := fmt.Sprintf("%s: first start %s, every %s min", p.Name, p.Start, order.MinutesText(p.Every))
		if p.End != 0 {
			line += ", none after " + p.End.String()
		}
		for _, b := range p.Breaks {
			line += ", break " + b.String()
		}
		all = append(all, line)
	}
	return all
}

// typed puts what was typed into the form.
func (v *timetablePage) typed(f url.Values) error {
	n, err := strconv.Atoi(f.Get("rows"))
	if err != nil || n < 0 || n > mostPhases {
		return book.Torn()
	}
	v.Rows = nil
	for i := range n {
		get := func(key string) string { return f.Get(fmt.Sprintf("p.%d.%s", i, key)) }
		row := runRow{Was: get("was"), Name: get("name"), Start: get("start"), End: get("end"), Every: get("every_min"), Lasts: get("lasts_min"), Spare: get("spare"), After: get("after"), Gaps: get("gaps") != "", Keep: get("keep_classes") != "", Out: get("out") != "", Wrong: map[string]string{}}
		row.Breaks = strings.ReplaceAll(get("breaks"), "\r\n", "\n")
		row.Classes = v.ticks(f[fmt.Sprintf("p.%d.classes", i)])
		v.Rows = append(v.Rows, row)
	}
	v.number()
	for i := range v.Rests {
		v.Rests[i].Value = f.Get(v.Rests[i].Key)
	}
	v.By = f.Get("by")
	return nil
}

// add puts one row more: a phase that a class has and the form has not, or an empty one.
func (v *timetablePage) add() {
	if len(v.Rows) >= mostPhases {
		v.Wrong["rows"] = fmt.Sprintf("a day has at most %d phases here", mostPhases)
		return
	}
	row := runRow{Wrong: map[string]string{}}
	for _, p := range v.Known {
		if !slices.ContainsFunc(v.Rows, func(r runRow) bool { return r.Name == p }) {
			row.Name, row.Gaps = p, p == rules.Cones
			break
		}
	}
	row.Classes = v.ticks(nil)
	v.Rows = append(v.Rows, row)
	v.number()
}

// read reads the form as a timetable that keeps the starts that stand; what cannot be
// read is marked at its box.
func (v *timetablePage) read(t *openTrial) *trial.Timetable {
	old := t.setting.Trial.Timetable
	table := &trial.Timetable{}
	if old != nil {
		table.Seed = old.Seed
	}
	named := map[string]string{} // what a phase was called, and is
	for i := range v.Rows {
		row := &v.Rows[i]
		if row.Was != "" && !row.Out {
			named[row.Was] = row.Name
		}
	}
	for i := range v.Rows {
		row := &v.Rows[i]
		if row.Out || row.Was == "" && row.Name == "" && row.Start == "" && row.Every == "" {
			continue // taken out, or never filled in
		}
		row.read()
		if now, ok := named[row.run.After]; ok && row.run.After != now {
			row.run.After = now
		}
		table.Phases = append(table.Phases, row.run)
		v.timed = append(v.timed, row)
	}
	own, usual := order.DefaultRests(), order.DefaultRests()
	for i, k := range rests(&own) {
		b := &v.Rests[i]
		sec, ok := order.ParseMinutes(strings.ReplaceAll(b.Value, ",", "."))
		if !ok {
			b.Wrong = "minutes are wanted, such as 30"
		}
		*k.at = sec
	}
	if own != usual || old != nil && old.Rests != nil {
		table.Rests = &own
	}
	if old == nil {
		return table
	}
	for _, s := range old.Starts {
		if now, ok := named[s.Phase]; ok {
			s.Phase = now
			table.Starts = append(table.Starts, s)
		}
	}
	return table
}

// read reads one row.
func (r *runRow) read() {
	p := &r.run
	p.Name, p.After, p.Gaps, p.KeepClasses = r.Name, r.After, r.Gaps, r.Keep
	clock := func(key, text string, must bool) order.Clock {
		c, ok := order.ParseClock(text)
		if !ok && (must || text != "") {
			r.Wrong[key] = "a time of day is wanted, such as 09:30"
		}
		return c
	}
	minutes := func(key, text string, must bool) int {
		sec, ok := order.ParseMinutes(strings.ReplaceAll(text, ",", "."))
		if !ok && (must || text != "") {
			r.Wrong[key] = "minutes are wanted, half ones as 7.5"
		}
		return sec
	}
	p.Start, p.End = clock("start", r.Start, true), clock("end", r.End, false)
	p.Every, p.Lasts = minutes("every_min", r.Every, true), minutes("lasts_min", r.Lasts, false)
	if r.Spare != "" {
		n, err := strconv.Atoi(r.Spare)
		if err != nil {
			r.Wrong["spare"] = "a whole number is wanted, such as 2"
		}
		p.Spare = n
	}
	for _, line := range strings.Split(r.Breaks, "\n") {
		if line = strings.TrimSpace(line); line == "" {
			continue
		}
		b, ok := order.ParseBreak(line)
		if !ok {
			r.Wrong["breaks"] = fmt.Sprintf("%q stands there; write 10:00 to 10:15 tea, one break a line", line)
		}
		p.Breaks = append(p.Breaks, b)
	}
	for _, c := range r.Classes {
		if c.On {
			p.Classes = append(p.Classes, c.Value)
		}
	}
}

// faults marks at their boxes what package order and package trial say of the timetable,
// and phases that people have started in already.
func (v *timetablePage) faults(t *openTrial, next *trial.Trial) {
	for i := range v.Rows {
		row := &v.Rows[i]
		if began := len(t.ledger.Starts(row.Was)); row.Was != "" && began > 0 && (row.Out || row.Name != row.Was) {
			row.Wrong["name"] = fmt.Sprintf("%d have started in %s: it stays, under its name", began, row.Was)
		}
	}
	if len(next.Timetable.Phases) == 0 {
		v.Wrong["rows"] = "a timetable has a phase at least"
		return
	}
	var phases []order.Phase
	for _, p := range next.Timetable.Phases {
		phases = append(phases, p.Phase)
	}
	for _, w := range order.CheckPhases(phases) {
		if row := v.timed[w.Phase]; row.Wrong[w.Key] == "" {
			row.Wrong[w.Key] = plainFault(w.Fault)
		}
	}
	if t.profile == nil {
		return
	}
	for _, p := range next.Validate(t.profile) {
		switch p.Rule {
		case "timetable-class":
			v.Wrong["rows"] = p.Message + "; " + p.Hint
		case "wish-phase":
			entry := 0
			if _, err := fmt.Sscanf(p.Path, "entries[%d]", &entry); err == nil && entry < len(next.Entries) {
				e := &next.Entries[entry]
				v.Wrong["rows"] = fmt.Sprintf("%d, %s, has a wish for a phase that is not there then: %s", e.Number, e.Driver, p.Message)
			}
		}
	}
}

// plainFault is a fault's words for the box it stands at.
func plainFault(f *fault.Fault) string {
	if f.Hint == "" {
		return f.Message
	}
	return f.Message + "; " + f.Hint
}

// Bad reports whether something is wrong with the form.
func (v *timetablePage) Bad() bool {
	return len(v.Wrong) > 0 || slices.ContainsFunc(v.Rows, func(r runRow) bool { return len(r.Wrong) > 0 }) || slices.ContainsFunc(v.Rests, func(b fill) bool { return b.Wrong != "" })
}
