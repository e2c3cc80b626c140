package turnouts

import (
	"fmt"
	"net/http"
	"slices"
	"strings"

	"terret/internal/fault"
	"terret/internal/plan"
	"terret/internal/sheet"
	"terret/internal/turnout"
	"terret/internal/web/book"
)

// paper is GET /turnouts/{id}/papers/{kind}.pdf and .svg?paper=a4|letter.
func (s *server) paper(w http.ResponseWriter, r *http.Request) error {
	kind, format, _ := strings.Cut(r.PathValue("sheet"), ".")
	if !slices.Contains(sheet.TurnoutKinds(), kind) || format != "pdf" && format != "svg" {
		return &fault.Fault{Code: fault.NotFound, Rule: "sheet", Place: r.URL.Path, Message: "there is no such paper", Hint: "there are " + strings.Join(sheet.TurnoutKinds(), ", ") + ", each as .pdf and .svg"}
	}
	q := r.URL.Query()
	paper, err := sheet.PaperNamed(q.Get("paper"))
	if err != nil {
		return err
	}
	saved, t, err := s.asked(r)
	if err != nil {
		return err
	}
	in := sheet.TurnoutInput{Turnout: t, Version: plan.VersionLetter(saved.Version), PrintedAt: s.Now(), Paper: paper}
	if in.Card, err = s.card(t, q.Get("green") != "", orderOf(q.Get("order"))); err != nil {
		return err
	}
	own, err := s.ownPrints(r, saved.ID)
	if err != nil {
		return err
	}
	in.Trots = sheet.TrotsOf(t, own)
	pages, err := sheet.Turnout(kind, in)
	if err != nil {
		return err
	}
	doc, err := sheet.File(pages, format == "svg", sheet.Meta{Title: t.Name, Subject: kind, At: in.PrintedAt})
	if err != nil {
		return err
	}
	return book.SendPaper(w, fmt.Sprintf("%s-%s-%s", kind, saved.ID, in.Version), format, doc)
}

// card is a turnout's check card today.
func (s *server) card(t *turnout.Turnout, green bool, joints []string) (*turnout.Card, error) {
	return turnout.NewCard(t, turnout.CardOptions{Conditions: turnout.Conditions{Today: s.Now()}, Green: green, Joints: joints})
}

// orderOf is a school's order of the joints as it was typed; nil is the usual one.
func orderOf(text string) []string {
	if strings.TrimSpace(text) == "" {
		return nil
	}
	return strings.FieldsFunc(text, func(c rune) bool { return c == ',' || c == ';' })
}
