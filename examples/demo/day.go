package demo

import (
	"context"
	"fmt"
	"math/rand/v2"
	"path"
	"slices"
	"strconv"
	"strings"
	"time"

	"terret/examples"
	"terret/internal/fault"
	"terret/internal/rota"
	"terret/internal/rules"
	"terret/internal/trial"
	"terret/internal/trial/order"
)

// TrialID is the id of the demo's trial.
const TrialID = "hollowmere-day"

// start is one of the twelve who start: what is entered, and how it drives.
type start struct {
	number         int
	class, driver  string
	grooms, horses []string
	file           string
	// The quickest drive that the planner finds for this turnout, in seconds:
	// through Orchard and Woodstack to letter C, and through the twelve cones.
	// Measured with `terret hazard routes … --through C` and `terret cones drive` on
	// the plans and turnouts of this folder.
	orchard, woodstack, cones float64
	gapCM                     int     // of the cones, the planner's
	skill                     float64 // 0 green, 1 as good as it gets: invented
}

func starts() []start {
	return []start{
		{1, "V", "Lark Whitlow", []string{"Rob Tansy"}, []string{"Button"}, "01-button", 28.25, 36.18, 238.1, 140, 0.7},
		{2, "V", "Ines Coombe", []string{"Tess Coombe"}, []string{"Nutmeg"}, "02-nutmeg", 28.44, 36.36, 240.9, 140, 0.6},
		{3, "P", "Hazel Fenn", []string{"Una Wren"}, []string{"Pipkin"}, "03-pipkin", 23.67, 30.45, 198.4, 155, 0.8},
		{4, "P", "Hazel Fenn", []string{"Una Wren"}, []string{"Teasel"}, "04-teasel", 23.78, 30.64, 201.1, 155, 0.65},
		{5, "H", "Ann Thorne", []string{"Rob Tansy"}, []string{"Damson"}, "05-damson", 24.70, 32.12, 207.1, 168, 0.25},
		{6, "H", "Jory Sedge", []string{"Kit Sedge"}, []string{"Bramble"}, "06-bay-cob", 19.32, 25.39, 164.0, 168, 0.75},
		{7, "T", "Will Reed", []string{"Ada Reed"}, []string{"Thistle", "Burr"}, "07-pony-pair", 23.83, 30.72, 201.6, 155, 0.6},
		{8, "M", "Tom Larch", []string{"Nell Larch"}, []string{"Conker", "Russet"}, "08-chestnut-pair", 19.30, 25.41, 165.3, 155, 0.8},
		{9, "H", "Perpetua Moss", nil, []string{"Mistral"}, "09-old-phaeton", 21.89, 29.17, 186.6, 175, 0.5},
		{10, "T", "Sefton Marl", []string{"Joss Marl"}, []string{"Pipkin", "Sorrel"}, "10-pony-tandem", 23.90, 30.55, 199.6, 155, 0.5},
		{11, "M", "Orla Finch", []string{"Dan Finch"}, []string{"Cobweb", "Gossamer"}, "11-grey-tandem", 19.65, 25.49, 165.0, 155, 0.7},
		{12, "M", "Gideon Ash", []string{"Meg Ash", "Ben Ash"}, []string{"Otter", "Heron", "Curlew", "Teal"}, "12-bay-four", 19.65, 26.14, 167.3, 155, 0.85},
	}
}

// Numbers with a part of their own in the day.
const (
	tooEarly   = 5 // drove C in the orchard while B was owed, and made it good
	misread    = 6 // the desk read 32 for 23
	asks       = 2 // doubts a ball
	brokeTrace = 8 // in the woodstack
	scratched  = 9 // a shoe off in the morning
)

