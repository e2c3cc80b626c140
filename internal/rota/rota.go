package rota

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"terret/internal/fault"
	"terret/internal/strict"
)

// Format is the name and version of the file this package reads.
const Format = "rota/1"

// Bounds of a file: more than any day has.
const (
	MaxPeople = 300
	MaxJobs   = 300
	MaxShifts = 40 // of one job
	MaxNeed   = 20 // seats of one shift
	MaxSeats  = 2000

	MaxName = 80  // letters of a name or a place
	MaxFact = 160 // letters of a fact of the emergency card, or of what stops
	MaxWord = 500 // letters of a part of a card, or of a line of the briefing
)

// What is taken where a rota says nothing (estimates).
const (
	DefaultChangeMin  = 10  // min to walk from one job to another
	DefaultLongestMin = 150 // min of work without a break
	DefaultBreakMin   = 20  // min that count as a break
)

// Time is a time of day, in minutes after midnight.
type Time int

// String writes 09:05.
func (t Time) String() string { return fmt.Sprintf("%02d:%02d", t/60, t%60) }

// MarshalText writes it as String does, for JSON.
func (t Time) MarshalText() ([]byte, error) { return []byte(t.String()), nil }

// ParseTime reads hours and minutes of one day: "9:05", "09:05", up to "24:00".
func ParseTime(s string) (Time, bool) {
	h, m, ok := strings.Cut(s, ":")
	hours, errH := strconv.Atoi(h)
	minutes, errM := strconv.Atoi(m)
	if !ok || errH != nil || errM != nil || len(h) > 2 || len(m) != 2 || strings.Trim(h+m, "0123456789") != "" || hours > 24 || minutes > 59 || hours == 24 && minutes > 0 {
		return 0, false
	}
	return Time(60*hours + minutes), true
}

// Rota is the jobs of one day.
type Rota struct {
	Name, Date string
	People     []Person
	Jobs       []Job
	ChangeMin  int // min from the end of one job to another place; DefaultChangeMin
	LongestMin int // min without a break; DefaultLongestMin
	BreakMin   int // min that count as a break; DefaultBreakMin
	Clinic     *Clinic
	Emergency  map[string]string // of EmergencyKeys; what is not there is a line to write on
	Briefing   []string          // what is said to all, line by line
	Phone      string            // the organiser's
	Food       string            // where loo, food and water are
}

// Person is somebody who helps.
type Person struct {
	Name     string
	Phone    string
	From, To Time     // there from, until; both 0: all day
	Can      []string // skills; a job that wants one is only for those who have it
	Wishes   []string // ids of jobs they would like
	NotNear  []string // classes or places they may not judge: their own, their family's
}

// Job is a place to be filled for a time or several.
type Job struct {
	ID, Name string
	Kind     string // of Kinds, for its card; ""
	Place    string
	Phase    string   // of the trial's timetable, which its hours are held against; ""
	Skill    string   // wanted; "" anybody
	Of       []string // classes it judges, for NotNear
	Need     int      // seats of each shift; at least 1
	Stops    string   // what stops while a seat is empty; "": nothing does
	Shifts   []Shift
	Card     map[string]string // of CardKeys: the organiser's own words
}

// Shift is one job from one time to another.
type Shift struct {
	From, To Time
	Held     []string // names of people
}

// EmergencyKeys are the facts of an emergency card, in the order of the card, each
// with the words that stand there.
func EmergencyKeys() [][2]string {
	return [][2]string{
		{"site", "Site"}, {"address", "Address"}, {"postcode", "Postcode"}, {"grid", "Grid reference"},
		{"ambulance", "The ambulance comes in at"}, {"meets", "Who meets it, and where"},
		{"number", "Emergency number to call"}, {"first_aider", "First aider, phone"}, {"vet", "Vet, phone"}, {"farrier", "Farrier, phone"},
		{"organiser", "Organiser, phone"}, {"landowner", "Landowner, phone"}, {"hospital", "Nearest emergency hospital"}, {"signal", "Signal that stops all"},
	}
}

func keysOf(pairs [][2]string) []string {
	var all []string
	for _, p := range pairs {
		all = append(all, p[0])
	}
	return all
}

