package trials

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"terret/internal/fault"
	"terret/internal/rules"
	"terret/internal/trial"
	"terret/internal/trial/order"
	"terret/internal/web/book"
)

// scoreTrialPage is who is entered in which class.
type scoreTrialPage struct {
	trialHead
	Classes  []classCard
	Statuses []string
	Done     string
}

// classCard is a class with its entries.
type classCard struct {
	trial.Class
	Phase   string // in words
	Letters string // "A to C"; "" none
	Entries []entryCard
}

type entryCard struct {
	trial.Entry
	With string // horses, grooms, vehicle
	Asks string // its wishes for the order of go
	Out  string // what became of it; "" it drives
}

// Mark is a fresh ID for a form.
func (scoreTrialPage) Mark() string { return newMark() }

// scoreTrial is GET /scores/{id}.
func (s *server) scoreTrial(w http.ResponseWriter, r *http.Request, t *openTrial) error {
	v := &scoreTrialPage{trialHead: s.trialHead(r, t, "entries", "Entries"), Statuses: trial.Statuses(), Done: done(r)}
	now := t.now()
	for i := range now.Classes {
		c := classCard{Class: now.Classes[i], Phase: strings.Join(now.Classes[i].Phases, ", ")}
		if t.profile != nil && c.Has(rules.Hazards) {
			if l := c.Class.Letters(t.profile); len(l) > 0 {
				c.Letters = lettersOf(l[len(l)-1])
			}
		}
		for _, e := range now.Entries {
			if e.Class != c.ID {
				continue
			}
			card := entryCard{Entry: e}
			var with []string
			if len(e.Horses) > 0 {
				with = append(with, strings.Join(e.Horses, " and "))
			}
			if e.Vehicle != "" {
				with = append(with, e.Vehicle)
			}
			if len(e.Grooms) > 0 {
				with = append(with, "groom "+strings.Join(e.Grooms, ", "))
			}
			card.With = strings.Join(with, " · ")
			var asks []string
			for _, w := range e.Wishes {
				asks = append(asks, wishSays(w))
			}
			card.Asks = strings.Join(asks, "; ")
			if e.Status != "" && e.Status != trial.Placed {
				card.Out = e.Status
				if e.InPhase != "" {
					card.Out += " in " + e.InPhase
				}
				if e.Why != "" {
					card.Out += ": " + e.Why
				}
			}
			c.Entries = append(c.Entries, card)
		}
		slices.SortFunc(c.Entries, func(a, b entryCard) int { return a.Number - b.Number })
		v.Classes = append(v.Classes, c)
	}
	return s.Render(w, http.StatusOK, "scores_trial", v)
}

// done is what a page was just sent here to say: that something is kept.
func done(r *http.Request) string {
	says := r.URL.Query().Get("done")
	if len(says) > 80 {
		return ""
	}
	return says
}

func itoaText(n int) string {
	if n == 0 {
		return ""
	}
	return fmt.Sprint(n)
}

// save keeps a changed setting as the next version. t.setting is not touched: the
// caller changes a copy.
func (s *server) save(r *http.Request, t *openTrial, next *trial.Trial, overlay, by, note string) error {
	_, err := t.store.SaveSetting(r.Context(), t.id, t.setting.Version, trial.Setting{Trial: next, Overlay: overlay, Note: note, By: by, At: s.Now()})
	if err != nil {
		return err
	}
	return t.refresh(r.Context())
}

// names parts names at semicolons or commas.
func names(s string) []string {
	var all []string
	for _, n := range strings.FieldsFunc(s, func(c rune) bool { return c == ';' || c == ',' }) {
		if n = strings.TrimSpace(n); n != "" {
			all = append(all, n)
		}
	}
	return all
}

