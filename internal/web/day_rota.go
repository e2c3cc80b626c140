package web

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"terret/internal/fault"
	"terret/internal/plan"
	"terret/internal/rota"
	"terret/internal/rota/trialday"
	"terret/internal/sheet"
)

// RotaStore keeps people's jobs beside a trial by version. History is append-only.
type RotaStore interface {
	// Rota fetches one version of a trial's jobs; 0 is the newest. Fault NotFound when
	// there is none.
	Rota(ctx context.Context, trial string, version int) (rota.Saved, error)
	// RotaVersions lists every version without the documents, newest first. Fault
	// NotFound when there is none.
	RotaVersions(ctx context.Context, trial string) ([]rota.Saved, error)
	// SaveRota keeps v as the version of its trial's jobs after base; base 0 begins
	// them, and the caller has decoded the document. Fault NotFound when there is no
	// such trial, Conflict, with nothing written, when base is not the newest.
	SaveRota(ctx context.Context, base int, v rota.Saved) (rota.Saved, error)
}

// rotaRoutes are the pages of the people's jobs of a day.
func (s *server) rotaRoutes(page func(pattern string, f handler)) {
	if s.rotas == nil {
		return
	}
	page("GET /day/{id}/rota", s.rotaShow)
	page("GET /day/{id}/rota/file", s.rotaFile)
	page("POST /day/{id}/rota/file", s.rotaImport)
	page("POST /day/{id}/rota/begin", s.rotaBegin)
	page("POST /day/{id}/rota/hold", s.rotaHold)
	page("POST /day/{id}/rota/job", s.rotaJobAdd)
	page("POST /day/{id}/rota/drop", s.rotaJobDrop)
	page("POST /day/{id}/rota/take", s.rotaTake)
	page("POST /day/{id}/rota/person", s.rotaPerson)
	page("POST /day/{id}/rota/leave", s.rotaLeave)
	page("POST /day/{id}/rota/back", s.rotaBack)
	page("GET /day/{id}/rota/papers/{sheet}", s.rotaPaper)
}

// rotaPage is the people's jobs, what is empty first.
type rotaPage struct {
	dayHead
	Saved    rota.Saved // Version 0: there are none yet
	Broken   fault.List // the kept file cannot be read by this edition
	File     string     // a file that was not brought in
	Faults   fault.List
	Wrong    map[string]string // what is wrong with a form, by box
	Moved    string            // somebody changed the jobs while this was being changed
	Done     string
	Timed    bool // there are starts to hold the jobs against
	Clashes  []rotaClash
	Answer   *rota.Answer
	Offers   []rotaOffer
	Jobs     []rotaJob
	Edit     *rotaEdit
	Person   map[string]string // the form for one more who helps
	Job      map[string]string // the form for one more job
	Skills   []string          // that jobs want
	Papers   []rotaPaperLink
	Versions []rota.Saved

	rota     *rota.Rota // nil: none, or broken
	day      rota.Day
	proposed *rota.Rota // the jobs the day wants; nil without a timetable
}

// rotaClash is something to be settled, with where it is changed.
type rotaClash struct {
	rota.Trouble
	Change []rotaLink
}

type rotaLink struct{ Title, Path string }

// clash gives the jobs of a trouble to change: those of one shift alone, for others the
// list below says which.
func (v *rotaPage) clash(t rota.Trouble) rotaClash {
	c := rotaClash{Trouble: t}
	for _, id := range t.Jobs {
		j, err := v.rota.JobNamed(id)
		if err != nil || len(j.Shifts) != 1 {
			continue
		}
		title := j.Name
		if j.Place != "" {
			title += " at " + j.Place
		}
		c.Change = append(c.Change, rotaLink{title, v.shiftAt(id, 0)})
	}
	return c
}

// shiftAt is the page that changes one shift.
func (v *rotaPage) shiftAt(job string, n int) string {
	return v.address("?" + url.Values{"job": {job}, "shift": {strconv.Itoa(n)}}.Encode() + "#hold")
}

