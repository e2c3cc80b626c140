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
	"terret/internal/trial"
	"terret/internal/web/book"
)

// classScores is one class as it hangs on the board, is printed and is posted.
type classScores struct {
	trial.Class
	Phases  []string
	Rows    []scoreRow
	Stand   trial.Stand
	Says    string // provisional or final, with the clock
	Printed string // the same for paper, on which no clock runs
	Missing string // "missing: hazards H1 of 7, 12"
	Unread  int
	Tallies []string
	Signed  string // by whom and when it was posted
	Counted string // penalties, seconds, percent
	Sum     bool   // a marathon column
}

// scoreRow is one line of a results list.
type scoreRow struct {
	trial.EntryScore
	PlaceText string
	Horse     string
	Cells     []scoreCell
	Marathon  string
	TotalText string
	Code      string // E, R, W …; "" placed
	Note      string // why, tie
}

type scoreCell struct {
	Phase, Score, After string
}

// minutesText says minutes in words.
func minutesText(d time.Duration) string {
	m := int((d + time.Minute - 1) / time.Minute)
	switch {
	case m == 1:
		return "1 minute"
	case m >= 100:
		return fmt.Sprintf("%d h %02d min", m/60, m%60)
	}
	return fmt.Sprintf("%d minutes", m)
}

// codes are the letters of results lists for those without a place.
var codes = map[string]string{trial.Eliminated: "E", trial.Retired: "R", trial.Withdrawn: "W", trial.Disqualified: "D", trial.HorsConcours: "HC"}

// classesScored lists the classes as they stand at a time.
func (t *openTrial) classesScored(now time.Time) []classScores {
	a := t.answer()
	if a == nil {
		return nil
	}
	var all []classScores
	day := t.now()
	for i := range t.setting.Trial.Classes {
		c := classScores{Class: t.setting.Trial.Classes[i]}
		c.Phases = c.Class.Phases
		c.Sum = c.Has("sections") && c.Has("hazards")
		c.Stand = t.ledger.Stands(t.setting.Trial, c.ID, now.UnixMilli())
		c.Says, c.Printed = standSays(c.Stand, now), standSays(c.Stand, time.Time{})
		if m := c.Stand.Mark; m != nil {
			c.Signed = fmt.Sprintf("%s, %s", m.By, clockTime(m.At))
		}
		for _, e := range a.Entries {
			if e.Class == c.ID {
				c.Rows = append(c.Rows, rowOf(e, c.Phases, c.Sum))
				if len(c.Phases) > 0 {
					c.Counted = e.Phases[c.Phases[0]].CountedIn
				}
			}
		}
		byPaper := map[string][]int{}
		var order []string
		for _, n := range a.Missing {
			if n.Class != c.ID {
				continue
			}
			k := n.String()
			if byPaper[k] == nil {
				order = append(order, k)
			}
			byPaper[k] = append(byPaper[k], n.Entry)
		}
		var missing []string
		for _, k := range order {
			missing = append(missing, k+" of "+numbers(byPaper[k]))
		}
		c.Missing = strings.Join(missing, "; ")
		for _, x := range a.Sheets {
			if x.Class == c.ID {
				c.Tallies = append(c.Tallies, fmt.Sprintf("%s %d of %d", x.Phase, x.In, x.Of))
			}
		}
		for k := range day.Sheets {
			if x := &day.Sheets[k]; t.classOf(x.Entry) == c.ID && len(t.ledger.Ticks(x.ID)) == 0 {
				c.Unread++
			}
		}
		all = append(all, c)
	}
	return all
}

func rowOf(e trial.EntryScore, phases []string, sum bool) scoreRow {
	r := scoreRow{EntryScore: e, Horse: strings.Join(e.Horses, ", "), Note: e.Why, TotalText: "–"}
	switch {
	case e.Place != nil:
		r.PlaceText = strconv.Itoa(*e.Place)
	case codes[e.Status] != "":
		r.Code = codes[e.Status]
		r.PlaceText = r.Code
	default:
		r.PlaceText = "…"
	}
	if e.Total != nil {
		r.TotalText = *e.Total
	}
	if e.Tie != nil {
		if r.Note != "" {
			r.Note += "; "
		}
		r.Note += *e.Tie
	}
	if sum {
		if p := e.Sums["marathon"].Penalties; p != nil {
			r.Marathon = *p
		}
	}
	for _, phase := range phases {
		c := scoreCell{Phase: phase, Score: "…"}
		ps := e.Phases[phase]
		switch {
		case ps.Penalties != nil:
			c.Score = *ps.Penalties
		case ps.Eliminated != "":
			c.Score = "E"
		case e.Place == nil && e.Status != trial.Placed:
			c.Score = "–"
		}
		if n, ok := e.Running[phase]; ok {
			c.After = strconv.Itoa(n)
		}
		r.Cells = append(r.Cells, c)
	}
	return r
}

