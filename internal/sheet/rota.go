package sheet

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"terret/internal/fault"
	"terret/internal/rota"
)

// The papers of people's jobs, by the word that is typed for each.
const (
	RotaList      = "rota"
	JobCard       = "job-card"
	EmergencyCard = "emergency-card"
	Briefing      = "briefing"
	ClinicSlots   = "clinic-slots"
)

// RotaKind is a paper of people's jobs.
type RotaKind struct {
	Name, Title string
	Says        string // what is on it, for a list of papers
	draw        func(*RotaInput) ([]Scene, error)
}

// RotaKinds lists the papers of people's jobs.
func RotaKinds() []RotaKind {
	return []RotaKind{
		{RotaList, "Jobs of the day", "what is uncovered first, then who holds which job when, and everybody's own day", rotaList},
		{JobCard, "Job card", "where to stand and not, what to watch and write with an example; one side for each job", jobCards},
		{EmergencyCard, "Emergency card", "where the ambulance comes in, who meets it, whom to call; lines for what is not known", emergencyCard},
		{Briefing, "Briefing", "what is said to all before the start, and who has heard it", briefing},
		{ClinicSlots, "Clinic slots", "who comes when, and what is tightened between", clinicSlots},
	}
}

// RotaKindNamed finds a paper of people's jobs by the word that is typed for it.
func RotaKindNamed(name string) (RotaKind, bool) {
	for _, k := range RotaKinds() {
		if k.Name == name {
			return k, true
		}
	}
	return RotaKind{}, false
}

// RotaInput is what a paper of people's jobs is drawn from.
type RotaInput struct {
	Rota  *rota.Rota
	Job   string // id of one job for its card; "" all
	Blank bool   // no names in it, and of a card no facts: to be written on

	Event     string // "" is the rota's name
	Date      string // "" is the rota's, else the day of printing
	Version   string // "" leaves a line to write on
	PrintedAt time.Time
	Paper     Paper // the zero value is A4
}

// Rota draws a paper of people's jobs, page by page. A kind it does not know and a
// job that is not there are faults.
func Rota(kind string, in RotaInput) ([]Scene, error) {
	k, ok := RotaKindNamed(kind)
	if !ok {
		var names []string
		for _, k := range RotaKinds() {
			names = append(names, k.Name)
		}
		return nil, unknown(kind, names)
	}
	if in.Rota == nil {
		return nil, &fault.Fault{Code: fault.Input, Rule: "sheet-rota", Place: kind, Message: "there are no jobs to draw from", Hint: "name a rota"}
	}
	if in.Paper == (Paper{}) {
		in.Paper = A4
	}
	if in.Job != "" {
		if _, err := in.Rota.JobNamed(in.Job); err != nil {
			return nil, err
		}
	}
	return finished(k.draw(&in))
}

// headings gives the heading of the paper's pages.
func (in *RotaInput) heading(title, of string) heading {
	h := heading{Title: title, Of: of, Event: cmp.Or(in.Event, in.Rota.Name), Date: cmp.Or(in.Date, in.Rota.Date), Version: in.Version, Printed: in.PrintedAt}
	return h
}

func (in *RotaInput) flow(title, of string, wide bool) *flow {
	return &flow{head: func(of string) heading { return in.heading(title, of) }, of: of, paper: in.Paper, wide: wide}
}

func span(from, to rota.Time) string { return from.String() + "–" + to.String() }

// rotaList begins with what is empty: that is what somebody has to act on.
func rotaList(in *RotaInput) ([]Scene, error) {
	f := in.flow("Jobs of the day", "", false)
	if !in.Blank {
		open := in.Rota.Uncovered()
		if len(open) == 0 {
			f.words(14, true, "Every job is covered.")
		} else {
			cols := []column{{head: "time", width: 32}, {head: "job"}, {head: "missing", width: 22, right: true}, {head: "stops", width: 46}, {head: "found", width: 40}}
			var rows [][]string
			for _, o := range open {
				rows = append(rows, []string{span(o.From, o.To), jobTitle(o.Name, o.Place), fmt.Sprint(o.Missing), o.Stops, ""})
			}
			f.table("Uncovered: what stops the day first", cols, rows, 11)
		}
		for _, t := range in.Rota.Trouble() {
			f.words(13, true, "To be settled: "+t.Says+".")
		}
	}
	type line struct {
		rota.Shift
		job *rota.Job
	}
	var all []line
	for i := range in.Rota.Jobs {
		for _, s := range in.Rota.Jobs[i].Shifts {
			all = append(all, line{s, &in.Rota.Jobs[i]})
		}
	}
	slices.SortStableFunc(all, func(a, b line) int { return cmp.Compare(a.From, b.From) })
	cols := []column{{head: "time", width: 32}, {head: "job", width: 72}, {head: "who"}, {head: "there", width: 16}}
	var rows [][]string
	for _, l := range all {
		who := strings.Join(l.Held, ", ")
		if in.Blank {
			who = ""
		} else if n := l.job.Need - len(l.Held); n > 0 && who != "" {
			who += fmt.Sprintf(" + %d", n)
		}
		name := jobTitle(l.job.Name, l.job.Place)
		if l.job.Need > 1 {
			name += fmt.Sprintf(" (%d)", l.job.Need)
		}
		rows = append(rows, []string{span(l.From, l.To), name, who, tick})
	}
	f.table("Job by job", cols, rows, 9.5)
	if in.Blank {
		return f.pages, nil
	}
	f.turn()
	rows = nil
	for _, h := range in.Rota.Hours() {
		if len(h.Turns) == 0 {
			rows = append(rows, []string{h.Person, "", "free: ask"})
		}
		for k, t := range h.Turns {
			name := h.Person
			if k > 0 {
				name = ""
			}
			rows = append(rows, []string{name, span(t.From, t.To), jobTitle(t.Name, t.Place)})
		}
	}
	f.table("Person by person", []column{{head: "who", width: 60}, {head: "time", width: 36}, {head: "job"}}, rows, 8.5)
	return f.pages, nil
}