// rotaOffer is one proposed turn.
type rotaOffer struct {
	rota.Turn
	Value string // in the form
}

// rotaJob is a job with who holds it.
type rotaJob struct {
	rota.Job
	Hours []rotaShift
	Card  string // address of its card
}

type rotaShift struct {
	rota.Shift
	N       int
	Missing int
	Change  string // address of the page that changes it
}

// rotaEdit is the form that says who holds one shift.
type rotaEdit struct {
	Job, Title string
	N          int
	From, To   string // as they are written in the form
	Span       string // as they stand
	Need       string // people wanted
	Seats      []rotaSeat
}

// rotaSeat is one seat with everybody who could be put there.
type rotaSeat struct {
	N             int
	Held          string
	Fit, Unlikely []choice // nothing speaks against them; something does
}

type rotaPaperLink struct {
	sheet.RotaKind
	PDF, Letter, Blank string
}

// Version is of the jobs the page was drawn from.
func (v rotaPage) Version() int { return v.Saved.Version }

// Kept is the version as it stands on every sheet.
func (v rotaPage) Kept() string { return plan.VersionLetter(v.Saved.Version) }

// Initials is the box for them in one form.
func (v rotaPage) Initials(id string) initials { return initials{ID: id, By: v.By, Wrong: v.Wrong[id]} }

// Letter is a version as it stands on every sheet.
func (rotaPage) Letter(version int) string { return plan.VersionLetter(version) }

// Clinic is the clinic's slots; nil when there is none.
func (v rotaPage) Clinic() *rota.Slots { return v.Answer.Clinic }

// personBox is one box of a form about jobs or people.
type personBox struct{ Key, Label, Value, Wrong string }

// Hour is a box for one end of a shift.
func (v rotaPage) Hour(key, label, value string) personBox {
	return personBox{key, label, value, v.Wrong["shift-"+key]}
}

// PersonBoxes are the boxes of the form for one more who helps.
func (v rotaPage) PersonBoxes() []personBox {
	can := "Can, parted by commas"
	if len(v.Skills) > 0 {
		can += " (" + strings.Join(v.Skills, ", ") + ")"
	}
	var all []personBox
	for _, b := range [][2]string{{"name", "Name"}, {"phone", "Phone"}, {"from", "There from (empty: all day)"}, {"to", "Until"}, {"can", can}, {"not_near", "Not near: classes or places of their own or their family's"}} {
		all = append(all, personBox{b[0], b[1], v.Person[b[0]], v.Wrong[b[0]]})
	}
	return all
}

// Begin reports whether the day can say which jobs it wants.
func (v rotaPage) Begin() bool { return v.proposed != nil }

// JobOpen reports whether something is typed into the form for one more job.
func (v rotaPage) JobOpen() bool { return len(v.Job) > 1 }

// JobBoxes are the boxes of the form for one more job.
func (v rotaPage) JobBoxes() []personBox {
	var all []personBox
	for _, b := range [][2]string{{"name", "What it is called (empty: as its kind)"}, {"place", "Where"}, {"from", "From"}, {"to", "To"}, {"need", "People wanted"}, {"skill", "Only for those who can (empty: anybody)"}, {"stops", "What stops while nobody holds it (empty: nothing)"}} {
		all = append(all, personBox{b[0], b[1], v.Job[b[0]], v.Wrong["job-"+b[0]]})
	}
	return all
}

// KindChoices are the kinds of jobs with a card of their own.
func (v rotaPage) KindChoices() []choice {
	all := []choice{{"", "none of these", v.Job["kind"] == ""}}
	for _, k := range rota.Kinds() {
		all = append(all, choice{k, k, v.Job["kind"] == k})
	}
	return all
}

// PhaseChoices are the phases of the timetable.
func (v rotaPage) PhaseChoices() []choice {
	all := []choice{{"", "none", v.Job["phase"] == ""}}
	for _, p := range v.day.Phases {
		all = append(all, choice{p.Phase, p.Phase, v.Job["phase"] == p.Phase})
	}
	return all
}