// Trial is the driving day of the demo with all its sheets: twelve entries from a VSE
// cart to a four-in-hand, one groom shared by two of them, one driver with two ponies,
// one pony in two turnouts. Marks and times are a simulation with a fixed seed around
// what the planner finds for each turnout: the same trial each time. All of it is
// invented.
func Trial() (*trial.Trial, error) {
	t := &trial.Trial{
		Name: "Hollowmere autumn schooling day", Rules: rules.Default,
		Classes: []trial.Class{
			{ID: "V", Name: "Very small equines", Hitch: "single", Size: "vse"},
			{ID: "P", Name: "Single ponies", Hitch: "single", Size: "pony"},
			{ID: "H", Name: "Single horses", Hitch: "single", Size: "horse"},
			{ID: "T", Name: "Pony pairs and tandems", Size: "pony"},
			{ID: "M", Name: "Horse pairs, tandems and fours", Size: "horse"},
		},
		Tests: []trial.Test{{ID: "S1", Name: "Schooling test, ten movements", Maximum: "100", Coefficient: "1.60"}},
		Courses: []trial.Course{
			{ID: "Orchard", Name: "Orchard", Phase: rules.Hazards, LimitS: "300"},
			{ID: "Woodstack", Name: "Woodstack", Phase: rules.Hazards, LimitS: "300"},
		},
		Timetable: &trial.Timetable{Phases: []trial.Run{
			{Phase: order.Phase{Name: "clinic", Start: order.At(8, 30), Every: 15 * 60, Spare: 1}, Classes: []string{"V", "P"}},
			{Phase: order.Phase{Name: rules.Dressage, Start: order.At(9, 45), Every: 8 * 60, Lasts: 6 * 60, Spare: 4, After: "clinic", Breaks: []order.Break{{From: order.At(10, 50), To: order.At(11, 5), Why: "the judge's tea"}}}},
			{Phase: order.Phase{Name: rules.Hazards, Start: order.At(12, 30), Every: 8 * 60, Spare: 4, After: rules.Dressage}},
			{Phase: order.Phase{Name: rules.Cones, Start: order.At(14, 45), Every: 6 * 60, Spare: 6, After: rules.Hazards, Gaps: true}},
		}},
	}
	for i, text := range []string{
		"A, enter at working trot; X, halt and salute",
		"C, track right; working trot",
		"B, circle right 40 m",
		"K-X-M, change the rein, working trot",
		"C to E, walk on a long rein",
		"E, circle left 40 m",
		"F-X-H, change the rein, strong trot",
		"A, down the centre; G, halt, ten seconds",
		"Rein back four steps; salute, leave at walk",
		"Paces, and how quietly it was driven",
	} {
		t.Tests[0].Movements = append(t.Tests[0].Movements, trial.Movement{No: i + 1, Times: 1, Text: text})
	}
	// The time allowed at the plan's speed for what each class drives, as `terret
	// cones drive` gives it; for class M the slowest of its speeds, the fours'.
	allowed := map[string]string{"V": "232", "P": "193", "H": "158", "T": "193", "M": "174"}
	for i := range t.Classes {
		c := &t.Classes[i]
		c.Through, c.Phases = "C", []string{rules.Dressage, rules.Hazards, rules.Cones}
		t.Courses = append(t.Courses, trial.Course{ID: "Cones " + c.ID, Phase: rules.Cones, Classes: []string{c.ID}, LengthM: "578.6", AllowedS: allowed[c.ID]})
	}
	random := rand.New(rand.NewPCG(2026, 10))
	for _, s := range starts() {
		e := trial.Entry{Number: s.number, Class: s.class, Driver: s.driver, Grooms: s.grooms, Horses: s.horses, Turnout: "demo/turnouts/" + s.file + ".yaml", GapCM: s.gapCM}
		if s.number == asks {
			e.Wishes = []order.Wish{{Phase: rules.Cones, NotAfter: order.At(15, 30), Why: "a long way home"}}
		}
		t.Entries = append(t.Entries, e)
		t.Sheets = append(t.Sheets, s.sheets(random)...)
	}
	in, err := t.OrderInput()
	if err != nil {
		return nil, err
	}
	plan, err := order.Make(in)
	if err != nil {
		return nil, err
	}
	t.Timetable.Starts = plan.Starts()
	// The list was posted before anybody dropped out: their starts stand in it.
	for i := range t.Entries {
		switch e := &t.Entries[i]; e.Number {
		case scratched:
			e.Status, e.Why = trial.Withdrawn, "a shoe off this morning"
		case brokeTrace:
			e.Status, e.InPhase, e.Why = trial.Retired, rules.Hazards, "broken trace in the Woodstack"
		}
	}
	t.NameSheets()
	return t, nil
}

