package trial

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"

	"terret/internal/fault"
	"terret/internal/gates"
	"terret/internal/rules"
)

// Board holds the scores of a trial as its sheets come in. Put takes one more
// sheet; only what it touches is counted again. A Board is not for several
// goroutines at once.
type Board struct {
	t        *Trial
	pr       *prices
	profile  *rules.Profile
	classes  map[string]*classBoard
	entries  map[int]*entryBoard
	tests    map[string]*Test
	courses  map[string]*Course
	replaced map[string]bool
	byRun    map[string]*Sheet // the sheet that counts
	byID     map[string]bool
	check    *validator
	own      map[int]Status // what the trial itself says became of its entries
}

type classBoard struct {
	*Class
	entries []*entryBoard // in the order of the file
	letters []string
	drives  map[string]gates.Verdict // most drives are alike
	judges  []string                 // of dressage, as they turn up
	judged  []string                 // judges of a judged class
	dirty   bool
	answer  []EntryScore
	missing []Need
	tally   []Tally
	most    bool     // most wins
	memory  []string // keys from memory that count here
	remarks []string
}

type entryBoard struct {
	*Entry
	class   *classBoard
	sheets  map[string][]*Sheet // by phase, in the order of courses or judges
	results map[string]*result
	dirty   map[string]bool
}

// Need is a sheet that is not there.
type Need struct {
	Phase  string `json:"phase"`
	Entry  int    `json:"entry"`
	Class  string `json:"class"`
	Course string `json:"course,omitempty"`
	Judge  string `json:"judge,omitempty"`
}

// String names the sheet for a person.
func (n Need) String() string {
	s := n.Phase
	switch {
	case strings.HasPrefix(strings.ToLower(n.Course), n.Phase): // a course called "Cones 1"
		s = n.Course
	case n.Course != "":
		s += " " + n.Course
	}
	if n.Judge != "" {
		s += ", judge " + n.Judge
	}
	return s
}

// Score counts a whole trial. Its trouble is what NewBoard says.
func Score(t *Trial, p *rules.Profile) (*Answer, error) {
	b, err := NewBoard(t, p)
	if err != nil {
		return nil, err
	}
	return b.Answer(), nil
}

// NewBoard counts a trial under a profile. The error is a fault.List of what
// Validate finds. t must not be changed afterwards.
func NewBoard(t *Trial, p *rules.Profile) (*Board, error) {
	t.NameSheets()
	if problems := t.Validate(p); len(problems) > 0 {
		var l fault.List
		for _, pr := range problems {
			place := ""
			if pr.Sheet > 0 {
				place = "sheet " + t.Sheets[pr.Sheet-1].ID
			}
			l = append(l, pr.fault(place))
		}
		return nil, l
	}
	b := &Board{
		t: t, profile: p, pr: pricesOf(p), classes: map[string]*classBoard{}, entries: map[int]*entryBoard{},
		tests: map[string]*Test{}, courses: map[string]*Course{}, replaced: map[string]bool{}, byRun: map[string]*Sheet{}, byID: map[string]bool{}, check: newValidator(t, p), own: map[int]Status{},
	}
	for i := range t.Tests {
		b.tests[t.Tests[i].ID] = &t.Tests[i]
	}
	for i := range t.Courses {
		b.courses[t.Courses[i].ID] = &t.Courses[i]
	}
	for i := range t.Classes {
		c := &classBoard{Class: &t.Classes[i], drives: map[string]gates.Verdict{}, dirty: true}
		c.letters = gates.Letters(through(c.Class, p))
		c.most = mostWins(c.Class, t.Courses)
		b.classes[c.ID] = c
	}
	for i := range t.Entries {
		e := &entryBoard{Entry: &t.Entries[i], class: b.classes[t.Entries[i].Class], sheets: map[string][]*Sheet{}, results: map[string]*result{}, dirty: map[string]bool{}}
		e.class.entries = append(e.class.entries, e)
		b.entries[e.Number] = e
		b.own[e.Number] = e.own()
		for _, phase := range e.class.Phases {
			e.dirty[phase] = true
		}
	}
	for _, s := range t.Counting() {
		b.take(s)
	}
	for i := range t.Sheets {
		b.byID[t.Sheets[i].ID] = true
		if r := t.Sheets[i].Replaces; r != "" {
			b.replaced[r] = true
		}
	}
	return b, nil
}