// Stops are the free seats that stop the day, Others the rest.
func (v rotaPage) Stops() []rota.Open  { return v.open(true) }
func (v rotaPage) Others() []rota.Open { return v.open(false) }

func (v rotaPage) open(stops bool) (some []rota.Open) {
	for _, o := range v.Answer.Open {
		if (o.Stops != "") == stops {
			some = append(some, o)
		}
	}
	return some
}

// address is a page of these jobs.
func (v *rotaPage) address(rest string) string {
	return "/day/" + url.PathEscape(v.ID) + "/rota" + rest
}

// jobsOf reads the jobs of the trial in the address; the trial is held only while its
// order of go is looked at.
func (s *server) jobsOf(r *http.Request) (*rotaPage, error) {
	v := &rotaPage{Wrong: map[string]string{}, Person: map[string]string{}, Job: map[string]string{"need": "1"}}
	err := s.withTrial(r.Context(), r.PathValue("id"), func(t *openTrial) error {
		v.dayHead = s.dayHead(r, t, "rota", "Jobs")
		day := t.now()
		v.day = trialday.Of(day)
		v.proposed, _ = trialday.Jobs(day) // without a timetable there are none
		return nil
	})
	if err != nil {
		return nil, err
	}
	v.Timed = v.day.Made()
	v.Saved, err = s.rotas.Rota(r.Context(), v.ID, 0)
	if code, ok := fault.CodeOf(err); ok && code == fault.NotFound {
		v.Saved = rota.Saved{Trial: v.ID}
		return v, nil
	}
	if err != nil {
		return nil, err
	}
	v.rota, err = rota.Decode("jobs", v.Saved.Document)
	v.Broken = faultsOf(err)
	if err != nil && v.Broken == nil {
		return nil, err
	}
	return v, nil
}

// emptySeats counts the shifts that stop the day, are not over and have a free seat. Jobs
// that cannot be read are told on their own page.
func (s *server) emptySeats(ctx context.Context, trial string, from rota.Time) (n int, err error) {
	if s.rotas == nil {
		return 0, nil
	}
	saved, err := s.rotas.Rota(ctx, trial, 0)
	if code, ok := fault.CodeOf(err); ok && code == fault.NotFound {
		return 0, nil
	}
	if err != nil {
		return 0, err
	}
	if r, err := rota.Decode("jobs", saved.Document); err == nil {
		for _, j := range r.Jobs {
			for _, sh := range j.Shifts {
				if j.Stops != "" && len(sh.Held) < j.Need && sh.To > from {
					n++
				}
			}
		}
	}
	return n, nil
}

// settle works out what the page shows.
func (s *server) settle(r *http.Request, v *rotaPage) (err error) {
	if v.Saved.Version > 0 {
		if v.Versions, err = s.rotas.RotaVersions(r.Context(), v.ID); err != nil {
			return err
		}
	}
	if v.rota == nil {
		return nil
	}
	done, err := s.place(r.Context()) // whom to propose is searched for
	if err != nil {
		return err
	}
	v.Answer = v.rota.CheckOn(v.day)
	done()
	for _, t := range v.Answer.Trouble {
		v.Clashes = append(v.Clashes, v.clash(t))
	}
	for _, t := range v.Answer.Proposal.Turns {
		v.Offers = append(v.Offers, rotaOffer{t, strings.Join([]string{t.Job, t.From.String(), t.To.String(), t.Person}, "|")})
	}
	for _, j := range v.rota.Jobs {
		job := rotaJob{Job: j, Card: v.address("/papers/" + sheet.JobCard + ".pdf?" + url.Values{"job": {j.ID}}.Encode())}
		for n, sh := range j.Shifts {
			job.Hours = append(job.Hours, rotaShift{sh, n, max(0, j.Need-len(sh.Held)), v.shiftAt(j.ID, n)})
		}
		v.Jobs = append(v.Jobs, job)
		if j.Skill != "" && !slices.Contains(v.Skills, j.Skill) {
			v.Skills = append(v.Skills, j.Skill)
		}
	}
	slices.Sort(v.Skills)
	for _, k := range sheet.RotaKinds() {
		if k.Name == sheet.ClinicSlots && v.rota.Clinic == nil {
			continue
		}
		at := v.address("/papers/" + k.Name + ".pdf")
		v.Papers = append(v.Papers, rotaPaperLink{k, at, at + "?paper=letter", at + "?blank=1"})
	}
	return nil
}