// sheets simulates what the judges and timers wrote of one turnout.
func (s *start) sheets(random *rand.Rand) []trial.Sheet {
	d := trial.Sheet{Phase: rules.Dressage, Entry: s.number, Test: "S1", Judge: "C"}
	for range 10 {
		m := 4.5 + 2.5*s.skill + 0.7*random.NormFloat64()
		half := min(max(int(2*m+0.5), 6), 17) // marks in halves, from 3 to 8.5
		d.Marks = append(d.Marks, strconv.FormatFloat(float64(half)/2, 'f', -1, 64))
	}
	if s.number == 4 {
		d.Faults = map[string]int{"course_error": 1}
	}
	// Nobody drives the planner's line: a good driver loses some tenth of it, a green
	// one a third and more.
	lost := func(quickest float64) float64 {
		return quickest * (1.10 + 0.35*(1-s.skill) + 0.05*abs(random.NormFloat64()))
	}
	orchard := trial.Sheet{Phase: rules.Hazards, Entry: s.number, Course: "Orchard", Gates: "A B C", Seconds: watch(lost(s.orchard))}
	woodstack := trial.Sheet{Phase: rules.Hazards, Entry: s.number, Course: "Woodstack", Gates: "A B C", Seconds: watch(lost(s.woodstack))}
	cones := trial.Sheet{Phase: rules.Cones, Entry: s.number, Course: "Cones " + s.class, Seconds: watch(s.cones * (0.96 + 0.10*(1-s.skill) + 0.02*random.NormFloat64()))}
	for n := 1; n <= 12; n++ {
		obstacle := strconv.Itoa(n)
		if n == 5 {
			obstacle += string("abcd"[random.IntN(4)])
		}
		if random.Float64() < 0.16*(1.1-s.skill) {
			cones.Knocked = append(cones.Knocked, obstacle)
		}
	}
	switch s.number {
	case tooEarly:
		orchard.Gates = "A C B C"
		orchard.Seconds = watch(lost(s.orchard) + 9)
	case 7:
		woodstack.Faults = map[string]int{"dislodged": 1}
	case 11:
		orchard.Faults = map[string]int{"groom_down": 1}
	case asks:
		if !slices.Contains(cones.Knocked, "5c") {
			cones.Knocked = append(slices.DeleteFunc(cones.Knocked, func(k string) bool { return k[0] == '5' }), "5c")
		}
	}
	switch s.number {
	case scratched:
		return nil
	case brokeTrace:
		return []trial.Sheet{d, orchard}
	case misread:
		wrong := orchard
		wrong.ID = "misread"
		wrong.Seconds = "3" + orchard.Seconds[:1] + orchard.Seconds[2:]
		orchard.ID, orchard.Replaces = "read again", wrong.ID
		return []trial.Sheet{d, wrong, orchard, woodstack, cones}
	}
	return []trial.Sheet{d, orchard, woodstack, cones}
}

func abs(x float64) float64 {
	if x < 0 {
		return -x
	}
	return x
}

// watch is what a stopwatch shows: hundredths, cut off.
func watch(s float64) string {
	h := int(100 * s)
	return fmt.Sprintf("%d.%02d", h/100, h%100)
}