// through is the last letter a class drives in hazards.
func through(c *Class, p *rules.Profile) string {
	if c.Through != "" || c.Level == "" {
		return c.Through
	}
	return p.Get("level." + c.Level + ".through").Value
}

// mostWins reports whether the highest score is the best of a class.
func mostWins(c *Class, courses []Course) bool {
	if c.Has(rules.Judged) {
		return true
	}
	if !c.Has(rules.Timed) {
		return false
	}
	for i := range courses {
		if k := courses[i].Kind; courses[i].drivenBy(c) && courses[i].Phase == rules.Timed && (k == FaultAndOut || k == ChoiceByPoints) {
			return true
		}
	}
	return false
}

// drivenBy reports whether a class drives the course.
func (c *Course) drivenBy(cl *Class) bool {
	return cl.Has(c.Phase) && (len(c.Classes) == 0 || slices.Contains(c.Classes, cl.ID))
}

// Put takes one more sheet, or a correction of one that is there. The error is a
// fault; the board is then as it was.
func (b *Board) Put(s Sheet) error {
	if s.ID == "" {
		id := s.Run()
		for n := 2; b.byID[id]; n++ {
			id = s.Run() + ":" + itoa(n)
		}
		s.ID = id
	}
	if err := b.checked(&s); err != nil {
		return err
	}
	before := b.byRun[s.Run()]
	wrong := func(rule, message, hint string) error {
		return &fault.Fault{Code: fault.Input, Rule: rule, Place: "sheet " + s.ID, Message: message, Hint: hint}
	}
	switch {
	case b.byID[s.ID]:
		return wrong("sheet-id", "there is a sheet "+s.ID+" already", "give each sheet an ID of its own")
	case s.Replaces != "" && !b.byID[s.Replaces]:
		return wrong("sheet-replaces", "there is no sheet "+s.Replaces+" to be replaced", "")
	case s.Replaces != "" && b.replaced[s.Replaces]:
		f := wrong("sheet-replaced", "sheet "+s.Replaces+" has been replaced already", "replace the one that counts now").(*fault.Fault)
		f.Code = fault.Conflict
		return f
	case before != nil && s.Replaces != before.ID:
		return wrong("sheet-twice", "sheet "+before.ID+" is of the same run", "say replaces: "+before.ID+" if this one corrects it")
	}
	if s.Replaces != "" {
		b.replaced[s.Replaces] = true
		if before == nil || before.ID != s.Replaces {
			for _, old := range b.byRun { // it was written for another run
				if old.ID == s.Replaces {
					b.drop(old)
					break
				}
			}
		}
	}
	b.byID[s.ID] = true
	b.take(&s)
	return nil
}

// CheckSheet says what is wrong with one sheet of a trial under a profile; nil
// when nothing is. It does not look whether there is another of the same run.
func CheckSheet(t *Trial, p *rules.Profile, s Sheet) error {
	b := Board{check: newValidator(t, p)}
	return b.checked(&s)
}

// checked says what is wrong with one sheet.
func (b *Board) checked(s *Sheet) error {
	b.check.problems = nil
	b.check.sheet(1, s)
	var l fault.List
	for _, pr := range b.check.problems {
		l = append(l, pr.fault("sheet "+cmp.Or(s.ID, s.Run())))
	}
	return l.Err()
}

// Set makes s the sheet that counts for its run, whatever was there before. The
// error is a fault; the board is then as it was.
func (b *Board) Set(s Sheet) error {
	if err := b.checked(&s); err != nil {
		return err
	}
	b.byID[s.ID] = true
	b.take(&s)
	return nil
}

// Clear takes the sheet of a run off the board; see Sheet.Run.
func (b *Board) Clear(run string) {
	if s := b.byRun[run]; s != nil {
		b.drop(s)
	}
}