// edit lays out the form of one shift with these hours and names in it.
func (v *rotaPage) edit(job string, n int, from, to, need string, held []string) error {
	j, sh, err := v.rota.Shift(job, n)
	if err != nil {
		return err
	}
	e := &rotaEdit{Job: job, N: n, Title: j.Name, From: from, To: to, Span: sh.From.String() + " to " + sh.To.String(), Need: need}
	if j.Place != "" {
		e.Title += " at " + j.Place
	}
	said := map[string]string{rota.Twice: "holds another job then", rota.Walk: "too little time to walk over", rota.NotThere: "is not there then", rota.Cannot: "wants " + j.Skill, rota.NotNear: "may not judge what is theirs", rota.Driving: "drives then, or is groom", rota.NoBreak: "would have no break"}
	why := map[string]string{}
	for _, p := range v.rota.People {
		why[p.Name] = said[v.rota.Fit(v.day, p.Name, job, n)]
	}
	for i := range min(max(j.Need, len(held)), rota.MaxNeed) {
		seat := rotaSeat{N: i + 1}
		if i < len(held) {
			seat.Held = held[i]
		}
		for _, p := range v.rota.People {
			c := choice{p.Name, p.Name, p.Name == seat.Held}
			if why[p.Name] == "" {
				seat.Fit = append(seat.Fit, c)
			} else {
				c.Label += ": " + why[p.Name]
				seat.Unlikely = append(seat.Unlikely, c)
			}
		}
		e.Seats = append(e.Seats, seat)
	}
	v.Edit = e
	return nil
}

// showRota renders the page with a status.
func (s *server) showRota(w http.ResponseWriter, r *http.Request, v *rotaPage, status int) error {
	if err := s.settle(r, v); err != nil {
		return err
	}
	return s.render(w, status, "day_rota", v)
}

// rotaShow is GET /day/{id}/rota?job=scribe&shift=0: the jobs, with the form of one shift
// where one is asked for.
func (s *server) rotaShow(w http.ResponseWriter, r *http.Request) error {
	v, err := s.jobsOf(r)
	if err != nil {
		return err
	}
	q := r.URL.Query()
	v.Done = map[string]string{"file": "The jobs are kept.", "hold": "It is kept who holds it.", "take": "The names are in their seats. Nobody has been told yet.", "person": "The person is added.", "leave": "The person is taken out, and the seats they held are free.", "back": "The older version stands again.", "begin": "These are the jobs the day wants, with nobody in them yet. Add the people who help, then put them in.", "job": "The job is added.", "drop": "The job is taken out."}[q.Get("done")]
	if job := q.Get("job"); job != "" && v.rota != nil {
		n, err := strconv.Atoi(q.Get("shift"))
		if err != nil {
			n = -1
		}
		j, sh, err := v.rota.Shift(job, n)
		if err != nil {
			return err
		}
		if err := v.edit(job, n, sh.From.String(), sh.To.String(), strconv.Itoa(j.Need), sh.Held); err != nil {
			return err
		}
	}
	return s.showRota(w, r, v, http.StatusOK)
}

// rotaFile is GET /day/{id}/rota/file.
func (s *server) rotaFile(w http.ResponseWriter, r *http.Request) error {
	v, err := s.rotas.Rota(r.Context(), r.PathValue("id"), 0)
	if err != nil {
		return err
	}
	return send(w, v.Trial+"-jobs.yaml", "application/yaml; charset=utf-8", v.Document)
}

