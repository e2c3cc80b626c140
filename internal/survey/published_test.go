package survey

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"

	"terret/internal/geom"
)

// The networks of Krumm, "Geodetic Network Adjustment Examples", rev. 3.5,
// Stuttgart 2020: published coordinates and standard deviations. Figures marked
// "recomputed" come from an independent Gauss–Newton script, not from the book.

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if math.IsNaN(got) || math.Abs(got-want) > tolerance {
		t.Errorf("%s is %.7g, want %.7g ± %.1g", what, got, want, tolerance)
	}
}

// pts reads "P 1 2, Q 3 4".
func pts(s string) []Point {
	var out []Point
	for part := range strings.SplitSeq(s, ",") {
		f := strings.Fields(part)
		out = append(out, Point{f[0], geom.Vec{X: num(f[1]), Y: num(f[2])}})
	}
	return out
}

// taped reads "P–A 15.31, Q–A 29.55".
func taped(s string) []Tape {
	var out []Tape
	for part := range strings.SplitSeq(s, ",") {
		f := strings.Fields(part)
		from, to, _ := strings.Cut(f[0], "–")
		out = append(out, Tape{From: from, To: to, M: num(f[1])})
	}
	return out
}

func num(s string) float64 {
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		panic(err)
	}
	return v
}

func adjusted(t *testing.T, n *Network) *Adjustment {
	t.Helper()
	a, err := n.Adjust(DefaultLevel)
	if err != nil {
		t.Fatal(err)
	}
	if !a.Settled || len(a.NoFix) > 0 {
		t.Fatalf("settled %v, no fix for %v", a.Settled, a.NoFix)
	}
	return a
}

// fixes checks "P 170.7029 170.7234" in metres to the given tolerance.
func fixes(t *testing.T, a *Adjustment, tolerance float64, want string) {
	t.Helper()
	for _, p := range pts(want) {
		near(t, p.Name+" x", a.Points[p.Name].X, p.At.X, tolerance)
		near(t, p.Name+" y", a.Points[p.Name].Y, p.At.Y, tolerance)
	}
}

// deviations checks "P 3.303 2.335" in centimetres to 0.001 cm.
func deviations(t *testing.T, a *Adjustment, want string) {
	t.Helper()
	for _, p := range pts(want) {
		near(t, p.Name+" sx cm", 100**a.Points[p.Name].SX, p.At.X, 0.001)
		near(t, p.Name+" sy cm", 100**a.Points[p.Name].SY, p.At.Y, 0.001)
	}
}

func pointError(a *Adjustment, name string) float64 {
	return 100 * math.Hypot(*a.Points[name].SX, *a.Points[name].SY)
}

func threeTapes() *Network {
	return &Network{
		Fixed: pts("1 170.71 270.71, 2 100 100, 3 241.42 100"), Points: pts("P 170.71 170.71"),
		Tapes: taped("1–P 100.01, 2–P 100.02, 3–P 100.03"), Sigma: 0.01,
	}
}

