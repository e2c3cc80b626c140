package ground

import (
	"fmt"
	"html/template"
	"maps"
	"math"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"terret/internal/fault"
	"terret/internal/geom"
	"terret/internal/plan"
	"terret/internal/sheet"
	"terret/internal/survey"
	"terret/internal/web/book"
)

// settingOutPage gives two people with a tape what they need to put one layout
// of a kept plan onto the ground: on a phone, in gloves.
type settingOutPage struct {
	book.Frame
	plan.Saved
	Newest  plan.Saved // without its plan
	Layouts []book.Choice
	Asked   stakesAsked
	Marks   map[string]string // what is wrong, by box of the form
	Faults  fault.List        // of no box
	List    *survey.StakeList // nil: nothing to show
	Groups  []stakeGroup
	Drawing template.HTML
	Corners []pegOffer // places that are easy to find, for other pegs
	Sheets  []sheetLink
	AsBuilt string // address of the form for what was taped
	Key     string // names this layout and version for the ticks
}

// Wrong is what is wrong with one box of the form; "" is nothing.
func (p settingOutPage) Wrong(box string) string { return p.Marks[box] }

// MainPegs are P and Q.
func (p settingOutPage) MainPegs() []survey.Peg { return p.List.Pegs[:min(2, len(p.List.Pegs))] }

// FurtherPegs are those for points that P and Q serve badly.
func (p settingOutPage) FurtherPegs() []survey.Peg { return p.List.Pegs[min(2, len(p.List.Pegs)):] }

// Old reports whether a newer version is kept.
func (p settingOutPage) Old() bool { return p.Version != p.Newest.Version }

// stakesAsked is what the page is asked for, as typed.
type stakesAsked struct {
	Layout string // "hazard:NAME", "course:NAME" or "arena"
	P, Q   string // x:y; both empty: pegs are proposed
	Tape   string // m
	Track  string // cm
}

func stakesAskedBy(q url.Values) stakesAsked {
	get := func(key string) string { return strings.TrimSpace(q.Get(key)) }
	return stakesAsked{Layout: get("layout"), P: get("p"), Q: get("q"), Tape: get("tape"), Track: get("track")}
}

// Address is where a page of this plan answers the same question.
func (a stakesAsked) Address(id string, version int, page string) string {
	q := url.Values{"version": {strconv.Itoa(version)}, "layout": {a.Layout}}
	for key, v := range map[string]string{"p": a.P, "q": a.Q, "tape": a.Tape, "track": a.Track} {
		if v != "" {
			q.Set(key, v)
		}
	}
	return "/ground/" + url.PathEscape(id) + "/" + page + "?" + q.Encode()
}

// layouts are what of a plan can be set out.
func layouts(p *plan.Plan) []book.Choice {
	var all []book.Choice
	for _, h := range p.Hazards {
		all = append(all, book.Choice{Value: "hazard:" + h.Name, Label: h.Name})
	}
	for _, c := range p.Courses {
		all = append(all, book.Choice{Value: "course:" + c.Name, Label: c.Name})
	}
	if p.Arena != nil {
		all = append(all, book.Choice{Value: "arena", Label: "Dressage arena " + strings.ReplaceAll(p.Arena.Size, "x", " × ")})
	}
	if len(all) == 0 {
		all = append(all, book.Choice{Value: "things", Label: "Posts and rails"})
	}
	return all
}

// target finds the layout that is meant; "" is the first there is.
func (a *stakesAsked) target(all []book.Choice) (survey.Target, error) {
	i := slices.IndexFunc(all, func(c book.Choice) bool { return c.Value == a.Layout })
	if i < 0 && a.Layout != "" {
		var have []string
		for _, c := range all {
			have = append(have, c.Label)
		}
		return survey.Target{}, &fault.Fault{Code: fault.NotFound, Rule: "target", Place: "layout", Message: fmt.Sprintf("this plan has no layout %q", a.Layout), Hint: "it has " + strings.Join(have, ", ")}
	}
	i = max(i, 0)
	all[i].On = true
	a.Layout = all[i].Value
	kind, name, _ := strings.Cut(a.Layout, ":")
	switch kind {
	case "hazard":
		return survey.Target{Hazard: name}, nil
	case "course":
		return survey.Target{Course: name}, nil
	}
	return survey.Target{Arena: kind == "arena"}, nil
}

// placeOf reads a place: two numbers parted by a colon, a semicolon or a space;
// a comma parts them where there is but one.
func placeOf(text string) (geom.Vec, bool) {
	parts := strings.FieldsFunc(text, func(r rune) bool { return r == ':' || r == ';' || r == ' ' })
	if len(parts) == 1 && strings.Count(text, ",") == 1 {
		parts = strings.Split(text, ",")
	}
	if len(parts) != 2 {
		return geom.Vec{}, false
	}
	x, okX := book.DecimalOf(parts[0])
	y, okY := book.DecimalOf(parts[1])
	return geom.Vec{X: x, Y: y}, okX && okY
}