// rotaImport is POST /day/{id}/rota/file: a rota/1 file becomes the jobs of the day, as
// it came. With faults nothing is written.
func (s *server) rotaImport(w http.ResponseWriter, r *http.Request) error {
	name, data, err := upload(w, r)
	if err != nil {
		return err
	}
	v, err := s.jobsOf(r)
	if err != nil {
		return err
	}
	v.By = strings.TrimSpace(r.PostFormValue("by"))
	decoded, err := rota.Decode(name, data)
	if v.Faults = faultsOf(err); v.Faults != nil {
		v.File = name
		return s.showRota(w, r, v, statusOf(err))
	}
	if err != nil {
		return err
	}
	return s.keepRota(w, r, v, rotaChange{form: "file", version: r.PostFormValue("version"), doc: data, name: decoded.Name, note: "brought in from " + name})
}

// rotaChange is what becomes the next version of the jobs.
type rotaChange struct {
	form    string // its name, for what is wrong with it and what was done
	version string // that the form was drawn from
	next    *rota.Rota
	doc     []byte // the file itself, instead of next
	name    string // of the rota, with doc
	note    string // what was changed
}

// keepRota keeps a change, or says on the page why not. Nobody's change is written over
// another's: what was typed is shown again, with the jobs as they stand now.
func (s *server) keepRota(w http.ResponseWriter, r *http.Request, v *rotaPage, c rotaChange) error {
	if why := nameless(v.By); why != "" {
		v.Wrong[c.form+"-by"] = why
		return s.showRota(w, r, v, http.StatusUnprocessableEntity)
	}
	saved := rota.Saved{Trial: v.ID, Name: c.name, Note: c.note, By: v.By, At: s.now(), Document: c.doc}
	if c.next != nil {
		doc, err := rota.Encode(c.next)
		if err != nil {
			return err
		}
		if _, err := rota.Decode("jobs", doc); err != nil { // what is kept must come back
			return err
		}
		saved.Name, saved.Document = c.next.Name, doc
	}
	moved := c.version != strconv.Itoa(v.Saved.Version)
	if !moved {
		_, err := s.rotas.SaveRota(r.Context(), v.Saved.Version, saved)
		if code, ok := fault.CodeOf(err); ok && code == fault.Conflict {
			moved = true // another was quicker by a hair
			if v.Saved, err = s.rotas.Rota(r.Context(), v.ID, 0); err != nil {
				return err
			}
			if v.rota, err = rota.Decode("jobs", v.Saved.Document); err != nil {
				return err
			}
		}
		if err != nil {
			return err
		}
	}
	if moved {
		v.Moved = fmt.Sprintf("Somebody changed the jobs while you looked: version %s, by %s: %s. Nothing of yours is kept yet; look at the jobs as they stand now, and do it again.", v.Kept(), orNobody(v.Saved.By), v.Saved.Note)
		return s.showRota(w, r, v, http.StatusConflict)
	}
	rememberWriter(w, v.By)
	http.Redirect(w, r, v.address("?done="+c.form), http.StatusSeeOther)
	return nil
}

// drawnBefore reports whether a form was drawn from an older version: what it asks for
// may not be there any more.
func (v *rotaPage) drawnBefore(f url.Values) bool {
	return f.Get("version") != strconv.Itoa(v.Saved.Version)
}

func orNobody(by string) string {
	if by == "" {
		return "nobody named"
	}
	return by
}

// rotaForm reads a form about jobs that are there.
func (s *server) rotaForm(w http.ResponseWriter, r *http.Request) (*rotaPage, url.Values, error) {
	f, err := form(w, r)
	if err != nil {
		return nil, nil, err
	}
	v, err := s.jobsOf(r)
	if err != nil {
		return nil, nil, err
	}
	if v.rota == nil {
		return nil, nil, &fault.Fault{Code: fault.NotFound, Rule: "rota", Place: "trial " + v.ID, Message: "there are no jobs here that can be changed", Hint: "bring in a rota/1 file first"}
	}
	v.By = f.Get("by")
	return v, f, nil
}

