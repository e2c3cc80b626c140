package trials

import (
	"cmp"
	"fmt"
	"net/http"
	"net/url"
	"reflect"
	"slices"
	"strings"

	"terret/internal/fault"
	"terret/internal/trial"
	"terret/internal/web/book"
)

// A trial is changed one thing at a time: an entry, a class, a course, a test. Every
// kind is read, shown, kept and taken out by the handlers of this file; what is its
// own stands in a thing.

// thing is one kind of thing that a trial is made of. Its values are those of its
// form, as a person reads and writes them.
type thing interface {
	// word names the kind in addresses and sentences.
	word() string
	// values is the form of one of them; ok is false when there is none of that name.
	values(t *trial.Trial, name string) (v url.Values, ok bool)
	// place is where a trial's problems name it, such as "classes[2]".
	place(t *trial.Trial, name string) string
	// rows are the boxes of the form; v are the values they begin with.
	rows(t *openTrial, v url.Values) []fillRow
	// put is the trial with what the form says in the place of the one called was, or
	// as one more when was is "", and the name it has now. wrong tells by box (see
	// fill.ref) why the form cannot be read; then next is nil.
	put(t *openTrial, was string, f url.Values) (next *trial.Trial, name string, wrong map[string]string)
	// drop is the trial without it; the error is a fault.
	drop(t *trial.Trial, name string) (*trial.Trial, error)
	// of reports whether a sheet is of it.
	of(s *trial.Sheet, name string) bool
	// back is the page of the trial where it is listed.
	back() string
}

// changePage is the form of one thing.
type changePage struct {
	trialHead
	Kind   string
	Was    string // its name; "" it is one more
	Seen   int    // the version of the trial that the form was drawn from
	Rows   []fillRow
	Faults fault.List // what would be wrong and is in no box of this form
	Moved  string     // somebody else changed it while this form was filled in
	Done   string     // what was kept just before
	Back   string
	Sheets int // so many sheets of it are in
	WhoBy  initials
	WhoOut initials
}

// changeRoutes are the forms of all kinds.
func (s *server) changeRoutes() {
	for _, k := range []thing{entryThing{}, classThing{}, courseThing{}, testThing{}} {
		at := "/scores/{id}/" + k.word()
		s.on("GET "+at, func(w http.ResponseWriter, r *http.Request, t *openTrial) error { return s.changeForm(w, r, t, k) })
		s.on("POST "+at, func(w http.ResponseWriter, r *http.Request, t *openTrial) error { return s.changeKeep(w, r, t, k) })
		s.on("POST "+at+"/out", func(w http.ResponseWriter, r *http.Request, t *openTrial) error { return s.changeOut(w, r, t, k) })
	}
}

// changeForm is GET /scores/{id}/class?name=N: its form; without a name, that of one
// more, beginning with what the address says.
func (s *server) changeForm(w http.ResponseWriter, r *http.Request, t *openTrial, k thing) error {
	q := r.URL.Query()
	name := q.Get("name")
	v := q
	if name != "" {
		var ok bool
		if v, ok = k.values(t.setting.Trial, name); !ok {
			return noSuch(k, name)
		}
	}
	p := s.changePage(r, t, k, name, v)
	p.Done = done(r)
	if name == "" {
		focus(p.Rows, func(b fill) bool { return b.Choices == nil && b.Ticks == nil })
	}
	return s.Render(w, http.StatusOK, "scores_change", p)
}

func noSuch(k thing, name string) error {
	return &fault.Fault{Code: fault.NotFound, Rule: k.word(), Place: k.word() + " " + name, Message: "there is no such " + k.word() + " in this trial", Hint: "choose one from its list"}
}

func (s *server) changePage(r *http.Request, t *openTrial, k thing, was string, v url.Values) *changePage {
	p := &changePage{trialHead: s.trialHead(r, t, k.back(), changeHeading(k.word(), was)), Kind: k.word(), Was: was, Seen: t.setting.Version, Rows: k.rows(t, v), Back: backTo(t, k)}
	if was != "" {
		p.Sheets = t.sheets(func(s *trial.Sheet) bool { return k.of(s, was) })
	}
	p.WhoBy, p.WhoOut = initials{ID: "by", By: p.By}, initials{ID: "by-out", By: p.By}
	return p
}

func backTo(t *openTrial, k thing) string {
	at := "/scores/" + url.PathEscape(t.id)
	if k.back() == "setup" {
		at += "/setup"
	}
	return at
}

// changeHeading is the page's first line.
func changeHeading(kind, was string) string {
	switch {
	case was != "":
		return "Change " + kind + " " + was
	case kind == "entry":
		return "Add an entry"
	}
	return "Add a " + kind
}