// Moment is the day as it stands in the afternoon, for keeping: its setting, and the
// marks as they came from the desk and from phones, today or, before that time of
// day, yesterday. The last two cones sheets are still out, most sheets were read by a
// second reader, the placings of class V are up and their clock is running, and one
// query is open.
func Moment(now time.Time) (*trial.Trial, []trial.Mark, error) {
	t, err := Trial()
	if err != nil {
		return nil, nil, err
	}
	setting, sheets := trial.Split(t, "", "", now)
	// What became of entries comes as marks.
	var marks []trial.Mark
	at := map[order.Start]order.Clock{}
	for _, s := range t.Timetable.Starts {
		at[order.Start{Phase: s.Phase, Entry: s.Entry}] = s.At
	}
	y, m, d := now.Date()
	midnight := time.Date(y, m, d, 0, 0, 0, 0, now.Location())
	if now.Before(midnight.Add(18 * time.Hour)) {
		midnight = midnight.AddDate(0, 0, -1)
	}
	clock := func(c order.Clock) int64 { return midnight.Add(time.Duration(c) * time.Second).UnixMilli() }
	for i := range setting.Entries {
		e := &setting.Entries[i]
		e.Turnout = strings.TrimSuffix(path.Base(e.Turnout), ".yaml") // its id in the store
		if e.Status == "" {
			continue
		}
		mark := trial.Mark{ID: fmt.Sprint("desk-status-", e.Number), At: clock(order.At(8, 5)), By: "Bea Sallow", Device: "desk", Status: &trial.Status{Entry: e.Number, Status: e.Status, InPhase: e.InPhase, Why: e.Why}}
		if e.InPhase != "" {
			mark.At = clock(at[order.Start{Phase: e.InPhase, Entry: e.Number}] + 6*60)
		}
		marks = append(marks, mark)
		e.Status, e.InPhase, e.Why = "", "", ""
	}
	for _, mark := range sheets {
		s := mark.Sheet
		mark.By, mark.Device = "Bea Sallow", "desk"
		began := at[order.Start{Phase: s.Phase, Entry: s.Entry}]
		mark.At = clock(began + 12*60)
		if s.Phase == rules.Hazards {
			mark.By, mark.Device = map[string]string{"Orchard": "Col Heath", "Woodstack": "Fay Lorimer"}[s.Course], "phone at the "+s.Course
			mark.At = clock(began + 4*60)
		}
		if mark.Replaces != "" {
			mark.By, mark.Device, mark.At, mark.Why = "Bea Sallow", "desk", mark.At+22*60_000, "the sheet says 2, not 3"
		}
		marks = append(marks, mark)
	}
	slices.SortStableFunc(marks, func(x, y trial.Mark) int { return int((x.At - y.At) / 1000) })
	marks = marks[:len(marks)-2] // still out
	var ticks []trial.Mark
	replaced := map[string]bool{}
	for _, mark := range marks {
		replaced[mark.Replaces] = true
	}
	for i, mark := range marks {
		if mark.Sheet != nil && i%7 != 3 && i < len(marks)-4 && !replaced[mark.ID] {
			ticks = append(ticks, trial.Mark{ID: "tick-" + mark.ID, At: mark.At + 5*60_000, By: "Ivor Dunn", Device: "desk", Tick: &trial.Tick{Sheet: mark.ID}})
		}
	}
	marks = append(marks, ticks...)
	slices.SortStableFunc(marks, func(x, y trial.Mark) int { return int((x.At - y.At) / 1000) })
	ago := func(minutes int64) int64 { return now.UnixMilli() - minutes*60_000 }
	marks = append(marks,
		trial.Mark{ID: "desk-posting-V", At: ago(10), By: "Bea Sallow", Device: "desk", Posting: &trial.Posting{Class: "V", State: trial.Provisional, Until: ago(-20), Counted: len(marks)}},
		trial.Mark{ID: "desk-query-1", At: ago(6), By: "Bea Sallow", Device: "desk", Query: &trial.Query{Entry: asks, Phase: rules.Cones, About: "Cones V", From: "Ines Coombe", Asks: "The ball at 5c lay in the grass when I came to it. Was it put back after Button?"}},
	)
	return setting, marks, nil
}

// Store is what keeps the demo's trial and the jobs beside it.
type Store interface {
	trial.Store
	SaveRota(ctx context.Context, base int, v rota.Saved) (rota.Saved, error)
}

// Keep puts the demo's trial and the people's jobs of its day into a store, where there
// is none of that id yet.
func Keep(ctx context.Context, s Store, now time.Time) error {
	if _, err := s.Setting(ctx, TrialID, 0); err == nil {
		return nil
	} else if code, _ := fault.CodeOf(err); code != fault.NotFound {
		return err
	}
	setting, marks, err := Moment(now)
	if err != nil {
		return err
	}
	if _, err := s.SaveSetting(ctx, TrialID, 0, trial.Setting{Trial: setting, Note: "invented, for trying out", By: "Bea Sallow", At: now}); err != nil {
		return err
	}
	receipts, err := s.Append(ctx, TrialID, marks, now)
	if err != nil {
		return err
	}
	if err := trial.Refused(receipts); err != nil {
		return err
	}
	jobs, err := rota.Decode("hollowmere-rota.yaml", examples.Rota)
	if err != nil {
		return err
	}
	_, err = s.SaveRota(ctx, 0, rota.Saved{Trial: TrialID, Name: jobs.Name, Note: "invented, for trying out", By: "Bea Sallow", At: now, Document: examples.Rota})
	return err
}