// SetStatus says what became of an entry; an empty status is placed.
func (b *Board) SetStatus(st Status) error {
	e := b.entries[st.Entry]
	if e == nil {
		return &fault.Fault{Code: fault.Input, Rule: "entry", Place: "status", Message: fmt.Sprintf("there is no entry %d", st.Entry), Hint: ""}
	}
	if st.InPhase != "" && !e.class.Has(st.InPhase) {
		return &fault.Fault{Code: fault.Input, Rule: "entry-phase", Place: fmt.Sprintf("status of entry %d", st.Entry), Message: fmt.Sprintf("class %s does not drive %s", e.class.ID, st.InPhase), Hint: "it drives " + strings.Join(e.class.Phases, ", ")}
	}
	own := *e.Entry // the trial's own stays as it is
	own.Status, own.InPhase, own.Why = st.Status, st.InPhase, st.Why
	e.Entry = &own
	e.class.dirty = true
	return nil
}

// drop takes a sheet off the board.
func (b *Board) drop(s *Sheet) {
	delete(b.byRun, s.Run())
	e := b.entries[s.Entry]
	e.sheets[s.Phase] = slices.DeleteFunc(e.sheets[s.Phase], func(o *Sheet) bool { return o == s })
	if list := e.class.judgesOf(s.Phase); list != nil {
		// A judge of whom no sheet is left is not waited for.
		left := slices.ContainsFunc(e.class.entries, func(o *entryBoard) bool {
			return slices.ContainsFunc(o.sheets[s.Phase], func(other *Sheet) bool { return other.Judge == s.Judge })
		})
		if !left {
			*list = slices.DeleteFunc(*list, func(j string) bool { return j == s.Judge })
		}
	}
	e.dirty[s.Phase] = true
	e.class.dirty = true
}

// judgesOf lists the judges of a phase that has them; else nil.
func (c *classBoard) judgesOf(phase string) *[]string {
	switch phase {
	case rules.Dressage:
		return &c.judges
	case rules.Judged:
		return &c.judged
	}
	return nil
}

// take puts a sheet that counts onto the board.
func (b *Board) take(s *Sheet) {
	e := b.entries[s.Entry]
	if old := b.byRun[s.Run()]; old != nil {
		b.drop(old)
	}
	b.byRun[s.Run()] = s
	e.sheets[s.Phase] = append(e.sheets[s.Phase], s)
	if list := e.class.judgesOf(s.Phase); list != nil {
		if !slices.Contains(*list, s.Judge) {
			*list = append(*list, s.Judge)
			slices.SortFunc(*list, byJudge)
		}
	}
	slices.SortStableFunc(e.sheets[s.Phase], func(x, y *Sheet) int {
		if s.Phase == rules.Dressage || s.Phase == rules.Judged {
			return byJudge(x.Judge, y.Judge)
		}
		return b.courseOrder(x.Course) - b.courseOrder(y.Course)
	})
	e.dirty[s.Phase] = true
	e.class.dirty = true
}

// byJudge puts C, the president, first.
func byJudge(x, y string) int {
	switch {
	case x == y:
		return 0
	case x == "C":
		return -1
	case y == "C":
		return 1
	}
	return cmp.Compare(x, y)
}

func (b *Board) courseOrder(id string) int {
	return slices.IndexFunc(b.t.Courses, func(c Course) bool { return c.ID == id })
}