// Heading is the page's first line.
func (p *changePage) Heading() string { return changeHeading(p.Kind, p.Was) }

// has reports whether the form has a box of that name.
func (p *changePage) has(ref string) bool {
	return slices.ContainsFunc(p.Rows, func(r fillRow) bool {
		return slices.ContainsFunc(r.Boxes, func(b fill) bool { return b.ref() == ref })
	})
}

// beside writes beside the boxes what stands there now, where it is something else.
func (p *changePage) beside(now []fillRow) {
	stands := map[string]string{}
	for _, r := range now {
		for _, b := range r.Boxes {
			stands[b.ref()] = b.says()
		}
	}
	for i := range p.Rows {
		for j := range p.Rows[i].Boxes {
			b := &p.Rows[i].Boxes[j]
			if says, there := stands[b.ref()]; there && says != b.says() {
				b.Now = cmp.Or(says, "nothing")
			}
		}
	}
}

// sheets counts the sheets that count and are of something.
func (t *openTrial) sheets(of func(*trial.Sheet) bool) int {
	n := 0
	now := t.now()
	for i := range now.Sheets {
		if of(&now.Sheets[i]) {
			n++
		}
	}
	return n
}

// moved reports whether the thing was changed since the version that a form was drawn
// from, so that keeping the form would undo what somebody else has just done.
func (s *server) moved(r *http.Request, t *openTrial, k thing, was string, seen int) (bool, error) {
	if was == "" || seen == t.setting.Version {
		return false, nil
	}
	drawn, err := t.store.Setting(r.Context(), t.id, seen)
	if err != nil {
		return false, err
	}
	then, ok := k.values(drawn.Trial, was)
	now, still := k.values(t.setting.Trial, was)
	return ok != still || !reflect.DeepEqual(then, now), nil
}

// changeKeep is POST /scores/{id}/class: the thing of the form is kept, as the next
// version of the trial. What is wrong, or would break something, is said at its box
// and nothing is kept; so is what somebody else has changed meanwhile.
func (s *server) changeKeep(w http.ResponseWriter, r *http.Request, t *openTrial, k thing) error {
	f, err := form(w, r)
	if err != nil {
		return err
	}
	was := f.Get("was")
	if was != "" {
		if _, ok := k.values(t.setting.Trial, was); !ok {
			return noSuch(k, was)
		}
	}
	p := s.changePage(r, t, k, was, f)
	p.WhoBy = initials{"by", f.Get("by"), nameless(f.Get("by"))}
	seen, ok := book.NumberText(f.Get("seen"))
	if !ok {
		return book.Torn()
	}
	if moved, err := s.moved(r, t, k, was, seen); err != nil {
		return err
	} else if moved {
		now, _ := k.values(t.setting.Trial, was)
		p.beside(k.rows(t, now))
		p.Moved = fmt.Sprintf("%s changed this %s while you filled in the form. What stands there now is beside each box; keep yours again to put it in its place.", cmp.Or(t.setting.By, "Somebody"), k.word())
		return s.Render(w, http.StatusConflict, "scores_change", p)
	}
	next, name, wrong := k.put(t, was, f)
	if next != nil && len(wrong) == 0 {
		wrong = map[string]string{}
		p.Faults = t.breaks(next, k.place(next, name), func(box, says string) bool {
			if p.has(box) && wrong[box] == "" {
				wrong[box] = says
			}
			return p.has(box)
		})
	}
	if markRows(p.Rows, wrong); len(wrong) > 0 || len(p.Faults) > 0 || p.WhoBy.Wrong != "" {
		return s.Render(w, http.StatusUnprocessableEntity, "scores_change", p)
	}
	note := fmt.Sprintf("%s %s added", k.word(), name)
	if was != "" {
		note = fmt.Sprintf("%s %s changed", k.word(), name)
	}
	to := backTo(t, k) + "?"
	if f.Get("next") != "" { // one more of the kind, beginning like this one
		to = "/scores/" + url.PathEscape(t.id) + "/" + k.word() + "?" + url.Values{"class": {f.Get("class")}, "phase": {f.Get("phase")}}.Encode() + "&"
	}
	return s.changed(w, r, t, next, f.Get("by"), note, to)
}

// changed keeps the next version and goes on to a page that says so; to ends where its
// words are put.
func (s *server) changed(w http.ResponseWriter, r *http.Request, t *openTrial, next *trial.Trial, by, note, to string) error {
	if err := s.save(r, t, next, t.setting.Overlay, by, note); err != nil {
		return err
	}
	rememberWriter(w, by)
	http.Redirect(w, r, to+url.Values{"done": {note}}.Encode(), http.StatusSeeOther)
	return nil
}

