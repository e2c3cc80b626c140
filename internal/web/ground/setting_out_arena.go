package ground

import (
	"fmt"
	"html/template"
	"net/http"
	"strings"

	"terret/internal/fault"
	"terret/internal/geom"
	"terret/internal/plan"
	"terret/internal/sheet"
	"terret/internal/survey"
	"terret/internal/web/book"
)

// arenaPage lays out a dressage arena of a usual size, or any other, without a
// plan: corners, diagonals, letters.
type arenaPage struct {
	book.Frame
	Sizes   []book.Choice
	Size    string // as typed
	Wrong   string // what is wrong with it; "" is nothing
	List    *survey.StakeList
	Groups  []stakeGroup
	Drawing template.HTML
	Sheets  []sheetLink
	Key     string // names this size for the ticks
}

// arenaSizes are usual sizes in metres, width by length (common practice; the
// organiser's rule book decides).
var arenaSizes = []string{"20x40", "20x60", "40x80", "40x100"}

// settingOutArena is GET /ground/arena?size=40x80.
func (s *server) settingOutArena(w http.ResponseWriter, r *http.Request) error {
	v := arenaPage{Frame: s.Frame("ground", "Dressage arena"), Size: strings.TrimSpace(r.URL.Query().Get("size"))}
	if v.Size == "" {
		v.Size = "40x80"
	}
	plain := plainSize(v.Size)
	for _, size := range arenaSizes {
		v.Sizes = append(v.Sizes, book.Choice{Value: size, Label: strings.ReplaceAll(size, "x", " × ") + " m", On: size == plain})
	}
	p, err := loneArena(plain)
	if err != nil {
		v.Wrong = book.FaultsOf(err)[0].Message + "; " + book.FaultsOf(err)[0].Hint
		return s.Render(w, http.StatusUnprocessableEntity, "setting_out_arena", v)
	}
	if v.List, err = survey.Stakes(survey.Question{Plan: p, Target: survey.Target{Arena: true}}); err != nil {
		return err
	}
	for _, l := range s.sheetLinks(sheetsOf{Saved: plan.Saved{Plan: p}, Of: sheet.OfArena}) {
		if l.Name != sheet.Materials {
			v.Sheets = append(v.Sheets, l)
		}
	}
	v.Key = "terret set · arena " + plain
	v.Groups = stakeGroups(v.List)
	v.Drawing = stakesDrawing{plan: p, list: v.List}.SVG()
	return s.Render(w, http.StatusOK, "setting_out_arena", v)
}

// plainSize is a size as people type it, as a plan has it.
func plainSize(typed string) string {
	return strings.ToLower(strings.NewReplacer(" ", "", "×", "x", "*", "x", ",", ".").Replace(typed))
}

// loneArena is a field with nothing but an arena of a size.
func loneArena(size string) (*plan.Plan, error) {
	a := &plan.Arena{Size: size}
	width, length, ok := a.Dims()
	if !ok || width < 5 || length < 10 || width > 200 || length > 400 || width > length {
		return nil, &fault.Fault{Code: fault.Input, Rule: "arena-size", Place: "arena", Message: fmt.Sprintf("%q is no size that fits", size), Hint: "write width x length in metres, such as 40x80, at least 5 by 10, the shorter side first"}
	}
	const around = 100. // m of field about it, out of the drawing
	a.At = geom.Vec{X: width / 2}
	return &plan.Plan{Name: "Arena", Arena: a, Ground: plan.Ground{Outline: geom.Polygon{{X: -around, Y: -around}, {X: width + around, Y: -around}, {X: width + around, Y: length + around}, {X: -around, Y: length + around}}}}, nil
}