// question reads what was typed. wrong names the boxes that cannot be read.
func (a *stakesAsked) question(p *plan.Plan, t survey.Target) (q survey.Question, wrong map[string]string) {
	q = survey.Question{Plan: p, Target: t}
	wrong = map[string]string{}
	number := func(box, text, hint string) float64 {
		if text == "" {
			return 0
		}
		v, ok := book.DecimalOf(text)
		if !ok || v <= 0 {
			wrong[box] = fmt.Sprintf("%q is no length; %s", text, hint)
			return 0
		}
		return v
	}
	q.Tape = number("tape", a.Tape, "metres, from 5 to 1000, such as 50")
	q.Target.Track = number("track", a.Track, "centimetres, from 30 to 300, such as 140") / 100
	if a.P == "" && a.Q == "" {
		return q, wrong
	}
	for _, peg := range []struct{ box, text string }{{"p", a.P}, {"q", a.Q}} {
		v, ok := placeOf(peg.text)
		switch {
		case peg.text == "":
			wrong[peg.box] = "this peg is missing; name both, or leave both empty to have a pair proposed"
		case !ok:
			wrong[peg.box] = fmt.Sprintf("%q is no place; metres east and north, such as 40:0", peg.text)
		}
		q.From = append(q.From, v)
	}
	return q, wrong
}

// marked puts a fault of the list to the box it came from; false when it came
// from none.
func marked(err error, wrong map[string]string) bool {
	list := book.FaultsOf(err)
	box := map[string]string{"from": "q", "tape": "tape", "track": "track"}
	for _, f := range list {
		b, ok := box[f.Place]
		if !ok {
			return false
		}
		wrong[b] = f.Message + "; " + f.Hint
	}
	return len(list) > 0
}

// pegOffer is a place that people find on the ground.
type pegOffer struct{ Value, Label string }

func pegOffers(p *plan.Plan) []pegOffer {
	at := func(v geom.Vec) string {
		return strconv.FormatFloat(v.X, 'f', -1, 64) + ":" + strconv.FormatFloat(v.Y, 'f', -1, 64)
	}
	var all []pegOffer
	for _, v := range p.Ground.Outline {
		if len(all) < 40 {
			all = append(all, pegOffer{at(v), "corner of the ground"})
		}
	}
	for _, t := range p.Things {
		if len(t.Path) == 0 && len(t.Outline) == 0 && len(all) < 80 {
			all = append(all, pegOffer{at(t.At), t.ID})
		}
	}
	return all
}

// settingOut is GET /ground/{id}/setting-out.
func (s *server) settingOut(w http.ResponseWriter, r *http.Request) error {
	saved, newest, err := s.planAsked(r)
	if err != nil {
		return err
	}
	v := settingOutPage{Frame: s.Frame("ground", "Setting out: "+saved.Name), Saved: saved, Newest: newest, Layouts: layouts(saved.Plan), Asked: stakesAskedBy(r.URL.Query()), Corners: pegOffers(saved.Plan)}
	target, err := v.Asked.target(v.Layouts)
	if err != nil {
		return err
	}
	status := http.StatusOK
	var q survey.Question
	if q, v.Marks = v.Asked.question(saved.Plan, target); len(v.Marks) > 0 {
		return s.Render(w, http.StatusUnprocessableEntity, "setting_out", v)
	}
	v.List, err = survey.Stakes(q)
	switch {
	case err == nil:
		v.Groups = stakeGroups(v.List)
		v.Drawing = stakesDrawing{plan: saved.Plan, list: v.List}.SVG()
		v.Sheets = s.stakeSheets(saved, target, r.URL.Query())
		v.AsBuilt = v.Asked.Address(saved.ID, saved.Version, "as-built")
		v.Key = strings.Join([]string{"terret set", saved.ID, saved.Letter(), v.Asked.Layout}, " · ")
	case marked(err, v.Marks):
		status = http.StatusUnprocessableEntity
	case book.FaultsOf(err) != nil:
		v.Faults = book.FaultsOf(err)
		if v.Faults[0].Rule != "nothing-to-set" { // an empty ground is no mistake
			status = book.StatusOf(err)
		}
	default:
		return err
	}
	return s.Render(w, status, "setting_out", v)
}

