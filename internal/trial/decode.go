package trial

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"terret/internal/fault"
	"terret/internal/rules"
	"terret/internal/strict"
)

// Bounds of a trial.
const (
	maxClasses = 200
	maxEntries = 2_000
	maxSheets  = 20_000
	maxCourses = 500
	maxJudges  = 5
	maxCount   = 999 // of one fault
)

// Bounds that a form keeps as well.
const (
	MostMarks = 200 // marks of one test
	MostNames = 20  // grooms, horses, wishes of one entry
)

// Load reads a trial from a file, with its profile, and checks both. A profile
// that is a path is looked for beside the trial, and else where the program was
// started. The error is a fault.Fault or fault.List when a file is wrong, else the
// disk's.
func Load(path string) (*Trial, *rules.Profile, error) {
	data, err := strict.ReadFile(path)
	if err != nil {
		return nil, nil, err
	}
	return Decode(path, data, ProfilesBeside(path))
}

// ProfilesBeside finds rule profiles as a trial in the file of that path names them: a
// built-in one by its name, a file beside the trial, or else one where the program was
// started.
func ProfilesBeside(path string) func(string) (*rules.Profile, error) {
	return func(name string) (*rules.Profile, error) {
		if file := RulesFile(path, name); file != "" {
			return rules.Load(file)
		}
		return rules.Load(name)
	}
}