// count scores one phase of an entry anew.
func (b *Board) count(e *entryBoard, phase string) {
	sheets := e.sheets[phase]
	if len(sheets) == 0 {
		e.results[phase] = newResult()
		return
	}
	u := &run{
		pr: b.pr, class: e.class.Class, sheets: sheets, into: e.results[phase],
		test: func(id string) *Test {
			if id == "" {
				return &b.t.Tests[0]
			}
			return b.tests[id]
		},
		course: func(id string) *Course { return b.courses[id] },
		judge:  func(drive string) gates.Verdict { return b.judge(e.class, drive) },
	}
	var r *result
	switch phase {
	case rules.Dressage:
		r = u.dressage()
	case rules.Sections:
		r = u.sections()
	case rules.Hazards:
		r = u.hazards()
	case rules.Cones:
		r = u.cones()
	case rules.Timed:
		r = u.timed()
	case rules.Judged:
		r = u.judged()
	}
	r.have = true
	r.shown = r.value
	if b.pr.each {
		r.shown = b.pr.round(r.value)
	}
	if len(r.parts) > 1 && r.out == "" {
		var all []string
		for _, n := range r.parts {
			all = append(all, n.String())
		}
		r.say(strings.Join(all, " + ") + " = " + b.pr.rounded(r.value) + b.pr.unit())
	}
	e.results[phase] = r
}

// judge rules on a drive through a hazard.
func (b *Board) judge(c *classBoard, drive string) gates.Verdict {
	v, ok := c.drives[drive]
	if !ok {
		passes, _ := gates.Parse(drive)
		v = gates.Judge(passes, c.letters, b.pr.judge)
		c.drives[drive] = v
	}
	return v
}

// Recount counts everything anew from the sheets that are on the board.
func (b *Board) Recount() {
	for _, e := range b.entries {
		for _, phase := range e.class.Phases {
			e.dirty[phase] = true
		}
		e.class.dirty = true
	}
}

// needs lists the sheets of a phase that are expected of an entry and not there.
func (b *Board) needs(e *entryBoard, phase string) []Need {
	var all []Need
	have := func(what string) bool {
		return slices.ContainsFunc(e.sheets[phase], func(s *Sheet) bool {
			if phase == rules.Dressage || phase == rules.Judged {
				return s.Judge == what
			}
			// A sheet without a time is not all in.
			return s.Course == what && (s.Seconds != "" || s.Out != "" || b.courses[what].Kind == FaultAndOut || b.courses[what].Kind == ChoiceByPoints)
		})
	}
	need := func(course, judge string) {
		all = append(all, Need{Phase: phase, Entry: e.Number, Class: e.class.ID, Course: course, Judge: judge})
	}
	switch phase {
	case rules.Dressage, rules.Judged:
		judges := *e.class.judgesOf(phase)
		for _, j := range judges {
			if !have(j) {
				need("", j)
			}
		}
		if len(judges) == 0 {
			need("", "")
		}
	default:
		var courses []*Course
		stated := false
		for i := range b.t.Courses {
			if c := &b.t.Courses[i]; c.Phase == phase && c.drivenBy(e.class.Class) {
				courses = append(courses, c)
				stated = stated || len(c.Classes) > 0
			}
		}
		// Several cones courses that do not say who drives them have one time
		// allowed each: an entry drives one of them.
		if phase == rules.Cones && !stated && len(courses) > 1 {
			if !slices.ContainsFunc(courses, func(c *Course) bool { return have(c.ID) }) {
				need("", "")
			}
			return all
		}
		for _, c := range courses {
			if !have(c.ID) {
				need(c.ID, "")
			}
		}
		if len(courses) == 0 {
			need("", "")
		}
	}
	return all
}

// Answer is the scores as they stand.
func (b *Board) Answer() *Answer {
	a := &Answer{Trial: b.t.Name, Rules: b.profile.Name, CountedIn: b.pr.word(rules.CountedIn), Entries: []EntryScore{}, Missing: []Need{}, Sheets: []Tally{}, FromMemory: []string{}, Remarks: []string{}}
	memory := map[string]bool{}
	a.Entries = make([]EntryScore, 0, len(b.t.Entries))
	for i := range b.t.Classes {
		c := b.classes[b.t.Classes[i].ID]
		if c.dirty {
			b.place(c)
			c.dirty = false
		}
		a.Entries = append(a.Entries, c.answer...)
		a.Missing = append(a.Missing, c.missing...)
		a.Sheets = append(a.Sheets, c.tally...)
		a.Remarks = append(a.Remarks, c.remarks...)
		for _, k := range c.memory {
			memory[k] = true
		}
	}
	a.FromMemory = append(a.FromMemory, slices.Sorted(maps.Keys(memory))...)
	a.Teams = b.teams()
	a.Series = b.series()
	return a
}