// Load reads and checks a rota from a file.
func Load(path string) (*Rota, error) {
	data, err := strict.ReadFile(path)
	if err != nil {
		return nil, err
	}
	return Decode(path, data)
}

// Decode reads and checks a rota (terret: rota/1), YAML or JSON. name is the file's
// name for the places of faults; the error is a fault.Fault or fault.List.
func Decode(name string, data []byte) (*Rota, error) {
	doc, err := strict.Parse(name, data)
	if err != nil {
		return nil, err
	}
	top := doc.Root().Object("terret", "name", "date", "people", "jobs", "change_min", "longest_min", "break_min", "clinic", "emergency", "briefing", "phone", "food")
	top.Need("terret").OneOf(Format)
	r := &Rota{Name: top.Need("name").Text(), Date: top.Get("date").Text(), ChangeMin: DefaultChangeMin, LongestMin: DefaultLongestMin, BreakMin: DefaultBreakMin, Phone: readText(top.Get("phone"), MaxName), Food: readText(top.Get("food"), MaxFact)}
	for _, k := range []struct {
		key string
		at  *int
	}{{"change_min", &r.ChangeMin}, {"longest_min", &r.LongestMin}, {"break_min", &r.BreakMin}} {
		if v := top.Get(k.key); v.Ok() {
			*k.at = v.Int(0, 24*60)
		}
	}
	r.readPeople(top.Get("people"))
	r.readJobs(top.Need("jobs"))
	for i, p := range r.People {
		for k, w := range p.Wishes {
			if !slices.ContainsFunc(r.Jobs, func(j Job) bool { return j.ID == w }) {
				doc.Add("wish", fmt.Sprintf("people[%d].wishes[%d]", i, k), fmt.Sprintf("there is no job %q", w), "wishes are ids of jobs")
			}
		}
	}
	if v := top.Get("clinic"); v.Ok() {
		r.Clinic = readClinic(v)
	}
	r.Emergency = readWords(top.Get("emergency"), EmergencyKeys(), MaxFact)
	for _, v := range top.Get("briefing").ListOf(40, "lines") {
		r.Briefing = append(r.Briefing, readText(v, MaxWord))
	}
	if err := doc.Err(); err != nil {
		return nil, err
	}
	return r, nil
}

// readText reads a text of at most so many letters: what is longer would be cut on
// paper.
func readText(v strict.Value, most int) string {
	s := v.Text()
	if n := utf8.RuneCountInString(s); n > most {
		v.Fault("too-long", fmt.Sprintf("the text has %d letters", n), fmt.Sprintf("at most %d, or it is cut on paper", most))
	}
	return s
}

// readWords reads a mapping of texts with known keys.
func readWords(v strict.Value, keys [][2]string, most int) map[string]string {
	if !v.Ok() {
		return nil
	}
	all := keysOf(keys)
	o := v.Object(all...)
	m := map[string]string{}
	for _, k := range all {
		if s := readText(o.Get(k), most); s != "" {
			m[k] = s
		}
	}
	return m
}

func readNames(v strict.Value, what string) []string {
	var all []string
	for _, v := range v.ListOf(100, what) {
		if s := v.Text(); s != "" {
			all = append(all, s)
		}
	}
	return all
}

func (r *Rota) readPeople(v strict.Value) {
	seen := map[string]bool{}
	for _, v := range v.ListOf(MaxPeople, "people") {
		o := v.Object("name", "phone", "from", "to", "can", "wishes", "not_near")
		p := Person{Name: readText(o.Need("name"), MaxName), Phone: o.Get("phone").Text(),
			Can: readNames(o.Get("can"), "skills"), Wishes: readNames(o.Get("wishes"), "jobs"), NotNear: readNames(o.Get("not_near"), "classes")}
		if seen[p.Name] {
			o.Get("name").Fault("person-twice", fmt.Sprintf("%s stands here twice", p.Name), "give the second a name that tells them apart")
		}
		seen[p.Name] = true
		p.From, p.To = readSpan(o.Get("from"), o.Get("to"))
		r.People = append(r.People, p)
	}
}

