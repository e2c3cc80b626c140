package web

import (
	"html/template"
	"net/http"
	"strings"

	"terret/internal/geom"
	"terret/internal/plan"
	"terret/internal/survey"
)

// arenaPage lays out a dressage arena of a usual size, or any other, without a
// plan: corners, diagonals, letters.
type arenaPage struct {
	Frame
	Sizes   []choice
	Size    string // as typed
	Wrong   string // what is wrong with it; "" is nothing
	List    *survey.StakeList
	Groups  []stakeGroup
	Drawing template.HTML
	Key     string // names this size for the ticks
}

// arenaSizes are usual sizes in metres, width by length (common practice; the
// organiser's rule book decides).
var arenaSizes = []string{"20x40", "20x60", "40x80", "40x100"}

// settingOutArena is GET /ground/arena?size=40x80.
func (s *server) settingOutArena(w http.ResponseWriter, r *http.Request) error {
	v := arenaPage{Frame: s.frame("ground", "Dressage arena"), Size: strings.TrimSpace(r.URL.Query().Get("size"))}
	if v.Size == "" {
		v.Size = "40x80"
	}
	plain := strings.ToLower(strings.NewReplacer(" ", "", "×", "x", "*", "x", ",", ".").Replace(v.Size))
	for _, size := range arenaSizes {
		v.Sizes = append(v.Sizes, choice{size, strings.ReplaceAll(size, "x", " × ") + " m", size == plain})
	}
	a := &plan.Arena{Size: plain}
	width, length, ok := a.Dims()
	if !ok || width < 5 || length < 10 || width > 200 || length > 400 || width > length {
		v.Wrong = "\"" + v.Size + "\" is no size that fits; write width x length in metres, such as 40x80, at least 5 by 10, the shorter side first"
		return s.render(w, http.StatusUnprocessableEntity, "setting_out_arena", v)
	}
	const around = 100. // m of field about it, out of the drawing
	a.At = geom.Vec{X: width / 2}
	p := &plan.Plan{Name: "Arena", Arena: a, Ground: plan.Ground{Outline: geom.Polygon{{X: -around, Y: -around}, {X: width + around, Y: -around}, {X: width + around, Y: length + around}, {X: -around, Y: length + around}}}}
	var err error
	if v.List, err = survey.Stakes(survey.Question{Plan: p, Target: survey.Target{Arena: true}}); err != nil {
		return err
	}
	v.Key = "terret set · arena " + plain
	v.Groups = stakeGroups(v.List)
	v.Drawing = stakesDrawing{plan: p, list: v.List}.SVG()
	return s.render(w, http.StatusOK, "setting_out_arena", v)
}