// planAsked is the kept version a page is asked for, and the newest one.
func (s *server) planAsked(r *http.Request) (saved, newest plan.Saved, err error) {
	version, err := versionIn(r)
	if err != nil {
		return saved, newest, err
	}
	if saved, err = s.store.Plan(r.Context(), r.PathValue("id"), version); err != nil {
		return saved, newest, err
	}
	all, err := s.store.PlanVersions(r.Context(), saved.ID)
	if err != nil {
		return saved, newest, err
	}
	return saved, all[0], nil
}

// stakeSheets are the papers for builders that this edition draws of a layout,
// the list of stakes from the same pegs first.
func (s *server) stakeSheets(v plan.Saved, t survey.Target, q url.Values) []sheetLink {
	o := sheetsOf{Saved: v, Of: sheet.OfPlan}
	switch {
	case t.Hazard != "":
		o.Of, o.Name = sheet.OfHazard, t.Hazard
	case t.Course != "":
		o.Of, o.Name = sheet.OfCourse, t.Course
	case t.Arena:
		o.Of = sheet.OfArena
	}
	for _, key := range []string{"p", "q", "tape", "track"} {
		o = o.with(key, strings.TrimSpace(q.Get(key)))
	}
	var first, rest []sheetLink
	for _, l := range s.sheetLinks(o) {
		switch {
		case l.Stakes:
			first = append(first, l)
		case l.Name == sheet.Builders || l.Name == sheet.ConesBuilders || l.Name == sheet.Materials:
			rest = append(rest, l)
		}
	}
	return append(first, rest...)
}

// stakeGroup are points that are set from the same two pegs.
type stakeGroup struct {
	From   [2]string // names of the pegs; both "" for points that pegs stand on
	Stakes []stakeView
}

// stakeView is a stake in the words of the page.
type stakeView struct {
	survey.Stake
	Sign  string     // "right", "left", or "" where the point is no side of a gate
	Sets  []pegTape  // the two tapes that set it
	Warn  []string   // sentences
	Other [2]float64 // from P and Q, where it is set from others
}

// pegTape is a tape from a peg.
type pegTape struct {
	Peg string
	M   float64
}

// Behind reports whether the foot of the offset lies behind P.
func (v stakeView) Behind() bool { return v.Along < -0.005 }

// Ahead is how far along the baseline the foot of the offset lies, either way.
func (v stakeView) Ahead() float64 { return math.Abs(v.Along) }

// signOf is the side of a gate that a point's id names.
func signOf(id string) string {
	for _, side := range []string{"right", "left"} {
		if strings.HasSuffix(id, "."+side) {
			return side
		}
	}
	return ""
}

// stakeGroups puts the list into its groups, in working order.
func stakeGroups(l *survey.StakeList) []stakeGroup {
	var out []stakeGroup
	for _, st := range l.Stakes {
		v := stakeView{Stake: st, Sign: signOf(st.ID)}
		var from [2]string
		at := geom.Vec{X: st.X, Y: st.Y}
		if !slices.ContainsFunc(l.Pegs, func(p survey.Peg) bool { return p.At.Dist(at) < 0.01 }) {
			tapes := st.Tapes
			if st.Instead != nil {
				tapes = st.Instead.Tapes
				v.Other = [2]float64{st.Tapes["P"], st.Tapes["Q"]}
			}
			for i, peg := range slices.Sorted(maps.Keys(tapes)) {
				v.Sets = append(v.Sets, pegTape{peg, tapes[peg]})
				from[min(i, 1)] = peg
			}
			v.Warn = stakeWarnings(&st, l.Tape)
		}
		if n := len(out); n == 0 || out[n-1].From != from {
			out = append(out, stakeGroup{From: from})
		}
		g := &out[len(out)-1]
		g.Stakes = append(g.Stakes, v)
	}
	return out
}

// flatDeg and noFixDeg are where survey calls a fix weak, and none.
const (
	flatDeg  = 30
	noFixDeg = 20
)

// stakeWarnings says in words what is weak about a point.
func stakeWarnings(s *survey.Stake, tape float64) []string {
	var out []string
	fix := s.Fix()
	// A tape that is wrong by one centimetre moves the point along the other arc
	// by 1/sin of the crossing.
	moves := 1 / math.Max(math.Sin(fix*math.Pi/180), 0.01)
	switch {
	case fix < noFixDeg:
		out = append(out, fmt.Sprintf("No fix: the two arcs cross at %.0f° and lie along each other. Set it by baseline and offset, or choose other pegs.", fix))
	case fix < flatDeg:
		out = append(out, fmt.Sprintf("Flat arcs: they cross at %.0f°, so one centimetre on a tape moves the point by %.1f. Pull both tapes hard, and check it by baseline and offset.", fix, moves))
	}
	if s.Beyond && s.Instead == nil {
		out = append(out, fmt.Sprintf("Longer than the %.0f m tape: put a peg in line on the way, or choose other pegs.", tape))
	}
	return out
}
