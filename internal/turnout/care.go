package turnout

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"
)

// Service is how often something wants care.
type Service struct {
	Item   string
	Words  []string // an entry of the file with one of these is this item
	Months float64  // 0: not by the calendar
	Wet    float64  // months, where wheels have been under water since; 0 no difference
	Source string
	Sure   string
}

// Services are the intervals where the file names none.
func Services() []Service {
	return []Service{
		{"hub bearings", []string{"hub", "bearing"}, 36, 12, "repack every 3 years, 2 with heavy use, each year when wheels go under water (a US association's list); many do it yearly (common practice)", ReadThere},
		{"leather washers", []string{"washer"}, 12, 6, "replace when play remains with the nut tight (maintenance lists); the months are an estimate", EstimateOnly},
		{"fifth wheel", []string{"fifth wheel", "turntable"}, 72, 0, "strip every 6 to 7 years, new lock nuts (maintenance lists)", ReadThere},
		{"tyres and pressure", []string{"tyre", "tire"}, 1, 0, "monthly (maintenance lists)", ReadThere},
		{"brake fluid and pads", []string{"brake"}, 1, 1, "look monthly; milky or coffee colour is water (maintenance lists)", ReadThere},
		{"harness stitching", []string{"harness", "stitch"}, 1, 0, "stitching and rein billets each time; take synthetic apart too (club lists); the month is an estimate", EstimateOnly},
		{"farrier", []string{"farrier", "shoe", "shoeing", "hoof"}, 1.5, 0, "6 weeks is common practice; the farrier says", CommonPractice},
		{"vaccination", []string{"vaccin"}, 12, 0, "yearly is common practice, two weeks or more before an event; the vet and the rules say", CommonPractice},
		{"teeth", []string{"teeth", "dent"}, 12, 0, "yearly from seven, twice a year over ten (conditioning articles)", ReadThere},
	}
}

// ServiceDue is one thing with the day it wants care.
type ServiceDue struct {
	Item   string     `json:"item"`
	On     *time.Time `json:"on"` // null where no date follows
	Late   bool       `json:"late"`
	Why    string     `json:"why"`
	Source string     `json:"source"`
}

// Due is what the turnout's care section asks for on a day: late things first,
// then by date. An item is due by the first of months, kilometres and water work
// that comes. An entry without an interval takes the list's; one without a date
// is told as such.
func Due(t *Turnout, today time.Time) []ServiceDue {
	f, err := factsOf(t)
	if err != nil {
		return nil
	}
	var out []ServiceDue
	for i := range f.count("care") {
		out = append(out, f.due(fmt.Sprintf("care[%d]", i), today))
	}
	slices.SortStableFunc(out, func(a, b ServiceDue) int {
		switch {
		case a.Late != b.Late:
			if a.Late {
				return -1
			}
			return 1
		case a.On == nil || b.On == nil:
			return 0
		}
		return a.On.Compare(*b.On)
	})
	return out
}

func (f *facts) due(key string, today time.Time) ServiceDue {
	item := f.text[key+".item"]
	d := ServiceDue{Item: item, Source: "the turnout's file"}
	months, own := f.number[key+".every_months"]
	wet := f.flag[key+".wet_since"]
	for _, s := range Services() {
		if slices.ContainsFunc(s.Words, func(w string) bool { return strings.Contains(strings.ToLower(item), w) }) {
			if wet && s.Wet > 0 && (!own || s.Wet < months) {
				months, d.Source = s.Wet, s.Source
			} else if !own {
				months, d.Source = s.Months, s.Source
			}
			break
		}
	}
	var why []string
	done := f.text[key+".done"]
	if n, ok := f.number[key+".done"]; ok && n == math.Trunc(n) {
		done = fmt.Sprintf("%.0f", n)
	}
	at, ok := day(done)
	switch {
	case !ok:
		d.Late = true
		why = append(why, "no day is noted when it was done")
	case months > 0:
		on := at.AddDate(0, int(months), int(math.Round((months-math.Trunc(months))*30)))
		d.On = &on
		d.Late = !on.After(today)
		how := ""
		if wet {
			how = ", wheels under water since"
		}
		why = append(why, fmt.Sprintf("done %s, every %s%s: due %s", done, monthsText(months), how, on.Format(time.DateOnly)))
	default:
		why = append(why, "done "+done+", no interval is known")
	}
	if every, ok := f.number[key+".every_km"]; ok {
		if since, ok := f.number[key+".km_since"]; ok {
			d.Late = d.Late || since >= every
			why = append(why, fmt.Sprintf("%s of %s km driven since", num(since), num(every)))
		} else {
			why = append(why, fmt.Sprintf("every %s km, and no kilometres are noted (km_since)", num(every)))
		}
	}
	d.Why = strings.Join(why, "; ")
	return d
}

func monthsText(months float64) string {
	if months == 1 {
		return "month"
	}
	return num(months) + " months"
}

// CareCautions are what is said beside any work on a vehicle.
func CareCautions() []string {
	return []string{
		"The horse is elsewhere before anybody works on the vehicle.",
		"Chock the wheels; lift on a stand, never work under a jack alone.",
		"Note which washers come from front and back, and which hub has the left-hand thread, before anything is taken off.",
		"A flat or reversed dish or a loose spoke goes to a wheelwright before use; wheels are not soaked to tighten them.",
		"What the maker, the wheelwright, the farrier and the vet say goes before any list.",
	}
}
