package turnout

// Source is where a figure comes from and how sure it is.
type Source struct {
	Text       string `json:"text"`
	Confidence string `json:"confidence"` // read, common practice, estimate, from memory
}

// The confidences of a figure.
const (
	ReadThere      = "read"
	CommonPractice = "common practice"
	EstimateOnly   = "estimate"
	FromMemory     = "from memory"
)

// Ground is a kind of ground with the rolling resistance of wheels on it, pull
// over weight, as a range: sources and tyres differ.
type Ground struct {
	Name      string
	Low, High float64
	Bad       bool // sand, mountains, very bad ground: the load a horse should draw is less
	Source    Source
}

// Grounds are the kinds of ground a load is worked out for.
func Grounds() []Ground {
	return []Ground{
		{"road", 0.010, 0.020, false, Source{"new and worn asphalt 0.01 and 0.02 (Carvill, Mechanical Engineer's Data Handbook); asphalt 0.0102 to 0.0113, granite block 0.020 (Agg 1920); good pavement 0.0154, broken stone 0.0185 (Morin)", ReadThere}},
		{"gravel", 0.012, 0.111, false, Source{"dry firm gravel 0.012, wet loose gravel 0.06 (Moyer, in Marks' Handbook); best gravel road 0.0344, newly repaired 0.111 (Morin, 1874); loose worn gravel 0.04 (Carvill)", ReadThere}},
		{"turf", 0.058, 0.087, false, Source{"bluegrass sod, pneumatic 0.058, steel 0.087 (McKibben & Davidson 1939)", FromMemory}},
		{"soil", 0.058, 0.08, false, Source{"medium hard soil 0.08 (Carvill)", ReadThere}},
		{"sand", 0.1, 0.43, true, Source{"sand 0.1 to 0.2 (Carvill, read); loose sand up to 0.43 (McKibben & Davidson 1939, from memory)", FromMemory}},
	}
}

// GradeRow is the load a horse draws up a grade as a share of that on the level.
type GradeRow struct {
	Grade     float64
	Low, High float64
}

// GradeLoads are published shares: 1874 and 1915 (0.90, 0.81, 0.72, 0.52, 0.40,
// 0.25), and Historic Highways of America vol. 15 with 4/5 at 2 %, 1/2 at 5 %
// and 1/4 at 10 %. They disagree at 5 %.
func GradeLoads() []GradeRow {
	return []GradeRow{{0, 1, 1}, {0.01, 0.90, 0.90}, {0.02, 0.80, 0.81}, {0.025, 0.72, 0.72}, {0.04, 0.52, 0.52}, {0.05, 0.40, 0.50}, {0.10, 0.25, 0.25}}
}

// GradeShare is the published share at a grade (rise over run), between rows by
// straight lines; beyond 10 % ok is false.
func GradeShare(grade float64) (low, high float64, ok bool) {
	rows := GradeLoads()
	if grade < 0 || grade > rows[len(rows)-1].Grade {
		return 0, 0, false
	}
	for i := 1; i < len(rows); i++ {
		if a, b := rows[i-1], rows[i]; grade <= b.Grade {
			w := (grade - a.Grade) / (b.Grade - a.Grade)
			return (1-w)*a.Low + w*b.Low, (1-w)*a.High + w*b.High, true
		}
	}
	return 0, 0, false
}
