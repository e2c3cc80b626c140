package trials

import (
	"net/http"
	"strings"

	"terret/internal/fault"
	"terret/internal/sheet"
	"terret/internal/web/book"
)

// rotaFile is GET /day/{id}/rota/file.
func (s *server) rotaFile(w http.ResponseWriter, r *http.Request) error {
	v, err := s.rotas.Rota(r.Context(), r.PathValue("id"), 0)
	if err != nil {
		return err
	}
	return book.Send(w, v.Trial+"-jobs.yaml", "application/yaml; charset=utf-8", v.Document)
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
	in := sheet.RotaInput{Rota: v.rota, Job: q.Get("job"), Blank: q.Get("blank") != "", Version: v.Kept(), PrintedAt: s.Now()}
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
	return book.SendPaper(w, kind, format, doc)
}