// settle counts what is dirty in a class, and puts a score in the place of an
// elimination where the profile does.
func (b *Board) settle(c *classBoard) {
	c.missing, c.tally = nil, nil
	for _, phase := range c.Phases {
		expected, in := 0, 0
		out := map[int]bool{}
		for _, e := range c.entries {
			if e.dirty[phase] {
				b.count(e, phase)
				e.dirty[phase] = false
			}
			r := e.results[phase]
			r.missing = nil
			if r.out == "" && !e.gone(phase) {
				r.missing = b.needs(e, phase)
				if r.missing != nil {
					out[e.Number] = true
				}
			}
			n := max(1, len(r.missing)+len(e.sheets[phase]))
			if !e.gone(phase) || len(e.sheets[phase]) > 0 {
				expected += n
				in += n - len(r.missing)
			}
			c.missing = append(c.missing, r.missing...)
		}
		t := Tally{Class: c.ID, Phase: phase, In: in, Of: expected, Missing: []int{}}
		t.Missing = append(t.Missing, slices.Sorted(maps.Keys(out))...)
		c.tally = append(c.tally, t)
		b.substitute(c, phase)
	}
}

// gone reports whether no sheet of the phase is expected any more.
func (e *entryBoard) gone(phase string) bool {
	switch e.Status {
	case "", Placed, HorsConcours:
		// Eliminated in an earlier phase: what follows may be driven, and need not.
		for _, p := range e.class.Phases {
			if p == phase {
				return false
			}
			if r := e.results[p]; r != nil && r.out != "" && !r.subst {
				return true
			}
		}
		return false
	}
	if e.InPhase == "" {
		return true
	}
	return slices.Index(e.class.Phases, phase) >= slices.Index(e.class.Phases, e.InPhase)
}

// left reports whether the entry did not finish the phase, by its status.
func (e *entryBoard) left(phase string) bool {
	switch e.Status {
	case "", Placed, HorsConcours:
		return false
	}
	return e.InPhase != "" && slices.Index(e.class.Phases, phase) >= slices.Index(e.class.Phases, e.InPhase)
}

// substitute gives eliminated entries the worst of the class and something more.
func (b *Board) substitute(c *classBoard, phase string) {
	if b.pr.word(rules.EliminatedInPhase) != rules.Subst {
		return
	}
	worst := whole(0)
	for _, e := range c.entries {
		r := e.results[phase]
		if r.out == "" && r.complete() && r.shown.cmp(worst) > 0 {
			worst = r.shown
		}
	}
	added := b.pr.factors[rules.SubstituteAdded]
	for _, e := range c.entries {
		r := e.results[phase]
		if r.out == "" {
			continue
		}
		if r.subst {
			r.lines = r.lines[:len(r.lines)-1]
		}
		r.subst = true
		if c.most {
			r.shown = whole(0)
			r.say("eliminated, scored 0")
			continue
		}
		r.shown = worst.plus(added)
		r.say(fmt.Sprintf("eliminated (%s): scored %s, the worst of the class, + %s = %s", r.out, worst, added, b.pr.fixed(r.shown)))
	}
}

// place counts and places one class.
func (b *Board) place(c *classBoard) {
	b.settle(c)
	c.answer, c.memory, c.remarks = make([]EntryScore, 0, len(c.entries)), nil, nil
	scores := make([]*standing, 0, len(c.entries))
	for _, e := range c.entries {
		scores = append(scores, b.standing(c, e))
	}
	b.rank(c, scores)
	slices.SortStableFunc(scores, byStanding)
	for _, s := range scores {
		for i, phase := range c.Phases {
			s.Phases[phase] = s.phases[i]
		}
		c.answer = append(c.answer, s.EntryScore)
	}
	for _, e := range c.entries {
		for _, phase := range c.Phases {
			r := e.results[phase]
			c.memory = append(c.memory, r.memory...)
			for _, m := range r.remarks {
				c.remarks = append(c.remarks, fmt.Sprintf("entry %d: %s", e.Number, m))
			}
		}
	}
	slices.Sort(c.memory)
	c.memory = slices.Compact(c.memory)
}