// Strang & Borre, "Linear Algebra, Geodesy, and GPS" (1997), example 10.1 p. 345
// and 12.4 p. 411.
func TestThreeTapesToOnePeg(t *testing.T) {
	n := threeTapes()
	a := adjusted(t, n)
	fixes(t, a, 5e-5, "P 170.7029 170.7234")
	deviations(t, a, "P 3.303 2.335")
	near(t, "point error cm", pointError(a, "P"), 4.045, 0.001)
	// Recomputed: vᵀPv, residuals, redundancies, |w|.
	if a.SpareTapes != 1 {
		t.Errorf("%d spare tapes", a.SpareTapes)
	}
	near(t, "s0 m", *a.S0M, 0.033029, 1e-6)
	near(t, "vv", *a.S0M**a.S0M, 0.00109094, 1e-8)
	for i, want := range []struct{ v, r float64 }{{-0.02336, 0.5}, {-0.01652, 0.25}, {-0.01651, 0.25}} {
		c := a.Tapes[i]
		near(t, "residual", *c.Residual, want.v, 1e-5)
		near(t, "redundancy", c.Redundancy, want.r, 5e-4)
		near(t, "|w|", math.Abs(*c.W), 3.303, 5e-4)
	}
	// The two-tape fix from 2 and 3 alone misses tape 1 by its likely error. The
	// first is of the whole curve, the second of its tangent: 0.1 mm apart.
	two := *n
	two.Tapes = n.Tapes[1:]
	b := adjusted(t, &two)
	fixes(t, b, 5e-5, "P 170.7029 170.7467")
	if b.S0 != nil || b.Tapes[0].Tau != nil || b.SpareTapes != 0 {
		t.Errorf("s0 %v, tau %v without a spare tape", b.S0, b.Tapes[0].Tau)
	}
	p := b.Points["P"]
	near(t, "miss", 100.01-math.Hypot(p.X-170.71, p.Y-270.71), 0.0467, 1e-4)
	near(t, "likely error", *a.Tapes[0].Likely, 0.0467, 1e-4)
}

// The example's own linear step, which takes every start length as 100 m: the
// places are those of 100/√2, of which 70.71 is the rounding. Recomputed.
func TestFirstLinearStep(t *testing.T) {
	h := 100 / math.Sqrt2
	n := threeTapes()
	n.Fixed = []Point{{"1", geom.Vec{X: 100 + h, Y: 200 + h}}, {"2", geom.Vec{X: 100, Y: 100}}, {"3", geom.Vec{X: 100 + 2*h, Y: 100}}}
	n.Points = []Point{{"P", geom.Vec{X: 100 + h, Y: 100 + h}}}
	s := look(n)
	e := s.equations(s.at)
	if !e.factor() {
		t.Fatal("singular")
	}
	x := e.solve()
	near(t, "dx", x[0], -0.00707, 1e-5)
	near(t, "dy", x[1], 0.01268, 1e-5)
}

// Where the steps begin does not matter; a solver that takes one only would miss
// by decimetres from here.
func TestStartsFarOff(t *testing.T) {
	n := threeTapes()
	n.Points = pts("P 162 179")
	fixes(t, adjusted(t, n), 5e-5, "P 170.7029 170.7234")
}

// The same with all six tapes and nothing held. Strang & Borre, example 12.4.
func TestFreeNetwork(t *testing.T) {
	n := &Network{
		Points: pts("P 170.71 170.71, 1 170.71 270.71, 2 100 100, 3 241.42 100"),
		Tapes:  taped("1–P 100.01, 2–P 100.02, 3–P 100.03, 1–2 184.785, 2–3 141.44, 1–3 184.805"),
		Sigma:  0.01, Free: true,
	}
	a := adjusted(t, n)
	fixes(t, a, 5e-5, "P 170.7123 170.7185, 1 170.7032 270.7213, 2 99.9912 99.9971, 3 241.4333 99.9830")
	deviations(t, a, "P 1.079 0.682, 1 0.810 0.551, 2 0.641 0.705, 3 0.640 0.705")
	near(t, "s0 m", *a.S0M, 0.011764, 1e-6) // recomputed
	if a.SpareTapes != 1 {
		t.Errorf("%d spare tapes", a.SpareTapes)
	}
}