// rotaHold is POST /day/{id}/rota/hold: the hours of one shift of a job, and who holds
// it, seat by seat.
func (s *server) rotaHold(w http.ResponseWriter, r *http.Request) error {
	v, f, err := s.rotaForm(w, r)
	if err != nil {
		return err
	}
	n, err := strconv.Atoi(f.Get("shift"))
	if err != nil {
		return torn()
	}
	held := slices.DeleteFunc(slices.Clone(f["held"]), func(name string) bool { return name == "" })
	if _, _, err := v.rota.Shift(f.Get("job"), n); err != nil && v.drawnBefore(f) {
		return s.keepRota(w, r, v, rotaChange{form: "hold", version: f.Get("version")})
	}
	if err := v.edit(f.Get("job"), n, f.Get("from"), f.Get("to"), f.Get("need"), held); err != nil { // shown again when it is not kept
		return err
	}
	to := rota.Shift{Held: held}
	for _, k := range []struct {
		key string
		at  *rota.Time
	}{{"from", &to.From}, {"to", &to.To}} {
		t, ok := rota.ParseTime(f.Get(k.key))
		if !ok {
			v.Wrong["shift-"+k.key] = "a time of day is wanted, such as 14:30"
		}
		*k.at = t
	}
	need, ok := numberText(f.Get("need"))
	if !ok {
		v.Wrong["shift-need"] = "how many are wanted, such as 2"
	}
	if len(v.Wrong) > 0 {
		return s.showRota(w, r, v, http.StatusUnprocessableEntity)
	}
	next, err := v.rota.WithShift(f.Get("job"), n, to)
	if err == nil {
		next, err = next.WithNeed(f.Get("job"), need)
	}
	if l := faultsOf(err); l != nil {
		box := map[string]string{"times": "shift-to", "need": "shift-need", "too-many": "shift-need"}[l[0].Rule]
		if box == "" {
			box = "held"
		}
		v.Wrong[box] = plainFault(l[0])
		return s.showRota(w, r, v, http.StatusUnprocessableEntity)
	}
	if err != nil {
		return err
	}
	return s.keepRota(w, r, v, rotaChange{form: "hold", version: f.Get("version"), next: next, note: fmt.Sprintf("%s, %s to %s: %s", v.Edit.Title, to.From, to.To, orEmpty(held))})
}

func orEmpty(names []string) string {
	if len(names) == 0 {
		return "nobody"
	}
	return strings.Join(names, ", ")
}

// rotaBegin is POST /day/{id}/rota/begin: the jobs the day wants, with nobody in them.
func (s *server) rotaBegin(w http.ResponseWriter, r *http.Request) error {
	f, err := form(w, r)
	if err != nil {
		return err
	}
	v, err := s.jobsOf(r)
	if err != nil {
		return err
	}
	v.By = f.Get("by")
	if v.proposed == nil {
		return &fault.Fault{Code: fault.Input, Rule: "timetable", Place: "trial " + v.ID, Message: "the day has no timetable to make jobs from", Hint: "say first when its phases start"}
	}
	return s.keepRota(w, r, v, rotaChange{form: "begin", version: f.Get("version"), next: v.proposed, note: "begun with the jobs the day wants"})
}

