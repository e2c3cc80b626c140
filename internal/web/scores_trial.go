package web

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"terret/internal/fault"
	"terret/internal/rules"
	"terret/internal/trial"
)

// scoreTrialPage is a trial's classes, entries and profile.
type scoreTrialPage struct {
	trialHead
	Version  int
	Profiles []choice
	Overlay  bool // rules of its own are kept with it
	Classes  []classCard
	Form     map[string]string // of an entry that is added or changed
	Wrong    map[string]string // what is wrong, by box
	Editing  bool
	Moved    string
	Statuses []string
	Done     string
}

// classCard is a class with its entries.
type classCard struct {
	trial.Class
	Phase   string // in words
	Entries []entryCard
}

type entryCard struct {
	trial.Entry
	With string // horses, grooms, vehicle
	Out  string // what became of it; "" it drives
}

// Mark is a fresh ID for a form.
func (scoreTrialPage) Mark() string { return newMark() }

func (s *server) scoreTrialPage(r *http.Request, t *openTrial) *scoreTrialPage {
	v := &scoreTrialPage{trialHead: s.trialHead(r, t, "entries", "Entries"), Version: t.setting.Version, Overlay: t.setting.Overlay != "", Form: map[string]string{}, Wrong: map[string]string{}, Statuses: trial.Statuses()}
	own := t.setting.Trial.Rules
	if own == "" {
		own = rules.Default
	}
	for _, n := range rules.Names() {
		v.Profiles = append(v.Profiles, choice{n, n, n == own && !v.Overlay})
	}
	now := t.now()
	for i := range now.Classes {
		c := classCard{Class: now.Classes[i], Phase: strings.Join(now.Classes[i].Phases, ", ")}
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
	return v
}

// scoreTrial is GET /scores/{id}?entry=7: the entry is put into the form.
func (s *server) scoreTrial(w http.ResponseWriter, r *http.Request, t *openTrial) error {
	v := s.scoreTrialPage(r, t)
	v.Done = map[string]string{"entry": "The entry is kept.", "rules": "The rules are kept; every score was counted anew.", "status": "It is kept what became of the entry."}[r.URL.Query().Get("done")]
	if n, ok := numberText(r.URL.Query().Get("entry")); ok {
		e := t.entry(n)
		if e == nil {
			return &fault.Fault{Code: fault.NotFound, Rule: "entry", Place: fmt.Sprintf("entry %d", n), Message: "there is no such entry in this trial", Hint: "choose one from its list"}
		}
		v.Editing = true
		v.Form = map[string]string{"number": itoaText(e.Number), "was": itoaText(e.Number), "class": e.Class, "driver": e.Driver, "grooms": strings.Join(e.Grooms, "; "), "horses": strings.Join(e.Horses, "; "), "vehicle": e.Vehicle, "gap_cm": itoaText(e.GapCM)}
	}
	return s.render(w, http.StatusOK, "scores_trial", v)
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
	_, err := t.store.SaveSetting(r.Context(), t.id, t.setting.Version, trial.Setting{Trial: next, Overlay: overlay, Note: note, By: by, At: s.now()})
	if err != nil {
		return err
	}
	return t.refresh(r.Context())
}

// scoreEntry is POST /scores/{id}/entries: adds an entry, or changes one. The
// trial is kept as its next version; sheets that came in stay as they are.
func (s *server) scoreEntry(w http.ResponseWriter, r *http.Request, t *openTrial) error {
	f, err := form(w, r)
	if err != nil {
		return err
	}
	v := s.scoreTrialPage(r, t)
	for _, k := range []string{"number", "was", "class", "driver", "grooms", "horses", "vehicle", "gap_cm", "by"} {
		v.Form[k] = f.Get(k)
	}
	v.Editing = v.Form["was"] != ""
	wrong := v.Wrong
	n, ok := numberText(v.Form["number"])
	if !ok {
		wrong["number"] = "a number from 1 to 99999 is wanted, the one on the carriage"
	}
	if t.class(v.Form["class"]) == nil {
		wrong["class"] = "choose the class from the list"
	}
	if v.Form["driver"] == "" {
		wrong["driver"] = "write who drives"
	}
	if why := nameless(v.Form["by"]); why != "" {
		wrong["by"] = why
	}
	gap := 0
	if g := v.Form["gap_cm"]; g != "" {
		if gap, ok = numberText(g); !ok || gap > 1000 {
			wrong["gap_cm"] = "whole centimetres, from 1 to 1000, such as 165"
		}
	}
	was, _ := numberText(v.Form["was"])
	if n > 0 && n != was && t.entry(n) != nil {
		wrong["number"] = fmt.Sprintf("number %d is %s already; give this one another", n, t.entry(n).Driver)
	}
	if was > 0 && n != was && t.hasSheets(was) {
		wrong["number"] = fmt.Sprintf("sheets of %d are in; its number cannot change any more", was)
	}
	if len(wrong) > 0 {
		return s.render(w, http.StatusUnprocessableEntity, "scores_trial", v)
	}
	next := *t.setting.Trial
	next.Entries = slices.Clone(next.Entries)
	at := slices.IndexFunc(next.Entries, func(e trial.Entry) bool { return e.Number == was })
	note := fmt.Sprintf("entry %d changed", n)
	if at < 0 {
		next.Entries = append(next.Entries, trial.Entry{})
		at = len(next.Entries) - 1
		note = fmt.Sprintf("entry %d added", n)
	}
	e := &next.Entries[at]
	e.Number, e.Class, e.Driver, e.Vehicle, e.GapCM = n, v.Form["class"], v.Form["driver"], v.Form["vehicle"], gap
	e.Grooms, e.Horses = names(v.Form["grooms"]), names(v.Form["horses"])
	if err := s.saved(r, t, &next, v, note); err != nil {
		return err
	}
	if len(v.Wrong) > 0 {
		return s.render(w, http.StatusUnprocessableEntity, "scores_trial", v)
	}
	if v.Moved != "" {
		return s.render(w, http.StatusConflict, "scores_trial", v)
	}
	rememberWriter(w, v.Form["by"])
	return seeOther(w, r, t, "", map[string][]string{"done": {"entry"}})
}

// saved keeps next, or says on the page why not.
func (s *server) saved(r *http.Request, t *openTrial, next *trial.Trial, v *scoreTrialPage, note string) error {
	if t.profile != nil {
		for _, p := range next.Validate(t.profile) {
			if p.Rule == "entry-class" || p.Rule == "entry-phase" {
				v.Wrong["class"] = p.Message
			}
		}
	}
	if len(v.Wrong) > 0 {
		return nil
	}
	err := s.save(r, t, next, t.setting.Overlay, v.Form["by"], note)
	if code, ok := fault.CodeOf(err); ok && code == fault.Conflict {
		v.Moved = "Somebody changed the trial while you typed. What you typed is still here; keep it again."
		return nil
	}
	return err
}

// hasSheets reports whether a sheet of an entry counts.
func (t *openTrial) hasSheets(n int) bool {
	now := t.now()
	return slices.ContainsFunc(now.Sheets, func(s trial.Sheet) bool { return s.Entry == n })
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

// scoreRules is POST /scores/{id}/rules: another profile counts from now on.
func (s *server) scoreRules(w http.ResponseWriter, r *http.Request, t *openTrial) error {
	f, err := form(w, r)
	if err != nil {
		return err
	}
	v := s.scoreTrialPage(r, t)
	v.Form["by"] = f.Get("by")
	if why := nameless(f.Get("by")); why != "" {
		v.Wrong["rules-by"] = why
	}
	p, err := builtIn(f.Get("rules"))
	if err != nil {
		return err
	}
	next := *t.setting.Trial
	next.Rules = p.Name
	for _, pr := range next.Validate(p) {
		v.Wrong["rules"] = pr.Message + "; " + pr.Hint
		break
	}
	if len(v.Wrong) > 0 {
		for i := range v.Profiles {
			v.Profiles[i].On = v.Profiles[i].Value == p.Name
		}
		return s.render(w, http.StatusUnprocessableEntity, "scores_trial", v)
	}
	if err := s.save(r, t, &next, "", f.Get("by"), "rules: "+p.Name); err != nil {
		return err
	}
	rememberWriter(w, f.Get("by"))
	return seeOther(w, r, t, "", map[string][]string{"done": {"rules"}})
}

// scoreStatus is POST /scores/{id}/status: scratches an entry, or says otherwise
// what became of it. It is a mark like any other: it says who and when, and what
// stood there before stays in the log.
func (s *server) scoreStatus(w http.ResponseWriter, r *http.Request, t *openTrial) error {
	f, err := form(w, r)
	if err != nil {
		return err
	}
	n, _ := numberText(f.Get("entry"))
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
		if err := t.keep(r.Context(), s.now(), m); err != nil {
			return err
		}
	}
	rememberWriter(w, m.By)
	if f.Get("back") == "replan" { // it was scratched on the Day page
		http.Redirect(w, r, "/day/"+url.PathEscape(t.id)+"/replan", http.StatusSeeOther)
		return nil
	}
	return seeOther(w, r, t, "", map[string][]string{"done": {"status"}})
}

// scoreFile is GET /scores/{id}/file: the trial with its sheets as a trial/1 file.
func (s *server) scoreFile(w http.ResponseWriter, _ *http.Request, t *openTrial) error {
	doc, err := trial.Encode(t.ledger.Joined(t.setting.Trial))
	if err != nil {
		return err
	}
	return send(w, t.id+".yaml", "application/yaml; charset=utf-8", doc)
}

// entryField is one box of the form of an entry.
type entryField struct {
	Key, Label, Value, Wrong string
	Numeric                  bool
}

// Fields are the boxes of the form of an entry.
func (v *scoreTrialPage) Fields() []entryField {
	var all []entryField
	for _, k := range [][2]string{{"number", "Number"}, {"driver", "Driver"}, {"horses", "Horses, parted by semicolons"}, {"grooms", "Grooms, parted by semicolons"}, {"vehicle", "Vehicle"}, {"gap_cm", "Cones gap, cm"}} {
		all = append(all, entryField{k[0], k[1], v.Form[k[0]], v.Wrong[k[0]], k[0] == "number" || k[0] == "gap_cm"})
	}
	return all
}

// WrongClass and WrongRules are what is wrong with a choice.
func (v *scoreTrialPage) WrongClass() string { return v.Wrong["class"] }

// WrongRules is what is wrong with the chosen profile.
func (v *scoreTrialPage) WrongRules() string { return v.Wrong["rules"] }

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

// Initials is that box in one form of the page; key is where its fault stands.
func (v *scoreTrialPage) Initials(id, key string) initials {
	by := v.Form["by"]
	if by == "" {
		by = v.By
	}
	return initials{id, by, v.Wrong[key]}
}
