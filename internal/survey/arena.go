package survey

import (
	"math"

	"terret/internal/geom"
	"terret/internal/plan"
)

// skew is how far the far end of an arena may slip sideways before somebody
// sees it, m (estimate). The allowed difference of the diagonals comes from it.
const skew = 0.10

// ArenaSite is a dressage arena as it is laid out: four corners, equal
// diagonals, letters.
//
//	      C
//	CH ───┬─── CM        left of the middle line, from A: K V E S H
//	H  ·  G  ·  M        right of it:                     F P B R M
//	S  ·  I  ·  R        on it:                           D L X I G
//	E  ·  X  ·  B
//	V  ·  L  ·  P        A stands at the plan's `at`, and its bearing
//	K  ·  D  ·  F        is from A towards C
//	AK ───┴─── AF
//	      A
type ArenaSite struct {
	Size     string       `json:"size"`
	Width    float64      `json:"width_m"`
	Length   float64      `json:"length_m"`
	Diagonal float64      `json:"diagonal_m"`
	Allowed  float64      `json:"allowed_m"` // the two diagonals may differ by it
	Square   [3]float64   `json:"square_m"`  // along the short side, along the long side, across: a right angle
	Corners  []CornerSite `json:"corners"`
	Letters  []LetterSite `json:"letters"`
	Source   string       `json:"letters_from"` // where the letters' offsets are from
	outline  geom.Polygon // AK, CH, CM, AF
	names    []string     // of the outline's points
	along    geom.Vec     // from A to C
	frame    func(x, y float64) geom.Vec
}

// CornerSite is a corner, named by the letters it lies between.
type CornerSite struct {
	ID string  `json:"id"` // "corner.AK"
	X  float64 `json:"x"`
	Y  float64 `json:"y"`
}

// LetterSite is one letter. Letters on the centre line are not marked on the
// ground.
type LetterSite struct {
	Letter string  `json:"letter"`
	Side   string  `json:"side"`    // "left", "right" as seen from A; "A end", "C end", "centre line"
	Along  float64 `json:"along_m"` // from the A end, along the long side
	X      float64 `json:"x"`
	Y      float64 `json:"y"`
}

// offsets are how far the letters of a long side stand from the A end, m, and
// where the figures are from. The ridden sizes are printed in many public arena
// guides: 6 m from the corners, then 14 m or 12 m. The driven ones, 10 m from the
// corners and then even steps, are from memory; for all other sizes the same
// steps are an estimate. The organiser's rule book decides.
func offsets(width, length float64) (at []float64, source string) {
	even := func(corner float64, n int) []float64 {
		var out []float64
		for i := range n {
			out = append(out, corner+(length-2*corner)*float64(i)/float64(n-1))
		}
		return out
	}
	switch [2]float64{width, length} {
	case [2]float64{20, 40}:
		return even(6, 3), "printed in public arena guides"
	case [2]float64{20, 60}:
		return even(6, 5), "printed in public arena guides"
	case [2]float64{40, 80}, [2]float64{40, 100}:
		return even(10, 5), "from memory: look it up in your rule book"
	}
	source = "an estimate for this size: look it up in your rule book"
	switch {
	case length < 25:
		return even(length/6, 3), source
	case length < 60:
		return even(6, 3), source
	case length < 80:
		return even(6, 5), source
	}
	return even(10, 5), source
}

// arenaSite lays an arena out; nil when its size cannot be read.
func arenaSite(a *plan.Arena) *ArenaSite {
	w, l, ok := a.Dims()
	if !ok {
		return nil
	}
	f := a.Bearing.Dir()
	frame := func(x, y float64) geom.Vec { return a.At.Along(f.Right(), x).Along(f, y) }
	s := &ArenaSite{Size: a.Size, Width: w, Length: l, Diagonal: math.Hypot(w, l), frame: frame, along: f}
	s.Allowed = 2 * skew * w / s.Diagonal
	for _, c := range []struct {
		id   string
		x, y float64
	}{{"AK", -w / 2, 0}, {"CH", -w / 2, l}, {"CM", w / 2, l}, {"AF", w / 2, 0}} {
		v := frame(c.x, c.y)
		s.Corners = append(s.Corners, CornerSite{"corner." + c.id, v.X, v.Y})
		s.outline = append(s.outline, v)
		s.names = append(s.names, "corner "+c.id)
	}
	put := func(letter, side string, x, y float64) {
		v := frame(x, y)
		s.Letters = append(s.Letters, LetterSite{letter, side, y, v.X, v.Y})
	}
	at, source := offsets(w, l)
	s.Source = source
	left, right, middle := "KVESH", "FPBRM", "DLXIG"
	if len(at) == 3 {
		left, right, middle = "KEH", "FBM", "DXG"
	}
	put("A", "A end", 0, 0)
	for i, y := range at {
		put(left[i:i+1], "left", -w/2, y)
	}
	put("C", "C end", 0, l)
	for i := len(at) - 1; i >= 0; i-- {
		put(right[i:i+1], "right", w/2, at[i])
	}
	for i, y := range at {
		put(middle[i:i+1], "centre line", 0, y)
	}
	return s
}

// square is the largest right angle of sides 3k, 4k, 5k with k a whole number of
// metres that fits the arena and the tape.
func (s *ArenaSite) square(tape float64) {
	k := math.Floor(math.Min(tape/5, math.Min(s.Width/3, s.Length/4)))
	if k >= 1 {
		s.Square = [3]float64{3 * k, 4 * k, 5 * k}
	}
}