// Benning, "Statistik in Geodäsie, Geoinformation und Bauwesen" (2011), example
// 8-2 p. 256. The coordinates are computed by Krumm's transcriber, not printed.
func TestSquareWithTwoDiagonals(t *testing.T) {
	n := &Network{
		Fixed: pts("1 0 1000, 2 1000 1000"), Points: pts("3 0 0, 4 1000 0"),
		Tapes: taped("1–3 1000.02, 1–4 1414.20, 2–3 1414.24, 2–4 999.98, 3–4 1000.00"), Sigma: 0.01,
	}
	a := adjusted(t, n)
	fixes(t, a, 5e-5, "3 -0.0096 -0.0226, 4 999.9930 0.0174")
	deviations(t, a, "3 0.901 0.637, 4 0.901 0.637")
	near(t, "point error cm", pointError(a, "3"), 1.104, 0.001)
	near(t, "s0 m", *a.S0M, 0.006882, 1e-6) // this and below recomputed
	for i, r := range []float64{0.143, 0.286, 0.286, 0.143, 0.143} {
		near(t, "redundancy", a.Tapes[i].Redundancy, r, 5e-4)
	}
	// Axes 153.43° and 26.57° from +x, anticlockwise.
	for name, axis := range map[string]float64{"3": 153.43, "4": 26.57} {
		e := a.Points[name].Ellipse
		near(t, name+" a mm", 1000*e.Standard.A, 9.73, 0.005)
		near(t, name+" b mm", 1000*e.Standard.B, 5.20, 0.005)
		near(t, name+" bearing", e.Bearing, math.Mod(450-axis, 180), 0.0055)
		near(t, name+" 95 % a", e.A, 19.975*e.Standard.A, 1e-3*e.A)
	}
}

// Ghilani, "Adjustment Computations", 5th ed. 2010, example 14.5 p. 251 and 19.3
// p. 404: one tape is wrong, and with one spare tape nobody can tell which.
func TestOneSpareTapeCannotTell(t *testing.T) {
	n := &Network{
		Fixed:  pts("Badger 2410000 390000, Bucky 2411820 386881.222"),
		Points: pts("Wisconsin 2415776.819 391043.461, Campus 2416892.670 387603.450"),
		Tapes:  taped("Badger–Wisconsin 5870.302, Badger–Campus 7297.588, Wisconsin–Campus 3616.434, Wisconsin–Bucky 5742.878, Campus–Bucky 5123.760"),
		Sigma:  0.01,
	}
	a := adjusted(t, n)
	fixes(t, a, 1e-4, "Wisconsin 2415776.9044 391043.2945, Campus 2416892.6955 387603.2551")
	deviations(t, a, "Wisconsin 14.879 22.061, Campus 10.378 27.054")
	near(t, "point error cm", pointError(a, "Wisconsin"), 26.609, 0.001)
	near(t, "point error cm", pointError(a, "Campus"), 28.977, 0.001)
	near(t, "s0 m", *a.S0M, 0.135905, 1e-4) // recomputed
	for _, c := range a.Tapes {
		near(t, "|w| "+c.From+"–"+c.To, math.Abs(*c.W), 13.59, 0.005)
	}
	if !a.Suspect.Any || a.Suspect.Named || len(a.Suspects) != 5 || !a.No() {
		t.Errorf("suspect %+v of %v, want %q of all five", a.Suspect, a.Suspects, CannotTell)
	}
	near(t, "likely error", *a.Tapes[0].Likely, -0.338, 1e-3) // the example's right length is 5870.640
	n.Tapes[0].M = 5870.640
	a = adjusted(t, n)
	near(t, "s0 m mended", *a.S0M, 0.0000920, 1e-4)
	fixes(t, a, 1e-4, "Wisconsin 2415777.2333 391043.0668, Campus 2416892.6740 387602.9525")
	if a.Suspect.Any || a.No() {
		t.Errorf("mended, suspect is %+v", a.Suspect)
	}
}

