package turnout

// Minimum is the least track and marathon weight of one class in published
// rules. Rules differ, so each is a list.
type Minimum struct {
	Hitch, Size string
	TrackCM     []Figure // dressage, cones, marathon
	MarathonKG  []Figure // weight of the empty marathon vehicle
}

// Figure is one published number.
type Figure struct {
	Value float64
	Rule  string // whose, which edition, for what
}

const (
	fei2000   = "FEI-style, dressage and cones (Luxembourg rules of 2000; encyclopaedia text)"
	knhsTrack = "Dutch national rules art. 440, web edition: dressage, cones, marathon"
	knhsKG    = "Dutch national rules art. 440, marathon, class Z"
	lux2000   = "Luxembourg rules of 2000, marathon"
)

// Minimums are the rows that were found. For very small equines none was.
func Minimums() []Minimum {
	kg := func(nl, lu float64) []Figure { return []Figure{{nl, knhsKG}, {lu, lux2000}} }
	cm := func(fei float64) []Figure { return []Figure{{fei, fei2000}, {125, knhsTrack}} }
	old := Figure{120, "Luxembourg rules of 2000, marathon"}
	return []Minimum{
		{Single, Pony, cm(138), kg(90, 90)},
		{PairH, Pony, append(cm(138), old), []Figure{{175, knhsKG}, {225, "FEI-style and Luxembourg rules of 2000, marathon"}}},
		{Tandem, Pony, cm(138), kg(90, 90)},
		{Four, Pony, append(cm(138), old), kg(300, 300)},
		{Single, HorseSize, cm(138), kg(150, 150)},
		{PairH, HorseSize, cm(148), kg(350, 350)},
		{Tandem, HorseSize, append(cm(148), Figure{138, "encyclopaedia text, dressage and cones"}), kg(150, 150)},
		{Four, HorseSize, cm(158), kg(600, 600)},
	}
}

// minimum finds the row of a class.
func minimum(hitch, size string) (Minimum, bool) {
	for _, m := range Minimums() {
		if m.Hitch == hitch && m.Size == size {
			return m, true
		}
	}
	return Minimum{}, false
}

// span is the least and the greatest of published figures.
func span(f []Figure) (low, high Figure) {
	low, high = f[0], f[0]
	for _, x := range f {
		if x.Value < low.Value {
			low = x
		}
		if x.Value > high.Value {
			high = x
		}
	}
	return low, high
}