// rotaJobAdd is POST /day/{id}/rota/job: one more job, with nobody in it.
func (s *server) rotaJobAdd(w http.ResponseWriter, r *http.Request) error {
	v, f, err := s.rotaForm(w, r)
	if err != nil {
		return err
	}
	for _, k := range []string{"name", "kind", "place", "phase", "skill", "need", "from", "to", "stops"} {
		v.Job[k] = f.Get(k)
	}
	j := rota.Job{Name: f.Get("name"), Kind: f.Get("kind"), Place: f.Get("place"), Phase: f.Get("phase"), Skill: f.Get("skill"), Stops: f.Get("stops")}
	var from, to rota.Time
	for _, k := range []struct {
		key string
		at  *rota.Time
	}{{"from", &from}, {"to", &to}} {
		t, ok := rota.ParseTime(v.Job[k.key])
		if !ok {
			v.Wrong["job-"+k.key] = "a time of day is wanted, such as 12:15"
		}
		*k.at = t
	}
	var ok bool
	if j.Need, ok = numberText(v.Job["need"]); !ok {
		v.Wrong["job-need"] = "how many are wanted, such as 2"
	}
	if len(v.Wrong) > 0 {
		return s.showRota(w, r, v, http.StatusUnprocessableEntity)
	}
	next, err := v.rota.WithJob(j, from, to)
	if l := faultsOf(err); l != nil {
		box := l[0].Place
		if v.Job[box] == "" {
			box = "name"
		}
		v.Wrong["job-"+box] = plainFault(l[0])
		return s.showRota(w, r, v, http.StatusUnprocessableEntity)
	}
	if err != nil {
		return err
	}
	return s.keepRota(w, r, v, rotaChange{form: "job", version: f.Get("version"), next: next, note: "job added: " + next.Jobs[len(next.Jobs)-1].ID})
}

// rotaJobDrop is POST /day/{id}/rota/drop: a job that is not wanted after all.
func (s *server) rotaJobDrop(w http.ResponseWriter, r *http.Request) error {
	v, f, err := s.rotaForm(w, r)
	if err != nil {
		return err
	}
	next, err := v.rota.WithoutJob(f.Get("job"))
	if err != nil && v.drawnBefore(f) {
		return s.keepRota(w, r, v, rotaChange{form: "drop", version: f.Get("version")})
	}
	if err != nil {
		return err
	}
	return s.keepRota(w, r, v, rotaChange{form: "drop", version: f.Get("version"), next: next, note: "job taken out: " + f.Get("job")})
}

// rotaTake is POST /day/{id}/rota/take: one proposed turn, or all of them as they were
// shown.
func (s *server) rotaTake(w http.ResponseWriter, r *http.Request) error {
	v, f, err := s.rotaForm(w, r)
	if err != nil {
		return err
	}
	taken := f["turn"]
	if f.Get("all") != "" {
		taken = f["offer"]
	}
	var p rota.Proposal
	for _, text := range taken {
		part := strings.SplitN(text, "|", 4)
		if len(part) != 4 {
			return torn()
		}
		from, okF := rota.ParseTime(part[1])
		to, okT := rota.ParseTime(part[2])
		if !okF || !okT {
			return torn()
		}
		p.Turns = append(p.Turns, rota.Turn{Job: part[0], From: from, To: to, Person: part[3]})
	}
	if len(p.Turns) == 0 {
		return torn()
	}
	note := fmt.Sprintf("%d proposed names taken", len(p.Turns))
	if len(p.Turns) == 1 {
		note = fmt.Sprintf("%s: %s, as proposed", p.Turns[0].Job, p.Turns[0].Person)
	}
	return s.keepRota(w, r, v, rotaChange{form: "take", version: f.Get("version"), next: v.rota.Filled(p), note: note})
}

