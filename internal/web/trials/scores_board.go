package trials

import (
	"crypto/sha256"
	"encoding/hex"
	"net/http"
	"slices"

	"terret/internal/web/book"
)

// boardPage is the placings for everybody, on a big screen or a phone.
type boardPage struct {
	trialHead
	Classes []classScores
	Names   []book.Choice // of classes, to look at one alone
	One     string
	Memory  []string
}

// scoreBoard is GET /scores/{id}/board?class=N. A page that shows it asks again
// and again; as long as nothing has changed the answer is 304 and empty.
func (s *server) scoreBoard(w http.ResponseWriter, r *http.Request, t *openTrial) error {
	v := boardPage{trialHead: s.trialHead(r, t, "board", "Board"), One: r.URL.Query().Get("class")}
	for _, c := range t.classesScored(s.Now()) {
		v.Names = append(v.Names, book.Choice{Value: c.ID, Label: c.Name, On: c.ID == v.One})
		if v.One == "" || v.One == c.ID {
			v.Classes = append(v.Classes, c)
		}
	}
	if a := t.answer(); a != nil {
		v.Memory = a.FromMemory
	}
	h := &heldAnswer{header: http.Header{}}
	if err := s.Render(h, http.StatusOK, "scores_board", v); err != nil {
		return err
	}
	sum := sha256.Sum256(h.body.Bytes())
	tag := `"` + hex.EncodeToString(sum[:12]) + `"`
	w.Header().Set("ETag", tag)
	if slices.Contains(r.Header.Values("If-None-Match"), tag) {
		w.WriteHeader(http.StatusNotModified)
		return nil
	}
	w.Header().Set("Content-Type", h.header.Get("Content-Type"))
	w.WriteHeader(h.status)
	_, err := w.Write(h.body.Bytes())
	return err
}