// byStanding puts the placed first, in their order, then the others by what became
// of them.
func byStanding(x, y *standing) int {
	at := func(s *standing) int {
		if s.Place != nil {
			return *s.Place
		}
		return 1_000_000 + slices.Index([]string{Placed, HorsConcours, Eliminated, Retired, Withdrawn, Disqualified}, s.Status)
	}
	return cmp.Or(at(x)-at(y), x.Number-y.Number)
}

// standing is an entry on its way to a place.
type standing struct {
	EntryScore
	e      *entryBoard
	phases []PhaseScore // of the class, in its order
	total  number
	key    number   // what it is being placed by
	whole  bool     // every sheet is in
	shown  shown    // by phase, with marathon
	upTo   []number // running totals after each phase; shorter where it stops
}

// shown are the scores of some phases, few enough to be looked through.
type shown []shownIn

type shownIn struct {
	phase string
	score number
}

// find is the score of a phase; ok is false when there is none.
func (all shown) find(phase string) (score number, ok bool) {
	for _, s := range all {
		if s.phase == phase {
			return s.score, true
		}
	}
	return whole(0), false
}

// in is the score of a phase, 0 when there is none.
func (all shown) in(phase string) number {
	score, _ := all.find(phase)
	return score
}

func (b *Board) standing(c *classBoard, e *entryBoard) *standing {
	s := &standing{e: e, total: whole(0), whole: true, shown: make(shown, 0, len(c.Phases)+1), phases: make([]PhaseScore, len(c.Phases)), upTo: make([]number, 0, len(c.Phases))}
	s.EntryScore = EntryScore{Number: e.Number, Class: c.ID, Driver: e.Driver, Horses: e.Horses, Status: e.Status, Phases: make(map[string]PhaseScore, len(c.Phases)), Why: e.Why}
	if s.Status == "" {
		s.Status = Placed
	}
	marathon := c.Has(rules.Sections) && c.Has(rules.Hazards)
	ok := true
	for i, phase := range c.Phases {
		r := e.results[phase]
		ps := PhaseScore{Lines: r.lines, CountedIn: b.countedIn(c, phase), Percent: r.percent}
		if ps.Lines == nil {
			ps.Lines = []string{}
		}
		if r.time.sign() > 0 {
			ps.Seconds = r.time.fixed(2 + extra(r.time))
		}
		switch {
		case r.out != "" && !r.subst:
			ps.Eliminated = r.out
			ok = false
			if s.Status == Placed || s.Status == HorsConcours {
				if s.Status == Placed {
					s.Status = Eliminated
				}
				s.Why = join(s.Why, "in "+phase+": "+r.out)
			}
		case r.have:
			if r.subst {
				ps.Eliminated = r.out
				s.Why = join(s.Why, "eliminated in "+phase+": "+r.out+"; scored as the profile says")
			}
			p := b.text(r.shown)
			ps.Penalties = &p
			s.shown = append(s.shown, shownIn{phase, r.shown})
		}
		if len(r.missing) > 0 {
			var names []string
			for _, n := range r.missing {
				names = append(names, n.String())
			}
			s.whole = false
			s.Why = join(s.Why, "missing: "+strings.Join(names, "; "))
		}
		ok = ok && (r.complete() || r.subst) && !e.left(phase)
		s.phases[i] = ps
		if ok {
			s.upTo = append(s.upTo, b.upTo(c, e, s, len(s.upTo)))
		}
	}
	if marathon {
		s.sums(b, e)
	}
	if n := len(s.upTo); n > 0 {
		s.total = s.upTo[n-1]
	}
	if !b.pr.each {
		s.total = b.pr.round(s.total)
	}
	s.whole = s.whole && ok
	s.Lines = b.totalLines(c, s)
	if s.whole && (s.Status == Placed || s.Status == HorsConcours) {
		t := b.pr.fixed(s.total)
		s.Total = &t
	}
	if e.Status != "" && e.Status != Placed && e.Why == "" && e.InPhase != "" {
		s.Why = join("in "+e.InPhase, s.Why)
	}
	return s
}