// changeOut is POST /scores/{id}/class/out: the thing is taken out, where nothing
// needs it and no sheet of it is in.
func (s *server) changeOut(w http.ResponseWriter, r *http.Request, t *openTrial, k thing) error {
	f, err := form(w, r)
	if err != nil {
		return err
	}
	was := f.Get("was")
	v, ok := k.values(t.setting.Trial, was)
	if !ok {
		return noSuch(k, was)
	}
	p := s.changePage(r, t, k, was, v)
	p.WhoOut = initials{"by-out", f.Get("by"), nameless(f.Get("by"))}
	seen, ok := book.NumberText(f.Get("seen"))
	if !ok {
		return book.Torn()
	}
	status := http.StatusUnprocessableEntity
	next, err := k.drop(t.setting.Trial, was)
	moved, movedErr := s.moved(r, t, k, was, seen)
	switch {
	case movedErr != nil:
		return movedErr
	case moved:
		p.Moved = fmt.Sprintf("%s changed this %s while you looked. This is what stands there now.", cmp.Or(t.setting.By, "Somebody"), k.word())
		status = http.StatusConflict
	case err != nil:
		if p.Faults = book.FaultsOf(err); p.Faults == nil {
			return err
		}
	case p.Sheets > 0:
		p.Faults = fault.List{{Code: fault.Input, Rule: k.word() + "-sheets", Place: k.word() + " " + was, Message: p.SheetsIn(), Hint: "what was written stays; it cannot be taken out any more"}}
	default:
		p.Faults = t.breaks(next, "", nil)
	}
	if p.Moved != "" || p.Faults != nil || p.WhoOut.Wrong != "" {
		return s.Render(w, status, "scores_change", p)
	}
	return s.changed(w, r, t, next, f.Get("by"), fmt.Sprintf("%s %s taken out", k.word(), was), backTo(t, k)+"?")
}

// SheetsIn says how many sheets of the thing are in.
func (p *changePage) SheetsIn() string {
	if p.Sheets == 1 {
		return "a sheet of it is in"
	}
	return fmt.Sprintf("%d sheets of it are in", p.Sheets)
}

// wanting is the box of what a trial says is missing in a thing as a whole.
func wanting(rule string) string {
	return map[string]string{"course-allowed": "allowed_s", "course-speed": "speed_m_per_min", "course-points": "points", "test-coefficient": "coefficient"}[rule]
}

// breaks tells what a change would break. A problem of the thing at a place is handed
// to box, by the box's name; what box does not take is listed, the sheets by their run.
func (t *openTrial) breaks(next *trial.Trial, place string, box func(ref, says string) bool) fault.List {
	if t.profile == nil {
		return nil // the rules themselves are in trouble, and the page says so
	}
	var left fault.List
	now := t.ledger.Trial(next)
	for _, pr := range t.now().Worse(now, t.profile) {
		at := pr.Path
		if pr.Sheet > 0 {
			s := &now.Sheets[pr.Sheet-1]
			at = fmt.Sprintf("sheet of %d, %s", s.Entry, t.pileFor(s).name(t.setting.Trial))
		} else if rest, ok := strings.CutPrefix(pr.Path, place); ok && place != "" && box != nil {
			ref, says := boxOf(rest), pr.Message
			if rest == "" {
				ref = wanting(pr.Rule) // its hint is how a file says it; the box says it itself
			} else if pr.Hint != "" {
				says += "; " + pr.Hint
			}
			if box(ref, says) {
				continue
			}
			at = ""
		}
		left = append(left, &fault.Fault{Code: fault.Input, Rule: pr.Rule, Place: at, Message: pr.Message, Hint: pr.Hint})
	}
	return left.Fewer(6)
}

// among is what is wrong with a value that is none of those offered; "" nothing.
func among(value string, words ...string) string {
	if value == "" || slices.Contains(words, value) {
		return ""
	}
	return "one of these is wanted: " + strings.Join(words, ", ")
}

// shortName is what is wrong with a name that stands on sheets and in addresses, and
// that the thing called was until now is to have.
func shortName(t *openTrial, k thing, was, name string) string {
	_, there := k.values(t.setting.Trial, name)
	switch {
	case there && name != was:
		return "there is a " + k.word() + " of that name already; give this one another"
	case name == "":
		return "a short name is wanted, as it stands on the sheets"
	case len(name) > 24 || strings.ContainsAny(name, ":;,|\"\n"):
		return "24 letters at most, without : ; , |"
	}
	return ""
}

// nth is the k-th of several values of one key; "" where there are fewer.
func nth(v url.Values, key string, k int) string {
	if all := v[key]; k < len(all) {
		return all[k]
	}
	return ""
}
