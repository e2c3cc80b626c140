package sheet

import (
	"fmt"
	"strings"

	"terret/internal/plan"
	"terret/internal/rules"
	"terret/internal/trial"
)

// lettersRow is how many passes stand in a row of boxes; a long drive has two rows.
const lettersRow = 12

// hazardSheet is the observer's sheet of one run: the letters as driven first, for
// that is what cannot be asked again.
func hazardSheet(in *DayInput) ([]Scene, error) {
	var pages []Scene
	var last error
	for _, c := range in.coursesOf(rules.Hazards) {
		if in.Course != "" && c.ID != in.Course {
			continue
		}
		p, err := in.runs(HazardSheet, rules.Hazards, func(e *trial.Entry) []Scene { return in.hazardRun(c, e) }, func(e *trial.Entry) bool {
			return in.sheetOf(rules.Hazards, e.Number, c.ID) != nil
		})
		if err != nil {
			last = err
		}
		pages = append(pages, p...)
	}
	if len(pages) == 0 {
		if last == nil {
			last = in.noHazard(HazardSheet)
		}
		return nil, last
	}
	return pages, nil
}

func (in *DayInput) noHazard(kind string) error {
	return in.none(kind, "the trial has no hazard", "add one: under Classes and courses, or in the file as courses: [{id: H1, phase: hazards}]")
}

func (in *DayInput) hazardRun(c *trial.Course, e *trial.Entry) []Scene {
	of := courseName(c)
	if e != nil {
		of += ", class " + e.Class
	}
	s, r := in.heading("Hazard observer's sheet", of).page(in.Paper, false)
	f := &form{in: in, s: &s, r: r}
	var sh *trial.Sheet
	if e != nil {
		sh = in.sheetOf(rules.Hazards, e.Number, c.ID)
	}
	f.who(e, nil)
	gatesLine := "Gates to drive: ________________________________"
	if e != nil {
		gatesLine = "Gates to drive: In, " + strings.Join(in.classOf(e).Letters(in.Rules), ", ") + ", Out"
		if len(in.classOf(e).Letters(in.Rules)) == 0 {
			gatesLine = "Gates to drive: In, all of them, Out"
		}
	}
	f.words(14, true, gatesLine)
	f.words(body, false, "Letters as driven, every pass, wrong ones too. “<” behind a letter: driven backwards.")
	var passed []string
	if sh != nil {
		passed = strings.Fields(sh.Gates)
	}
	const most = 6 * lettersRow // more than anybody drives; the working has all of it
	if len(passed) > most {
		passed = append(passed[:most-1:most-1], "…")
	}
	rows := max(2, (len(passed)+lettersRow-1)/lettersRow)
	w := f.r.W / lettersRow
	for i := range rows * lettersRow {
		b := Rect{f.r.X + float64(i%lettersRow)*w, f.r.Y + float64(i/lettersRow)*12.5, w, 12.5}
		f.s.add(box(b, pen))
		if i < len(passed) {
			f.s.add(Text{At: Pt{b.X + w/2, b.Y + b.H/2 + capHeight(22)/2}, Size: 22, Bold: true, Anchor: Middle, Ink: Black, Words: fit(passed[i], 22, true, w-1)})
		}
	}
	f.gap(12.5*float64(rows) + 1.5)
	f.watches(sh)
	f.cells(11.5, []string{"held from", "held for", "pieces up", "pieces down", "welfare"}, nil)
	f.gap(1.5)
	all := faultLines(in.Rules, rules.Hazards)
	f.faults(all, sh)
	ps := trial.PhaseScore{}
	if e != nil {
		ps = in.phaseScore(e.Number, rules.Hazards)
	}
	room := f.r.H - signedTall - 1
	if sh != nil {
		f.working(courseLines(ps.Lines, in, c), min(room-8, 60))
	} else {
		f.area("Remarks: odd things, what was heard or not seen", room-lineStep(body)-4)
	}
	f.r.Y, f.r.H = r.Y+r.H-signedTall, signedTall
	total := ""
	if ps.Penalties != nil && sh != nil {
		total = *ps.Penalties
	}
	scorer, values := []string{"time points", "other", "total"}, []string(nil)
	if sh != nil {
		scorer, values = []string{"penalties of all hazards"}, []string{total}
	}
	f.signed([]string{"observer", "timers"}, scorer, values)
	if hz, ground := in.planHazard(c); hz != nil && sh == nil {
		return []Scene{s, in.lineDriven(of, hz, ground, e)}
	}
	return []Scene{s}
}

// courseLines are the lines of a phase that are of one course or of all.
func courseLines(lines []string, in *DayInput, c *trial.Course) []string {
	var all []string
	for _, l := range lines {
		other := false
		for _, o := range in.coursesOf(c.Phase) {
			if o.ID != c.ID && (strings.HasPrefix(l, o.ID+": ") || o.Name != "" && strings.HasPrefix(l, o.Name+": ")) {
				other = true
			}
		}
		if !other {
			all = append(all, l)
		}
	}
	return all
}

// planHazard is the hazard of the grounds that a course is: the only one of the same
// name.
func (in *DayInput) planHazard(c *trial.Course) (hz *plan.Hazard, ground *plan.Plan) {
	for _, p := range in.Plans {
		for i := range p.Hazards {
			if n := p.Hazards[i].Name; n == c.ID || n == c.Name {
				if hz != nil {
					return nil, nil // which of them nobody says
				}
				hz, ground = &p.Hazards[i], p
			}
		}
	}
	return hz, ground
}

// lineDriven is the back of an observer's sheet: the hazard, as large as it goes, to
// draw the driven line on.
func (in *DayInput) lineDriven(of string, hz *plan.Hazard, ground *plan.Plan, e *trial.Entry) Scene {
	sub := &Input{Plan: ground, Hazard: hz, Rules: in.Rules, Paper: in.Paper, PrintedAt: in.PrintedAt}
	who := "No. ______"
	if e != nil {
		who = fmt.Sprintf("No. %d  %s", e.Number, e.Driver)
		if l := in.classOf(e).Letters(in.Rules); len(l) > 0 {
			sub.Through = l[len(l)-1]
		}
		sub.Class = e.Class
	}
	const says = "Draw the line as driven, arrows on it; a cross where a piece fell, a circle where it stood still."
	set := sub.set(sub.near(nil), func(w float64, _ bool) float64 { return lineStep(17) + tall(says, body, false, w) + 3 })
	s, _ := in.heading("Line as driven", of).page(in.Paper, set.wide)
	sub.draw(&s, set, false, false, nil, nil)
	r := s.paragraph(set.words, 17, true, who)
	s.paragraph(Rect{r.X, r.Y + 1, r.W, r.H - 1}, body, false, says)
	return s
}