// jobTitle is a job with its place.
func jobTitle(name, place string) string {
	if place == "" || strings.Contains(strings.ToLower(name), strings.ToLower(place)) {
		return name
	}
	return name + ", " + place
}

// jobCards are one side for each job: what makes a novice useful in five minutes.
func jobCards(in *RotaInput) ([]Scene, error) {
	var pages []Scene
	for i := range in.Rota.Jobs {
		j := &in.Rota.Jobs[i]
		if in.Job != "" && j.ID != in.Job {
			continue
		}
		pages = append(pages, in.jobCard(j)...)
	}
	if len(pages) == 0 {
		return nil, &fault.Fault{Code: fault.NotFound, Rule: "sheet-empty", Place: JobCard, Message: "the rota has no job", Hint: "write jobs: [{id: gate, from: …, to: …}]"}
	}
	return pages, nil
}

// What stands on every job card (common practice).
const (
	radioWords  = "Radio, three words only. HOLD: stop the next one. HELP: somebody come. CLEAR: go on."
	cardCaution = "A loose horse: stand still, shut the gates, say so. Never run at a horse. Ask before you help. The organiser's own plan goes before this card."
)

// jobCard is one side where it fits, in letters as large as fit; else as many as it
// needs.
func (in *RotaInput) jobCard(j *rota.Job) []Scene {
	for _, size := range []float64{19, 18, 17, 16, 15, 14, 13, body} {
		if s, ok := in.tryJobCard(j, size); ok {
			return []Scene{s}
		}
	}
	f := in.flow("Job card", jobTitle(j.Name, j.Place), false)
	f.words(13, true, radioWords)
	f.words(body, true, cardCaution)
	for _, sh := range j.Shifts {
		who := "______________________"
		if len(sh.Held) > 0 && !in.Blank {
			who = strings.Join(sh.Held, ", ")
		}
		f.words(13, true, span(sh.From, sh.To)+"   "+who)
	}
	card := rota.CardOf(j)
	for _, k := range rota.CardKeys() {
		if words := card[k[0]]; words != "" {
			f.words(body, true, k[1])
			f.words(body, false, words)
		}
	}
	f.words(body, false, "Organiser: "+in.Rota.Phone+"   "+in.Rota.Food)
	return f.pages
}

