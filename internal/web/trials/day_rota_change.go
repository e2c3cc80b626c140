package trials

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"terret/internal/fault"
	"terret/internal/plan"
	"terret/internal/rota"
	"terret/internal/web/book"
)

// rotaImport is POST /day/{id}/rota/file: a rota/1 file becomes the jobs of the day, as
// it came. With faults nothing is written.
func (s *server) rotaImport(w http.ResponseWriter, r *http.Request) error {
	name, data, err := book.Upload(w, r)
	if err != nil {
		return err
	}
	v, err := s.jobsOf(r)
	if err != nil {
		return err
	}
	v.By = strings.TrimSpace(r.PostFormValue("by"))
	decoded, err := rota.Decode(name, data)
	if v.Faults = book.FaultsOf(err); v.Faults != nil {
		v.File = name
		return s.showRota(w, r, v, book.StatusOf(err))
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
		v.Wrong[c.form+"-by"], v.At = why, c.form
		return s.showRota(w, r, v, http.StatusUnprocessableEntity)
	}
	saved := rota.Saved{Trial: v.ID, Name: c.name, Note: c.note, By: v.By, At: s.Now(), Document: c.doc}
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
		return book.Torn()
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
	need, ok := book.NumberText(f.Get("need"))
	if !ok {
		v.Wrong["shift-need"] = "how many are wanted, such as 2"
	}
	v.At = "hold"
	if len(v.Wrong) > 0 {
		return s.showRota(w, r, v, http.StatusUnprocessableEntity)
	}
	next, err := v.rota.WithShift(f.Get("job"), n, to)
	if err == nil {
		next, err = next.WithNeed(f.Get("job"), need)
	}
	if l := book.FaultsOf(err); l != nil {
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
	if j.Need, ok = book.NumberText(v.Job["need"]); !ok {
		v.Wrong["job-need"] = "how many are wanted, such as 2"
	}
	v.At = "job"
	if len(v.Wrong) > 0 {
		return s.showRota(w, r, v, http.StatusUnprocessableEntity)
	}
	next, err := v.rota.WithJob(j, from, to)
	if l := book.FaultsOf(err); l != nil {
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
			return book.Torn()
		}
		from, okF := rota.ParseTime(part[1])
		to, okT := rota.ParseTime(part[2])
		if !okF || !okT {
			return book.Torn()
		}
		p.Turns = append(p.Turns, rota.Turn{Job: part[0], From: from, To: to, Person: part[3]})
	}
	if len(p.Turns) == 0 {
		return book.Torn()
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
	if l := book.FaultsOf(err); l != nil {
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
	v.At = "person"
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
		return book.Torn()
	}
	old, err := s.rotas.Rota(r.Context(), v.ID, n)
	if err != nil {
		return err
	}
	return s.keepRota(w, r, v, rotaChange{form: "back", version: f.Get("version"), doc: old.Document, name: old.Name, note: "version " + plan.VersionLetter(n) + " put back"})
}