// scoreStatus is POST /scores/{id}/status: scratches an entry, or says otherwise
// what became of it. It is a mark like any other: it says who and when, and what
// stood there before stays in the log.
func (s *server) scoreStatus(w http.ResponseWriter, r *http.Request, t *openTrial) error {
	f, err := form(w, r)
	if err != nil {
		return err
	}
	n, _ := book.NumberText(f.Get("entry"))
	e := t.entry(n)
	if e == nil {
		return &fault.Fault{Code: fault.NotFound, Rule: "entry", Place: "entry " + f.Get("entry"), Message: "there is no such entry in this trial", Hint: "choose one from its list"}
	}
	if why := nameless(f.Get("by")); why != "" {
		return &fault.Fault{Code: fault.Input, Rule: "by", Place: "who writes", Message: "nobody is named", Hint: why}
	}
	status := f.Get("status")
	if !slices.Contains(trial.Statuses(), status) {
		return &fault.Fault{Code: fault.Input, Rule: "status", Place: fmt.Sprintf("entry %d", n), Message: fmt.Sprintf("there is no status %q", status), Hint: "one of these is wanted: " + strings.Join(trial.Statuses(), ", ")}
	}
	if phase := f.Get("in_phase"); phase != "" && !t.class(e.Class).Has(phase) {
		return &fault.Fault{Code: fault.Input, Rule: "entry-phase", Place: fmt.Sprintf("entry %d", n), Message: fmt.Sprintf("class %s does not drive %s", e.Class, phase), Hint: "choose one of its phases, or none"}
	}
	m := s.mark(f.Get("mark"), f.Get("by"))
	if t.ledger.Mark(m.ID) == nil {
		m.Status = &trial.Status{Entry: n, Status: status, InPhase: f.Get("in_phase"), Why: f.Get("why")}
		if old := t.ledger.Counting("status:" + fmt.Sprint(n)); old != nil {
			m.Replaces = old.ID
		}
		if err := t.keep(r.Context(), s.Now(), m); err != nil {
			return err
		}
	}
	rememberWriter(w, m.By)
	if f.Get("back") == "replan" { // it was scratched on the Day page
		http.Redirect(w, r, "/day/"+url.PathEscape(t.id)+"/replan", http.StatusSeeOther)
		return nil
	}
	return seeOther(w, r, t, "", url.Values{"done": {fmt.Sprintf("entry %d is %s now", n, status)}})
}

// scoreFile is GET /scores/{id}/file: the trial with its sheets as a trial/1 file.
func (s *server) scoreFile(w http.ResponseWriter, _ *http.Request, t *openTrial) error {
	doc, err := trial.Encode(t.ledger.Joined(t.setting.Trial))
	if err != nil {
		return err
	}
	return book.Send(w, t.id+".yaml", "application/yaml; charset=utf-8", doc)
}

// wishSays is a wish in words: "cones not before 10:30, behind 7 (shared groom)".
func wishSays(w order.Wish) string {
	says := w.Phase
	add := func(s string) { says = strings.TrimPrefix(says+", "+s, ", ") }
	if w.NotBefore != 0 {
		add("not before " + w.NotBefore.String())
	}
	if w.NotAfter != 0 {
		add("not after " + w.NotAfter.String())
	}
	if w.Behind != 0 {
		add(fmt.Sprintf("behind %d", w.Behind))
	}
	if w.Why != "" {
		says += " (" + w.Why + ")"
	}
	return says
}

// Anybody reports whether there is an entry.
func (v *scoreTrialPage) Anybody() bool {
	return slices.ContainsFunc(v.Classes, func(c classCard) bool { return len(c.Entries) > 0 })
}

// PhaseNames are the phases that some class drives.
func (v *scoreTrialPage) PhaseNames() []string {
	var all []string
	for _, p := range rules.Phases() {
		if slices.ContainsFunc(v.Classes, func(c classCard) bool { return c.Has(p) }) {
			all = append(all, p)
		}
	}
	return all
}

// initials is the box for who writes.
type initials struct{ ID, By, Wrong string }

// Initials is that box in one form of the page.
func (v *scoreTrialPage) Initials(id string) initials { return initials{ID: id, By: v.By} }