// tryJobCard draws a card in one size of letters; ok is whether it found room.
func (in *RotaInput) tryJobCard(j *rota.Job, size float64) (Scene, bool) {
	s, r := in.heading("Job card", jobTitle(j.Name, j.Place)).page(in.Paper, false)
	r.Y += 1
	for _, sh := range j.Shifts {
		who := strings.Join(sh.Held, ", ")
		if in.Blank || who == "" {
			who = "______________________"
		}
		if r.H < 100 {
			return s, false
		}
		r = s.paragraph(r, size+1, true, span(sh.From, sh.To)+"   "+who)
	}
	if j.Need > 1 {
		r = s.paragraph(r, size, false, fmt.Sprintf("%d of you; agree who does which.", j.Need))
	}
	r.Y, r.H = r.Y+2, r.H-2
	card := rota.CardOf(j)
	foot := 4 + tall(radioWords, 13, true, r.W-4) + tall(cardCaution, body, false, r.W-4) + 4 + 3*6.2 + 2
	for _, k := range rota.CardKeys() {
		words := card[k[0]]
		need := lineStep(size) + tall(words, size, false, r.W-4) + 3
		if words == "" {
			if j.Kind != "" && j.Kind != "helper" {
				continue
			}
			need = lineStep(size) + 12
		}
		if r.H < need+foot {
			return s, false
		}
		top := r.Y
		r = s.paragraph(Rect{r.X + 3, r.Y, r.W - 3, r.H}, size, true, k[1])
		r = s.paragraph(r, size, false, words)
		r.X, r.W = r.X-3, r.W+3
		if words == "" {
			r.Y, r.H = r.Y+12, r.H-12
		}
		wide := 0.4
		if k[0] == "keep_out" {
			wide = 1.6 // the one line that is read by who reads no other
		}
		s.add(line(Pt{r.X, top + 1}, Pt{r.X, r.Y - 0.5}, Style{Line: Black, Width: wide}))
		r.Y, r.H = r.Y+2.6, r.H-2.6
	}
	y := r.Y + r.H - foot
	inner := Rect{r.X + 2, y + 1, r.W - 4, foot}
	inner = s.paragraph(inner, 13, true, radioWords)
	inner = s.paragraph(inner, body, false, cardCaution)
	s.add(box(Rect{r.X, y, r.W, inner.Y - y + 1}, Style{Line: Black, Width: 0.7}))
	y = inner.Y + 3
	rows := [][2]string{{"relief at", ""}, {"organiser", in.Rota.Phone}, {"loo, food", in.Rota.Food}}
	for _, row := range rows {
		y += 6.2
		words := row[1]
		if in.Blank {
			words = ""
		}
		if words == "" {
			s.field(Pt{r.X, y}, r.X+r.W, row[0])
		} else {
			s.add(Text{At: Pt{r.X, y}, Size: body, Ink: Black, Words: row[0] + ": " + words})
			if measure(row[0]+": "+words, body, false) > r.W {
				return s, false
			}
		}
	}
	return s, true
}

// emergencyCard is what is read aloud into a telephone. What is not known is a line
// to write on; the card gives no treatment and no order of its own beyond the usual
// caution.
func emergencyCard(in *RotaInput) ([]Scene, error) {
	keys := rota.EmergencyKeys()
	facts := make([]string, len(keys))
	for i, k := range keys {
		if !in.Blank {
			facts[i] = in.Rota.Emergency[k[0]]
		}
	}
	s, r := in.heading("Emergency card", "").page(in.Paper, false)
	const names = 70.0
	foot := 3.0
	for _, c := range emergencyCautions {
		foot += tall(c.words, body, c.bold, r.W) + 1.2
	}
	lines, high := make([][]string, len(keys)), 0.0
	// As large as one line each goes; what is longer has several of 12 pt.
	fits := func(base float64) bool {
		sum := 0.0
		for i, w := range facts {
			lines[i] = wrap(w, body, false, r.W-names-4)
			sum += max(base, float64(len(lines[i]))*lineStep(body)+3)
		}
		return sum <= r.H-foot
	}
	for high = 13.0; high >= 8 && !fits(high); high -= 0.25 {
	}
	if high < 8 { // more than one side: nothing of it is cut
		f := in.flow("Emergency card", "", false)
		var rows [][]string
		for i, k := range keys {
			rows = append(rows, []string{k[1], facts[i]})
		}
		f.table("", []column{{head: "", width: names}, {head: ""}}, rows, 10)
		for _, c := range emergencyCautions {
			f.words(body, c.bold, c.words)
		}
		return f.pages, nil
	}
	y := r.Y
	for i, k := range keys {
		h := max(high, float64(len(lines[i]))*lineStep(body)+3)
		s.add(box(Rect{r.X, y, r.W, h}, pen))
		s.add(Text{At: Pt{r.X + 2, y + h/2 + capHeight(13)/2}, Size: 13, Bold: true, Ink: Black, Words: k[1]})
		s.add(line(Pt{r.X + names, y}, Pt{r.X + names, y + h}, thin))
		size := body
		if len(lines[i]) == 1 {
			for size < 16 && measure(lines[i][0], size+0.5, false) < r.W-names-4 {
				size += 0.5
			}
		}
		ty := y + h/2 - float64(len(lines[i])-1)*lineStep(size)/2 + capHeight(size)/2
		for _, l := range lines[i] {
			s.add(Text{At: Pt{r.X + names + 2, ty}, Size: size, Ink: Black, Words: l})
			ty += lineStep(size)
		}
		y += h
	}
	left := Rect{r.X, y + 2, r.W, r.Y + r.H - y - 2}
	for _, c := range emergencyCautions {
		left = s.paragraph(left, body, c.bold, c.words)
		left.Y, left.H = left.Y+1.2, left.H-1.2
	}
	return []Scene{s}, nil
}