func sattenhausen(length float64) *Network {
	n := &Network{
		Points: pts("20 3579041.416 5707194.412, 75 3575403.277 5707682.612, 86 3575322.061 5708700.952, 87 3576581.778 5709938.106, 1006 3578284.289 5708758.641, 1011 3577052.332 5708103.204, 1059 3576852.894 5706633.642, 1087 3576213.699 5709199.889"),
		Tapes: taped("86–1006 2962.832, 86–87 1765.657, 86–1087 1021.768, 86–75 1021.536, 86–1011 1830.646, 86–20 4012.921, 86–1059 2572.516, 1087–87 824.863, 1087–20 3466.722, 1087–1059 2644.789, 1087–75 1720.130, 1087–1006 2117.134, 1087–1011 1380.633, 1006–75 3075.373, 1006–20 1737.824, " +
			"1006–1059 2562.134, 1006–1011 1395.459, 1006–87 2071.154, 1011–87 1894.263, 1011–75 1701.824, 1011–1059 1483.088, 1011–20 2186.853, 1059–20 2259.167, 1059–75 1789.449, 1059–87 3315.630, 20–87 3684.782, 20–75 3670.735"),
		Sigma: 0.001, Free: true,
	}
	n.Tapes[23].M = length
	return n
}

// Höpke, "Fehlerlehre und Ausgleichungsrechnung" (1980), example 35.5 pp.
// 120–123, the network Sattenhausen. The book prints 1059–75 as 1789.499 and
// computes with 1789.449: a slip of 5 cm to find.
func TestSlipThatCanBeFound(t *testing.T) {
	a := adjusted(t, sattenhausen(1789.449))
	fixes(t, a, 1e-4, "20 3579041.4042 5707194.4039, 75 3575403.2853 5707682.6565, 86 3575322.0203 5708700.9554, 87 3576581.7857 5709938.0995, 1006 3578284.2920 5708758.6275, 1011 3577052.3287 5708103.2070, 1059 3576852.9606 5706633.5764, 1087 3576213.6691 5709199.9319")
	for name, cm := range map[string]float64{"20": 0.338, "75": 0.352, "86": 0.320, "87": 0.360, "1006": 0.336, "1011": 0.364, "1059": 0.325, "1087": 0.331} {
		near(t, "point error cm of "+name, pointError(a, name), cm, 0.001)
	}
	if a.SpareTapes != 14 {
		t.Errorf("%d spare tapes", a.SpareTapes)
	}
	near(t, "s0 mm", 1000**a.S0M, 4.9544, 1e-4) // from here on recomputed

	a = adjusted(t, sattenhausen(1789.499))
	near(t, "s0 mm", 1000**a.S0M, 10.4107, 1e-4)
	if !a.Suspect.Named || a.Suspect.From != "1059" || a.Suspect.To != "75" {
		t.Fatalf("suspect %+v, want 1059–75", a.Suspect)
	}
	c := a.Tapes[23]
	near(t, "w", *c.W, -34.26, 0.005)
	near(t, "tau", *c.Tau, -3.291, 5e-4)
	near(t, "redundancy", c.Redundancy, 0.4672, 5e-5)
	near(t, "likely error mm", 1000**c.Likely, 50.1, 0.3)
	second := a.Tapes[22] // 1059–20
	near(t, "second w", math.Abs(*second.W), 24.0, 0.05)
	near(t, "second tau", math.Abs(*second.Tau), 2.31, 0.005)

	n := sattenhausen(1789.449)
	n.Tapes = append(n.Tapes[:23:23], n.Tapes[24:]...)
	a = adjusted(t, n)
	near(t, "s0 mm without", 1000**a.S0M, 5.141, 5e-4)
	near(t, "tau limit", *a.TauLimit, 2.711, 5e-4)
	largest, which := 0., ""
	for _, c := range a.Tapes {
		if v := math.Abs(*c.Tau); v > largest {
			largest, which = v, c.From+"–"+c.To
		}
	}
	near(t, "largest tau without ("+which+")", largest, 2.449, 5e-4)
	if which != "1087–20" {
		t.Errorf("largest is %s", which)
	}
	// The book's σ of 1 mm is a fifth of the scatter: w complains of all, tau of none.
	if !a.Scatter() {
		t.Errorf("without it, suspect %+v", a.Suspect)
	}
	p, q := a.Points["1059"], a.Points["75"]
	near(t, "length foretold", math.Hypot(p.X-q.X, p.Y-q.Y), 1789.449, 1e-3)
}