// RulesFile is the file of the rules that a trial in the file of a path names; "" when
// they are a built-in profile.
func RulesFile(path, name string) string {
	if !strings.ContainsAny(name, `./\`) {
		return ""
	}
	file := name
	if !filepath.IsAbs(name) {
		if beside := filepath.Join(filepath.Dir(path), name); exists(beside) {
			file = beside
		}
	}
	if !strings.ContainsAny(file, `./\`) {
		file = "./" + file // a path, not the name of a profile
	}
	return file
}

func exists(path string) bool {
	_, err := os.Stat(path)
	return err == nil
}

// Decode reads and checks a trial. name is the file's name for the places of
// faults; profile finds the rule profile that the trial names.
func Decode(name string, data []byte, profile func(string) (*rules.Profile, error)) (*Trial, *rules.Profile, error) {
	doc, err := strict.Parse(name, data)
	if err != nil {
		return nil, nil, err
	}
	t, paths := read(doc)
	if err := doc.Err(); err != nil {
		return nil, nil, err
	}
	p, err := profile(t.Rules)
	if err != nil {
		if f, ok := err.(*fault.Fault); ok && f.Place == "" {
			f.Place = doc.Place("rules")
		}
		return nil, nil, err
	}
	t.NameSheets()
	for _, pr := range t.Validate(p) {
		at := pr.Path
		if pr.Sheet > 0 {
			at = paths[pr.Sheet-1] + pr.Path
		}
		doc.Add(pr.Rule, at, pr.Message, pr.Hint)
	}
	if err := doc.Err(); err != nil {
		return nil, nil, err
	}
	return t, p, nil
}

// Parse reads the shape of a trial as strictly as Decode, and asks no rule of its
// meaning: a trial that is still being put together must come back as it was kept.
// Its sheets have their IDs.
func Parse(name string, data []byte) (*Trial, error) {
	doc, err := strict.Parse(name, data)
	if err != nil {
		return nil, err
	}
	t, _ := read(doc)
	if err := doc.Err(); err != nil {
		return nil, err
	}
	t.NameSheets()
	return t, nil
}

// read reads a document as it stands; paths tells where each sheet is written.
func read(doc *strict.Doc) (t *Trial, paths []string) {
	top := doc.Root().Object("terret", "name", "rules", "classes", "entries", "tests", "courses", "sheets", "teams", "series", "timetable")
	top.Need("terret").OneOf(Format)
	t = &Trial{Name: top.Need("name").Text(), Rules: top.Get("rules").Text()}
	for _, v := range top.Need("classes").ListOf(maxClasses, "classes") {
		o := v.Object("id", "name", "hitch", "size", "through", "level", "judged", "phases")
		c := Class{ID: o.Need("id").Text(), Name: o.Get("name").Text()}
		c.Hitch = o.Get("hitch").OneOf(Hitches()...)
		c.Size = o.Get("size").OneOf(Sizes()...)
		c.Through = o.Get("through").Text()
		c.Level = o.Get("level").OneOf(rules.Levels()...)
		c.Judged = o.Get("judged").OneOf(JudgedKinds()...)
		for _, p := range o.Need("phases").ListOf(len(rules.Phases()), "phases") {
			c.Phases = append(c.Phases, p.OneOf(rules.Phases()...))
		}
		t.Classes = append(t.Classes, c)
	}
	for _, v := range top.Need("entries").ListOf(maxEntries, "entries") {
		o := v.Object("number", "class", "driver", "grooms", "horses", "vehicle", "turnout", "status", "in_phase", "why", "gap_cm", "wishes")
		e := Entry{Number: o.Need("number").Int(1, 99_999), Class: o.Need("class").Text(), Driver: o.Get("driver").Text()}
		e.Grooms, e.Horses = texts(o.Get("grooms"), MostNames, "grooms"), texts(o.Get("horses"), MostNames, "horses")
		e.Vehicle, e.Turnout, e.Why = o.Get("vehicle").Text(), o.Get("turnout").Text(), o.Get("why").Text()
		e.Status = o.Get("status").OneOf(Statuses()...)
		e.InPhase = o.Get("in_phase").OneOf(rules.Phases()...)
		if g := o.Get("gap_cm"); g.Ok() {
			e.GapCM = g.Int(1, 1000)
		}
		e.Wishes = readWishes(o.Get("wishes"))
		t.Entries = append(t.Entries, e)
	}
	for _, v := range top.Get("tests").ListOf(maxCourses, "tests") {
		o := v.Object("id", "name", "maximum", "coefficient", "movements")
		s := Test{ID: o.Need("id").Text(), Name: o.Get("name").Text(), Coefficient: o.Get("coefficient").Text()}
		s.Maximum = strconv.Itoa(o.Need("maximum").Int(1, 10_000))
		for _, v := range o.Get("movements").ListOf(MostMarks, "movements") {
			m := v.Object("no", "times", "text")
			mv := Movement{No: m.Need("no").Int(1, MostMarks), Times: 1, Text: m.Get("text").Text()}
			if n := m.Get("times"); n.Ok() {
				mv.Times = n.Int(1, 20)
			}
			s.Movements = append(s.Movements, mv)
		}
		t.Tests = append(t.Tests, s)
	}
	for _, v := range top.Get("courses").ListOf(maxCourses, "courses") {
		o := v.Object("id", "name", "phase", "classes", "kind", "length_m", "speed_m_per_min", "allowed_s", "minimum_s", "limit_s", "points")
		c := Course{ID: o.Need("id").Text(), Name: o.Get("name").Text(), Phase: o.Need("phase").OneOf(rules.Sections, rules.Hazards, rules.Cones, rules.Timed)}
		c.Classes = texts(o.Get("classes"), maxClasses, "classes")
		c.Kind = o.Get("kind").OneOf(TimedKinds()...)
		c.LengthM, c.SpeedMPerMin = o.Get("length_m").Text(), o.Get("speed_m_per_min").Text()
		c.AllowedS, c.MinimumS, c.LimitS = o.Get("allowed_s").Text(), o.Get("minimum_s").Text(), o.Get("limit_s").Text()
		c.Points = textMap(o.Get("points"))
		t.Courses = append(t.Courses, c)
	}
	sheets := top.Get("sheets").Object(rules.Phases()...)
	for _, phase := range rules.Phases() {
		for i, v := range sheets.Get(phase).ListOf(maxSheets, "sheets") {
			paths = append(paths, fmt.Sprintf("sheets.%s[%d]", phase, i))
			t.Sheets = append(t.Sheets, readSheet(phase, v))
		}
	}
	for _, v := range top.Get("teams").ListOf(maxClasses, "teams") {
		o := v.Object("name", "members")
		m := Team{Name: o.Need("name").Text()}
		for _, n := range o.Need("members").ListOf(MostNames, "members") {
			m.Members = append(m.Members, n.Int(1, 99_999))
		}
		t.Teams = append(t.Teams, m)
	}
	for _, v := range top.Get("series").ListOf(maxClasses, "series") {
		o := v.Object("name", "days")
		s := Series{Name: o.Need("name").Text()}
		for _, v := range o.Need("days").ListOf(100, "days") {
			d := v.Object("name", "final", "places")
			day := SeriesDay{Name: d.Need("name").Text(), Final: d.Get("final").Bool(), Places: map[string]int{}}
			for _, e := range d.Need("places").Entries() {
				day.Places[e.Key] = e.Int(1, maxEntries)
			}
			s.Days = append(s.Days, day)
		}
		t.Series = append(t.Series, s)
	}
	t.Timetable = readTimetable(top.Get("timetable"))
	return t, paths
}

// sheetKeys are the keys a sheet of a phase may have besides those of all.
func sheetKeys(phase string) []string {
	return append([]string{"id", "replaces", "entry", "faults", "out"}, map[string][]string{
		rules.Dressage: {"test", "judge", "marks"},
		rules.Sections: {"course", "seconds", "backup"},
		rules.Hazards:  {"course", "gates", "seconds", "backup", "stops"},
		rules.Cones:    {"course", "seconds", "backup", "stops", "knocked"},
		rules.Timed:    {"course", "seconds", "backup", "stops", "cleared", "extra", "driven"},
		rules.Judged:   {"class", "judge", "parts"},
	}[phase]...)
}

func readSheet(phase string, v strict.Value) Sheet {
	o := v.Object(sheetKeys(phase)...)
	s := Sheet{
		Phase: phase, ID: o.Get("id").Text(), Replaces: o.Get("replaces").Text(), Entry: o.Need("entry").Int(1, 99_999),
		Test: o.Get("test").Text(), Judge: o.Get("judge").Text(), Course: o.Get("course").Text(), Class: o.Get("class").Text(),
		Gates: o.Get("gates").Text(), Seconds: o.Get("seconds").Text(), Backup: o.Get("backup").Text(), Out: o.Get("out").Text(),
		Marks: texts(o.Get("marks"), MostMarks, "marks"), Stops: texts(o.Get("stops"), MostNames, "stops"),
		Parts: textMap(o.Get("parts")), Extra: o.Get("extra").OneOf(ExtraClear, ExtraMissed, ExtraNotDriven),
	}
	s.Knocked, s.Driven = labels(o.Get("knocked"), "knocked obstacles"), labels(o.Get("driven"), "obstacles")
	if c := o.Get("cleared"); c.Ok() {
		s.Cleared = c.Int(0, maxCount)
	}
	for _, e := range o.Get("faults").Entries() {
		if s.Faults == nil {
			s.Faults = map[string]int{}
		}
		s.Faults[e.Key] = e.Int(0, maxCount)
	}
	return s
}

func texts(v strict.Value, most int, what string) []string {
	var all []string
	for _, t := range v.ListOf(most, what) {
		all = append(all, t.Text())
	}
	return all
}

// labels reads numbers of obstacles: 3 or "7b".
func labels(v strict.Value, what string) []string {
	var all []string
	for _, t := range v.ListOf(MostMarks, what) {
		if t.IsText() {
			all = append(all, t.Text())
		} else {
			all = append(all, strconv.Itoa(t.Int(1, 999)))
		}
	}
	return all
}

func textMap(v strict.Value) map[string]string {
	if !v.Ok() {
		return nil
	}
	m := map[string]string{}
	for _, e := range v.Entries() {
		m[e.Key] = e.Text()
	}
	return m
}

// Problem is one thing that is wrong with a trial.
type Problem struct {
	Rule    string // stable name, such as "mark-scale"
	Sheet   int    // 1 and up: Trial.Sheets[Sheet-1]; 0: none
	Path    string // in the document, or in the sheet (".marks[3]")
	Message string
	Hint    string
}

// fault is the problem as an error, placed at the given sheet's name.
func (p Problem) fault(place string) *fault.Fault {
	return &fault.Fault{Code: fault.Input, Rule: p.Rule, Place: place + p.Path, Message: p.Message, Hint: p.Hint}
}

// sortedFaults lists the faults of a sheet in alphabetical order.
func sortedFaults(m map[string]int) []string {
	if len(m) == 0 {
		return nil
	}
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}