// rotaPerson is POST /day/{id}/rota/person: one more who helps.
func (s *server) rotaPerson(w http.ResponseWriter, r *http.Request) error {
	v, f, err := s.rotaForm(w, r)
	if err != nil {
		return err
	}
	p := rota.Person{Name: f.Get("name"), Phone: f.Get("phone"), Can: names(f.Get("can")), NotNear: names(f.Get("not_near"))}
	for _, k := range []string{"name", "phone", "from", "to", "can", "not_near"} {
		v.Person[k] = f.Get(k)
	}
	for _, k := range []struct {
		key string
		at  *rota.Time
	}{{"from", &p.From}, {"to", &p.To}} {
		if v.Person[k.key] == "" {
			continue
		}
		t, ok := rota.ParseTime(v.Person[k.key])
		if !ok {
			v.Wrong[k.key] = "a time of day is wanted, such as 09:30"
		}
		*k.at = t
	}
	next, err := v.rota.WithPerson(p)
	if l := faultsOf(err); l != nil {
		box := "name"
		if l[0].Rule == "times" {
			box = "to"
		}
		if v.Wrong[box] == "" {
			v.Wrong[box] = plainFault(l[0])
		}
	} else if err != nil {
		return err
	}
	if len(v.Wrong) > 0 {
		return s.showRota(w, r, v, http.StatusUnprocessableEntity)
	}
	return s.keepRota(w, r, v, rotaChange{form: "person", version: f.Get("version"), next: next, note: p.Name + " added"})
}

// rotaLeave is POST /day/{id}/rota/leave: somebody does not come after all.
func (s *server) rotaLeave(w http.ResponseWriter, r *http.Request) error {
	v, f, err := s.rotaForm(w, r)
	if err != nil {
		return err
	}
	next, left, err := v.rota.WithoutPerson(f.Get("person"))
	if err != nil && v.drawnBefore(f) {
		return s.keepRota(w, r, v, rotaChange{form: "leave", version: f.Get("version")})
	}
	if err != nil {
		return err
	}
	note := f.Get("person") + " taken out"
	switch {
	case left == 1:
		note += ", 1 seat free"
	case left > 1:
		note += fmt.Sprintf(", %d seats free", left)
	}
	return s.keepRota(w, r, v, rotaChange{form: "leave", version: f.Get("version"), next: next, note: note})
}

// rotaBack is POST /day/{id}/rota/back: an older version stands again, as the next one.
func (s *server) rotaBack(w http.ResponseWriter, r *http.Request) error {
	f, err := form(w, r)
	if err != nil {
		return err
	}
	v, err := s.jobsOf(r)
	if err != nil {
		return err
	}
	v.By = f.Get("by")
	n, err := strconv.Atoi(f.Get("to"))
	if err != nil || n < 1 {
		return torn()
	}
	old, err := s.rotas.Rota(r.Context(), v.ID, n)
	if err != nil {
		return err
	}
	return s.keepRota(w, r, v, rotaChange{form: "back", version: f.Get("version"), doc: old.Document, name: old.Name, note: "version " + plan.VersionLetter(n) + " put back"})
}

// rotaPaper is GET /day/{id}/rota/papers/{kind}.pdf and .svg?job=&blank=&paper=.
func (s *server) rotaPaper(w http.ResponseWriter, r *http.Request) error {
	kind, format, _ := strings.Cut(r.PathValue("sheet"), ".")
	k, known := sheet.RotaKindNamed(kind)
	if !known || format != "pdf" && format != "svg" {
		return &fault.Fault{Code: fault.NotFound, Rule: "sheet", Place: r.URL.Path, Message: "there is no such paper", Hint: "choose one on the page of the jobs; each is .pdf and .svg"}
	}
	v, err := s.jobsOf(r)
	if err != nil {
		return err
	}
	if v.rota == nil {
		return &fault.Fault{Code: fault.NotFound, Rule: "rota", Place: "trial " + v.ID, Message: "there are no jobs here to print", Hint: "bring in a rota/1 file first"}
	}
	q := r.URL.Query()
	in := sheet.RotaInput{Rota: v.rota, Job: q.Get("job"), Blank: q.Get("blank") != "", Version: v.Kept(), PrintedAt: s.now()}
	if in.Paper, err = sheet.PaperNamed(q.Get("paper")); err != nil {
		return err
	}
	pages, err := sheet.Rota(kind, in)
	if err != nil {
		return err
	}
	doc, err := sheet.File(pages, format == "svg", sheet.Meta{Title: k.Title + ", " + v.rota.Name, Subject: kind, At: in.PrintedAt})
	if err != nil {
		return err
	}
	return sendPaper(w, kind, format, doc)
}