// Ghilani 2010, example 12.6; Krumm, example 2.1 pp. 6–9: weighted levelling, for
// the linear solver.
func TestWeightedLevelling(t *testing.T) {
	const h1 = 437.596
	rows := []row{}
	// from, to (0 is held), rise, σ in mm
	for _, l := range [][4]float64{{1, 2, 10.509, 6}, {1, 3, 15.881, 12}, {2, 3, 5.360, 4}, {2, 4, -3.167, 4}, {3, 4, -8.523, 5}, {4, 1, -7.348, 3}} {
		r := row{miss: l[2], sigma: l[3] / 1000}
		for k, sign := range []float64{-1, 1} {
			if p := int(l[k]); p == 1 {
				r.miss -= sign * h1
			} else {
				r.at[r.n], r.coef[r.n] = p-2, sign
				r.n++
			}
		}
		rows = append(rows, r)
	}
	e := gather(3, rows, nil, nil)
	if !e.factor() {
		t.Fatal("singular")
	}
	h, q := e.solve(), e.inverse()
	sum := 0.
	for i, mm := range []float64{3.71, -8.53, -0.24, 1.89, -1.86, 0.39} {
		v := rows[i].dot(h) - rows[i].miss
		near(t, "residual mm", 1000*v, mm, 0.01)
		sum += v * v / (rows[i].sigma * rows[i].sigma)
	}
	near(t, "vᵀPv", sum, 1.27212, 1e-5)
	s0 := math.Sqrt(sum / 3)
	near(t, "s0", s0, 0.6512, 1e-4)
	for i, want := range []struct{ h, mm float64 }{{448.10871, 2.30}, {453.46847, 2.64}, {444.94361, 1.76}} {
		near(t, fmt.Sprintf("height %d", i+2), h[i], want.h, 1e-5)
		near(t, fmt.Sprintf("s mm %d", i+2), 1000*s0*math.Sqrt(q.At(i, i)), want.mm, 0.01)
	}
}

// J. Applied Mathematics 2021, 1478843, table 1: upper bounds for one outlier in
// simple linear regression, f = n − 2, shared out over n, two-sided. For n = 4
// and 0.01 the page prints 0.4142, a misprint.
func TestTauTable(t *testing.T) {
	for _, l := range []struct {
		n    int
		want [3]float64
	}{
		{4, [3]float64{1.4131, 1.4139, 1.4142}},
		{5, [3]float64{1.6974, 1.7147, 1.7286}},
		{6, [3]float64{1.8838, 1.9270, 1.9751}},
		{10, [3]float64{2.2562, 2.3643, 2.5407}},
		{20, [3]float64{2.6126, 2.7651, 3.0575}},
		{60, [3]float64{3.0508, 3.2247, 3.5869}},
	} {
		for k, alpha := range []float64{0.10, 0.05, 0.01} {
			near(t, fmt.Sprintf("n %d alpha %v", l.n, alpha), tauLimit(alpha/float64(l.n), l.n-2), l.want[k], 5.1e-5)
		}
	}
}

// Textbook quantiles: Baarda's 3.29 and 4.13; χ² and F for the ellipse.
func TestQuantiles(t *testing.T) {
	near(t, "w at 0.001", normalLimit(0.001), 3.2905, 5e-5)
	near(t, "w at 0.01", normalLimit(0.01), 2.5758, 5e-5)
	near(t, "δ0 at 0.001", findable(0.001), 4.1321, 5e-5)
	near(t, "δ0 at 0.05", findable(0.05), 2.8016, 5e-5)
	near(t, "ellipse, σ known", ellipseKnown(), 2.4477, 5e-5)
	for f, want := range map[int]float64{1: 19.975, 3: 4.371, 14: 2.735} {
		near(t, fmt.Sprintf("ellipse, f %d", f), ellipseFound(f), want, 5e-4)
	}
}