// emergencyCautions is what stands under the facts: the usual caution, and no
// treatment.
var emergencyCautions = []struct {
	bold  bool
	words string
}{
	{true, "Stop every course first: HOLD on the radio and the signal above. One person calls, one goes to the gate."},
	{false, "Say: where (site, gate), what happened, how many people, how many horses; stay on the line until you are told to go."},
	{false, "Loose horse: everybody stands still, gates shut, it is said aloud. Nobody runs after it."},
	{false, "Overturn: somebody who knows horses to the head at once; the rest keep away until they are asked. The bridle stays on. What is undone, and in which order, is the organiser's plan, and the vet's and first aider's word when they are there."},
	{true, "This card defers to the organiser's own emergency plan, local rules and the emergency services. It teaches no first aid."},
}

// briefing is what is said to all, with room for who has heard it.
func briefing(in *RotaInput) ([]Scene, error) {
	f := in.flow("Briefing", "", false)
	var own []string
	if !in.Blank {
		own = in.Rota.Briefing
	}
	said := append(slices.Clone(own),
		"Who is who: organiser, safety officer, first aider; point them out.",
		"Order of go: where it hangs, who changes it. Be at the gate two before your number.",
		"Courses: open for walking from ____ to ____, on foot, no dogs, nothing moved.",
		"Held on the course: pull up where the hold stands; you are told how long, and counted down ten seconds.",
		"Loose horse or accident: HOLD. Everybody stands still, gates shut, headers to heads. The emergency card hangs at ____.",
		"Warm-up: left to left, walk on the inside; the steward may send anybody out.",
		"Driver in first and out last, reins in hand; a header at the head whenever a horse is put to and stands. The bridle stays on until the vehicle is away.",
		"Results hang at ____ by ____; queries go to ____ within ____ minutes of posting.",
		"Helpers: where you never stand, what you write, who fetches it. Ask before you help. Relief at ____.",
	)
	var rows [][]string
	for i, l := range said {
		rows = append(rows, []string{fmt.Sprint(i + 1), l, tick})
	}
	f.table("Said to all", []column{{head: "", width: 11, right: true}, {head: "what"}, {head: "said", width: 16}}, rows, 10)
	f.words(body, false, "Local rules and the organiser's own plan go before this sheet.")
	rows = nil
	if !in.Blank {
		for _, p := range in.Rota.People {
			rows = append(rows, []string{p.Name, "", "", ""})
		}
	}
	for len(rows)%2 == 1 || len(rows) < 16 {
		rows = append(rows, make([]string, 4))
	}
	half := len(rows) / 2
	var two [][]string
	for i := range half {
		two = append(two, []string{rows[i][0], "", rows[half+i][0], ""})
	}
	f.table("Heard by", []column{{head: "name", width: 52}, {head: "signed"}, {head: "name", width: 52}, {head: "signed"}}, two, 9.5)
	return f.pages, nil
}

// clinicSlots is the list of a clinic's slots.
func clinicSlots(in *RotaInput) ([]Scene, error) {
	c := in.Rota.Clinic
	if c == nil {
		return nil, &fault.Fault{Code: fault.NotFound, Rule: "sheet-empty", Place: ClinicSlots, Message: "the rota has no clinic", Hint: `write clinic: {start: "09:00", slot_min: 45, bookings: [{driver: …}]}`}
	}
	f := in.flow("Clinic slots", "", false)
	f.words(13, true, fmt.Sprintf("%d min each, %d min between. Be put to and walking when your slot begins.", c.SlotMin, c.ChangeMin))
	cols := []column{{head: "time", width: 32}, {head: "driver", width: 38}, {head: "turnout", width: 40}, {head: "track", width: 18, right: true}, {head: "before it", width: 32}, {head: "notes"}}
	var rows [][]string
	s := c.Slots()
	for _, x := range s.Slots {
		row := []string{span(x.From, x.To), x.Driver, x.Turnout, "", "", ""}
		if x.Level != "" {
			row[2] = strings.TrimPrefix(x.Turnout+"; "+x.Level, "; ")
		}
		if x.TrackCM > 0 {
			row[3] = fmt.Sprintf("%g", x.TrackCM)
		}
		switch {
		case x.Tighten > 0:
			row[4] = fmt.Sprintf("tighten %g cm", x.Tighten)
		case x.Tighten < 0:
			row[4] = fmt.Sprintf("widen %g cm", -x.Tighten)
		}
		rows = append(rows, row)
	}
	for _, b := range c.Breaks {
		rows = append(rows, []string{span(b.From, b.To), across + cmp.Or(b.Why, "break")})
	}
	slices.SortStableFunc(rows, func(a, b []string) int { return cmp.Compare(a[0], b[0]) })
	if in.Blank {
		for _, r := range rows {
			for i := 1; i < len(r); i++ {
				if !strings.HasPrefix(r[i], across) {
					r[i] = ""
				}
			}
		}
	}
	f.table("Widest first, so that the layout is tightened between", cols, rows, 14)
	for _, l := range s.LeftOut {
		f.words(body, true, "No slot: "+l+".")
	}
	return f.pages, nil
}