// upTo adds the first phases of a class, the last of them number i; sections and
// hazards are added as the marathon.
func (b *Board) upTo(c *classBoard, e *entryBoard, s *standing, i int) number {
	total := whole(0)
	in := c.Phases[:i+1]
	marathon := slices.Contains(in, rules.Sections) && slices.Contains(in, rules.Hazards)
	for _, phase := range in {
		if !marathon || phase != rules.Sections && phase != rules.Hazards {
			total = total.plus(s.shown.in(phase))
		}
	}
	if marathon {
		total = total.plus(b.marathon(e))
	}
	return total
}

// totalLines is the arithmetic of a total.
func (b *Board) totalLines(c *classBoard, s *standing) []string {
	if len(s.upTo) == 0 {
		return []string{}
	}
	var parts []string
	in := c.Phases[:len(s.upTo)]
	marathon := slices.Contains(in, rules.Sections) && slices.Contains(in, rules.Hazards)
	for _, phase := range in {
		switch {
		case !marathon || phase != rules.Sections && phase != rules.Hazards:
			parts = append(parts, phase+" "+b.text(s.shown.in(phase)))
		case phase == rules.Hazards:
			parts = append(parts, "marathon "+b.text(s.shown.in(rules.Marathon)))
		}
	}
	if len(parts) == 1 && b.pr.each {
		return []string{parts[0]}
	}
	exact := s.upTo[len(s.upTo)-1]
	line := strings.Join(parts, " + ") + " = " + b.pr.fixed(s.total)
	if s.total.cmp(exact) != 0 {
		line += " (exactly " + exact.String() + ")"
	}
	return []string{line}
}

func join(a, b string) string {
	if a == "" || b == "" {
		return a + b
	}
	return a + "; " + b
}

// text writes a phase's score: with the profile's places where phases are
// rounded, else in full.
func (b *Board) text(n number) string {
	if b.pr.each {
		return b.pr.fixed(n)
	}
	return n.String()
}

// marathon is sections and hazards together, rounded once where the profile
// says so.
func (b *Board) marathon(e *entryBoard) number {
	x, y := e.results[rules.Sections], e.results[rules.Hazards]
	both := x.shown.plus(y.shown)
	if b.pr.each && b.pr.together && !x.subst && !y.subst {
		both = b.pr.round(x.value.plus(y.value))
	}
	return both
}

// sums adds the marathon to an entry that drives sections and hazards.
func (s *standing) sums(b *Board, e *entryBoard) {
	x, y := s.phases[slices.Index(e.class.Phases, rules.Sections)], s.phases[slices.Index(e.class.Phases, rules.Hazards)]
	if x.Penalties == nil || y.Penalties == nil {
		return
	}
	m := b.marathon(e)
	s.shown = append(s.shown, shownIn{rules.Marathon, m})
	t := b.text(m)
	rx, ry := e.results[rules.Sections], e.results[rules.Hazards]
	line := "sections " + *x.Penalties + " + hazards " + *y.Penalties + " = " + t
	if b.pr.each && b.pr.together && rx.shown.plus(ry.shown).cmp(m) != 0 {
		line = "sections " + rx.value.String() + " + hazards " + ry.value.String() + " = " + rx.value.plus(ry.value).String() + ", rounded once to " + t
	}
	s.Sums = map[string]PhaseScore{rules.Marathon: {Penalties: &t, Lines: []string{line}, CountedIn: x.CountedIn}}
}

// countedIn says what a phase's number is.
func (b *Board) countedIn(c *classBoard, phase string) string {
	switch {
	case phase == rules.Judged:
		return "percent, most wins"
	case phase == rules.Timed && c.most:
		return "points, most win"
	}
	return b.pr.word(rules.CountedIn)
}
