package trials

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"

	"terret/internal/rules"
	"terret/internal/trial"
	"terret/internal/web/book"
)

// scoreNewPage begins a trial: with nothing in it, or like an earlier one.
type scoreNewPage struct {
	book.Frame
	Rows  []fillRow
	WhoBy initials
}

// scoreNewPage is the form with what stands in it, and the trials that the new one
// may be like.
func (s *server) scoreNewPage(r *http.Request, f url.Values) (*scoreNewPage, []trial.Setting, error) {
	all, err := s.opened.store.Trials(r.Context())
	if err != nil {
		return nil, nil, err
	}
	like := fill{Key: "like", Label: "Begin with", Hint: "Like an earlier day: its classes, courses, tests, phases and rests, without anybody's entry.", Choices: []book.Choice{{Value: "", Label: "nothing in it", On: f.Get("like") == ""}}}
	for _, t := range all {
		if t.Trial != nil {
			like.Choices = append(like.Choices, book.Choice{Value: t.ID, Label: "what " + t.Name + " had", On: t.ID == f.Get("like")})
		}
	}
	title, profile := rulesBoxes(f.Get("name"), f.Get("rules"), false)
	title.Hint = "It stands on every sheet."
	if len(like.Choices) > 1 {
		profile.Choices = append([]book.Choice{{Value: "", Label: "those of the earlier day, or " + rules.Default, On: f.Get("rules") == ""}}, profile.Choices...)
	}
	v := &scoreNewPage{Frame: s.Frame("scores", "A new day to score"), WhoBy: initials{ID: "by", By: writer(r)}}
	v.Rows = []fillRow{{Boxes: []fill{title}}}
	if len(like.Choices) > 1 {
		v.Rows = append(v.Rows, fillRow{Boxes: []fill{like}})
	}
	v.Rows = append(v.Rows, fillRow{Boxes: []fill{profile}})
	return v, all, nil
}

// scoreNew is GET /scores/new.
func (s *server) scoreNew(w http.ResponseWriter, r *http.Request) error {
	q := r.URL.Query()
	if !q.Has("rules") && !q.Has("like") {
		q.Set("rules", rules.Default)
	}
	v, _, err := s.scoreNewPage(r, q)
	if err != nil {
		return err
	}
	return s.Render(w, http.StatusOK, "scores_new", v)
}

// scoreBegin is POST /scores/new: the first version of a new trial.
func (s *server) scoreBegin(w http.ResponseWriter, r *http.Request) error {
	f, err := form(w, r)
	if err != nil {
		return err
	}
	v, all, err := s.scoreNewPage(r, f)
	if err != nil {
		return err
	}
	v.WhoBy = initials{"by", f.Get("by"), nameless(f.Get("by"))}
	wrong := wrongs{}
	wrong.add("name", dayName(f.Get("name")))
	next := trial.Setting{Trial: &trial.Trial{}, Note: "begun", By: f.Get("by"), At: s.Now()}
	if id := f.Get("like"); id != "" {
		like := -1
		for i := range all {
			if all[i].ID == id && all[i].Trial != nil {
				like = i
			}
		}
		if like < 0 {
			wrong.add("like", "choose one from the list")
		} else {
			next.Trial, next.Overlay = all[like].Trial.Afresh(), all[like].Overlay
			next.Note = "begun like " + all[like].Name
		}
	}
	next.Trial.Name = f.Get("name")
	switch name := f.Get("rules"); {
	case name != "":
		p, err := builtIn(name)
		if err != nil {
			return err
		}
		next.Trial.Rules, next.Overlay = p.Name, ""
	case f.Get("like") == "":
		next.Trial.Rules = rules.Default
	}
	if len(wrong) == 0 {
		p, err := next.Profile()
		if err != nil {
			return err
		}
		for _, pr := range next.Trial.Validate(p) {
			wrong.add("rules", strings.TrimSuffix(pr.Message+"; "+pr.Hint, "; "))
		}
	}
	if len(wrong) > 0 || v.WhoBy.Wrong != "" {
		markRows(v.Rows, wrong)
		return s.Render(w, http.StatusUnprocessableEntity, "scores_new", v)
	}
	kept, err := s.opened.store.SaveSetting(r.Context(), book.NewID(next.Trial.Name), 0, next)
	if err != nil {
		return err
	}
	rememberWriter(w, f.Get("by"))
	http.Redirect(w, r, "/scores/"+url.PathEscape(kept.ID)+"/setup?"+url.Values{"done": {fmt.Sprintf("%s is begun", next.Trial.Name)}}.Encode(), http.StatusSeeOther)
	return nil
}
