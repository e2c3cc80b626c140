package trials

import (
	"context"
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
	"terret/internal/web/book"
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
func (s *server) rotaRoutes() {
	if s.rotas == nil {
		return
	}
	s.Page("GET /day/{id}/rota", s.rotaShow)
	s.Page("GET /day/{id}/rota/file", s.rotaFile)
	s.Page("POST /day/{id}/rota/file", s.rotaImport)
	s.Page("POST /day/{id}/rota/begin", s.rotaBegin)
	s.Page("POST /day/{id}/rota/hold", s.rotaHold)
	s.Page("POST /day/{id}/rota/job", s.rotaJobAdd)
	s.Page("POST /day/{id}/rota/drop", s.rotaJobDrop)
	s.Page("POST /day/{id}/rota/take", s.rotaTake)
	s.Page("POST /day/{id}/rota/person", s.rotaPerson)
	s.Page("POST /day/{id}/rota/leave", s.rotaLeave)
	s.Page("POST /day/{id}/rota/back", s.rotaBack)
	s.Page("GET /day/{id}/rota/papers/{sheet}", s.rotaPaper)
}

// rotaPage is the people's jobs, what is empty first.
type rotaPage struct {
	dayHead
	Saved    rota.Saved // Version 0: there are none yet
	Broken   fault.List // the kept file cannot be read by this edition
	File     string     // a file that was not brought in
	Faults   fault.List
	Wrong    map[string]string // what is wrong with a form, by box
	At       string            // the form with something wrong, by the id of its place
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
	Fit, Unlikely []book.Choice // nothing speaks against them; something does
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

// Hour is a box for one end of a shift.
func (v rotaPage) Hour(key, label, value string) fill {
	return fill{Key: key, As: "shift-" + key, Label: label, Value: value, Wrong: v.Wrong["shift-"+key]}
}

// PersonBoxes are the boxes of the form for one more who helps.
func (v rotaPage) PersonBoxes() []fill {
	can := "Can, parted by commas"
	if len(v.Skills) > 0 {
		can += " (" + strings.Join(v.Skills, ", ") + ")"
	}
	var all []fill
	for _, b := range [][2]string{{"name", "Name"}, {"phone", "Phone"}, {"from", "There from (empty: all day)"}, {"to", "Until"}, {"can", can}, {"not_near", "Not near: classes or places of their own or their family's"}} {
		all = append(all, fill{Key: b[0], As: "pn-" + b[0], Label: b[1], Value: v.Person[b[0]], Wrong: v.Wrong[b[0]]})
	}
	return all
}

// Begin reports whether the day can say which jobs it wants.
func (v rotaPage) Begin() bool { return v.proposed != nil }

// JobOpen reports whether something is typed into the form for one more job.
func (v rotaPage) JobOpen() bool { return len(v.Job) > 1 }

// JobBoxes are the boxes of the form for one more job.
func (v rotaPage) JobBoxes() []fill {
	var all []fill
	for _, b := range [][2]string{{"name", "What it is called (empty: as its kind)"}, {"place", "Where"}, {"from", "From"}, {"to", "To"}, {"need", "People wanted"}, {"skill", "Only for those who can (empty: anybody)"}, {"stops", "What stops while nobody holds it (empty: nothing)"}} {
		all = append(all, fill{Key: b[0], As: "jb-" + b[0], Label: b[1], Value: v.Job[b[0]], Wrong: v.Wrong["job-"+b[0]]})
	}
	return all
}

// KindChoices are the kinds of jobs with a card of their own.
func (v rotaPage) KindChoices() []book.Choice {
	all := []book.Choice{{Value: "", Label: "none of these", On: v.Job["kind"] == ""}}
	for _, k := range rota.Kinds() {
		all = append(all, book.Choice{Value: k, Label: k, On: v.Job["kind"] == k})
	}
	return all
}

// PhaseChoices are the phases of the timetable.
func (v rotaPage) PhaseChoices() []book.Choice {
	all := []book.Choice{{Value: "", Label: "none", On: v.Job["phase"] == ""}}
	for _, p := range v.day.Phases {
		all = append(all, book.Choice{Value: p.Phase, Label: p.Phase, On: v.Job["phase"] == p.Phase})
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
	v.Broken = book.FaultsOf(err)
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
		for _, o := range r.Uncovered() {
			if o.Stops != "" && o.To > from {
				n++
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
	done, err := s.Place(r.Context()) // whom to propose is searched for
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
			c := book.Choice{Value: p.Name, Label: p.Name, On: p.Name == seat.Held}
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
	return s.Render(w, status, "day_rota", v)
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
