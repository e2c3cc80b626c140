package trials

import (
	"fmt"
	"net/http"

	"terret/internal/fault"
	"terret/internal/rules"
	"terret/internal/trial"
	"terret/internal/web/book"
)

// scoreListPage lists the trials that are kept.
type scoreListPage struct {
	book.Frame
	Trials []trialCard
	File   string // a file that was not brought in
	Faults fault.List
}

type trialCard struct {
	trial.Setting
	Says string // what it holds
}

func (s *server) scoreListPage(r *http.Request) (scoreListPage, error) {
	v := scoreListPage{Frame: s.Frame("scores", "Scores")}
	all, err := s.opened.store.Trials(r.Context())
	for _, t := range all {
		c := trialCard{Setting: t}
		if t.Trial != nil {
			c.Says = trialHolds(t.Trial)
		}
		v.Trials = append(v.Trials, c)
	}
	return v, err
}

// trialHolds says how large a trial is.
func trialHolds(t *trial.Trial) string {
	return many(len(t.Entries), "entry", "entries") + " in " + many(len(t.Classes), "class", "classes") + ", rules " + t.Rules
}

// many writes a number of things.
func many(n int, one, more string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprint(n, " ", more)
}

// scoreList is GET /scores.
func (s *server) scoreList(w http.ResponseWriter, r *http.Request) error {
	v, err := s.scoreListPage(r)
	if err != nil {
		return err
	}
	return s.Render(w, http.StatusOK, "scores", v)
}

// scoreImport is POST /scores/import: a trial/1 file becomes a trial here, its
// sheets the first marks of the ledger. With faults nothing is written.
func (s *server) scoreImport(w http.ResponseWriter, r *http.Request) error {
	name, data, err := book.Upload(w, r)
	if err != nil {
		return err
	}
	by := r.PostFormValue("by")
	if by == "" {
		by = "import"
	}
	t, _, err := trial.Decode(name, data, builtIn)
	if l := book.FaultsOf(err); l != nil {
		v, listErr := s.scoreListPage(r)
		if listErr != nil {
			return listErr
		}
		v.File, v.Faults = name, l
		return s.Render(w, book.StatusOf(err), "scores", v)
	}
	if err != nil {
		return err
	}
	setting, marks := trial.Split(t, by, "file", s.Now())
	kept, err := s.opened.store.SaveSetting(r.Context(), book.NewID(t.Name), 0, trial.Setting{Trial: setting, Note: "brought in from " + name, By: by, At: s.Now()})
	if err != nil {
		return err
	}
	if _, err := s.opened.store.Append(r.Context(), kept.ID, marks, s.Now()); err != nil {
		return err
	}
	http.Redirect(w, r, "/scores/"+kept.ID, http.StatusSeeOther)
	return nil
}

// builtIn finds a profile by its name. A file beside the trial is on another
// machine perhaps: such a trial comes in by the command line.
func builtIn(name string) (*rules.Profile, error) {
	if name == "" {
		name = rules.Default
	}
	for _, n := range rules.Names() {
		if n == name {
			return rules.Load(n)
		}
	}
	return nil, &fault.Fault{Code: fault.Input, Rule: "profile", Message: fmt.Sprintf("there is no built-in profile %q", name), Hint: "a trial with a rule file of its own comes in with `terret trial import`"}
}