func (r *Rota) readJobs(v strict.Value) {
	people, ids := map[string]bool{}, map[string]bool{}
	seats := 0
	for _, p := range r.People {
		people[p.Name] = true
	}
	for _, v := range v.ListOf(MaxJobs, "jobs") {
		o := v.Object("id", "name", "kind", "place", "phase", "skill", "of", "need", "stops", "from", "to", "held", "shifts", "card")
		j := Job{ID: readText(o.Need("id"), MaxName), Name: readText(o.Get("name"), MaxName), Place: readText(o.Get("place"), MaxName), Phase: o.Get("phase").Text(), Skill: o.Get("skill").Text(), Of: readNames(o.Get("of"), "classes"), Stops: readText(o.Get("stops"), MaxFact), Need: 1, Card: readWords(o.Get("card"), CardKeys(), MaxWord)}
		if k := o.Get("kind"); k.Ok() {
			j.Kind = k.OneOf(Kinds()...)
		}
		if j.Name == "" {
			j.Name = untitled(j.ID, j.Kind)
		}
		if n := o.Get("need"); n.Ok() {
			j.Need = n.Int(1, MaxNeed)
		}
		if ids[j.ID] {
			o.Get("id").Fault("job-twice", fmt.Sprintf("there are two jobs %q", j.ID), "give each its own id")
		}
		ids[j.ID] = true
		shift := func(o strict.Object) {
			s := Shift{}
			s.From, s.To = readSpan(o.Need("from"), o.Need("to"))
			for _, v := range o.Get("held").ListOf(MaxNeed, "people") {
				n := v.Text()
				if n != "" && !people[n] {
					v.Fault("person", fmt.Sprintf("nobody is called %q", n), "people lists everybody who helps")
				}
				for _, h := range s.Held {
					if n == h {
						v.Fault("held-twice", fmt.Sprintf("%s holds this twice", n), "")
					}
				}
				s.Held = append(s.Held, n)
			}
			j.Shifts = append(j.Shifts, s)
		}
		switch {
		case o.Has("shifts") && (o.Has("from") || o.Has("to") || o.Has("held")):
			v.Fault("job-shifts", fmt.Sprintf("the job %q has shifts, and a time of its own", j.ID), "write one of the two")
		case o.Has("shifts"):
			for _, v := range o.Get("shifts").ListOf(MaxShifts, "shifts") {
				shift(v.Object("from", "to", "held"))
			}
		default:
			shift(o)
		}
		r.Jobs = append(r.Jobs, j)
		if seats += j.Need * len(j.Shifts); seats > MaxSeats {
			v.Fault("too-many", fmt.Sprintf("from here on there are more than %d seats", MaxSeats), "split the rota into days")
			return
		}
	}
}

// readTime reads a time of day; 0 where there is none.
func readTime(v strict.Value) Time {
	s := v.Text()
	if s == "" {
		return 0
	}
	t, ok := ParseTime(s)
	if !ok {
		v.Fault("clock", fmt.Sprintf("%q is no time of day", s), `write hours and minutes in quotes, such as "09:30"`)
	}
	return t
}

// readSpan reads two times of day, the second later than the first where it is there.
func readSpan(from, to strict.Value) (Time, Time) {
	a, b := readTime(from), readTime(to)
	if _, sound := ParseTime(plainText(to)); sound && b <= a {
		to.Fault("times", fmt.Sprintf("it ends at %s and begins at %s", b, a), "the end is later than the beginning; what goes over midnight is two days' rota")
	}
	return a, b
}

// plainText is the text of a value that is one, without a fault.
func plainText(v strict.Value) string {
	if s, ok := v.Plain().(string); ok && v.Ok() {
		return s
	}
	return ""
}

// JobNamed finds a job by its id.
func (r *Rota) JobNamed(id string) (*Job, error) {
	var ids []string
	for i := range r.Jobs {
		if r.Jobs[i].ID == id {
			return &r.Jobs[i], nil
		}
		ids = append(ids, r.Jobs[i].ID)
	}
	return nil, &fault.Fault{Code: fault.NotFound, Rule: "job", Place: "--job", Message: fmt.Sprintf("there is no job %q", id), Hint: "there are " + strings.Join(ids, ", ")}
}