// standSays is how the placings stand, in words for the board; without a time
// nothing is counted down.
func standSays(s trial.Stand, now time.Time) string {
	switch s.State {
	case trial.Final:
		return fmt.Sprintf("Final, signed %s by %s", clockTime(s.Mark.At), s.Mark.By)
	case trial.Provisional:
		if now.IsZero() {
			return "Provisional; queries until " + clockTime(s.Until)
		}
		if s.Over {
			return fmt.Sprintf("Provisional; the time for queries ended at %s", clockTime(s.Until))
		}
		return fmt.Sprintf("Provisional; queries until %s, %s left", clockTime(s.Until), minutesText(time.UnixMilli(s.Until).Sub(now)))
	}
	return "Not posted yet: as the sheets come in"
}

// placingsPage is where placings are put up.
type placingsPage struct {
	trialHead
	Classes []classScores
	WrongBy string
	Wrong   map[string]string // by class
	Minutes string
	Mark    string
	Remarks []string
	Memory  []string // keys of values nobody looked up
	Done    string
}

func (s *server) placingsPage(r *http.Request, t *openTrial) *placingsPage {
	v := &placingsPage{trialHead: s.trialHead(r, t, "placings", "Placings"), Classes: t.classesScored(s.Now()), Wrong: map[string]string{}, Minutes: "30", Mark: newMark()}
	if a := t.answer(); a != nil {
		v.Remarks, v.Memory = a.Remarks, a.FromMemory
	}
	return v
}

// scorePlacings is GET /scores/{id}/placings.
func (s *server) scorePlacings(w http.ResponseWriter, r *http.Request, t *openTrial) error {
	v := s.placingsPage(r, t)
	v.Done = r.URL.Query().Get("done")
	return s.Render(w, http.StatusOK, "scores_placings", v)
}

// scorePost is POST /scores/{id}/placings: puts placings up, provisional with a
// clock for queries, or final. Final ones want every sheet in, no query open, and
// that the time for queries is over.
func (s *server) scorePost(w http.ResponseWriter, r *http.Request, t *openTrial) error {
	f, err := form(w, r)
	if err != nil {
		return err
	}
	v := s.placingsPage(r, t)
	class, by := f.Get("class"), f.Get("by")
	i := slices.IndexFunc(v.Classes, func(c classScores) bool { return c.ID == class })
	if i < 0 {
		return &fault.Fault{Code: fault.NotFound, Rule: "class", Place: "class " + class, Message: "there is no such class in this trial, or it cannot be scored", Hint: "choose one from the list"}
	}
	c := v.Classes[i]
	p := &trial.Posting{Class: class, State: f.Get("state"), Counted: t.ledger.Len()}
	now := s.Now()
	switch p.State {
	case trial.Provisional:
		v.Minutes = f.Get("minutes")
		m, ok := book.NumberText(v.Minutes)
		if !ok || m > 24*60 {
			v.Wrong[class] = "the time for queries is whole minutes, such as 30"
		}
		p.Until = now.Add(time.Duration(m) * time.Minute).UnixMilli()
		if c.Stand.State == trial.Final && !c.Stand.Stale {
			v.Wrong[class] = "these placings are final and nothing has changed since"
		}
	case trial.Final:
		switch {
		case c.Missing != "":
			v.Wrong[class] = "sheets are missing: " + c.Missing
		case t.disputed(class):
			v.Wrong[class] = "two sheets were handed in for one run; take back the one that is wrong"
		case len(c.Stand.Open) > 0:
			v.Wrong[class] = "a query is open; answer it first"
		case c.Stand.State != trial.Provisional:
			v.Wrong[class] = "post them as provisional first, so that there is a time for queries"
		case c.Stand.Stale:
			v.Wrong[class] = "sheets came after they were posted; post them again as provisional"
		case !c.Stand.Over:
			v.Wrong[class] = "queries are heard until " + clockTime(c.Stand.Until)
		}
	default:
		return &fault.Fault{Code: fault.Usage, Rule: "state", Message: fmt.Sprintf("placings cannot be %q", p.State), Hint: "provisional or final"}
	}
	if why := nameless(by); why != "" {
		v.Wrong[class], v.By = why, ""
	}
	m := s.mark(f.Get("mark"), by)
	if t.ledger.Mark(m.ID) == nil {
		if len(v.Wrong) > 0 {
			return s.Render(w, http.StatusUnprocessableEntity, "scores_placings", v)
		}
		m.Posting = p
		if err := t.keep(r.Context(), now, m); err != nil {
			return err
		}
		rememberWriter(w, by)
	}
	return seeOther(w, r, t, "placings", url.Values{"done": {class}})
}
