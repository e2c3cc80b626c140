package survey

import (
	"errors"
	"fmt"
	"reflect"
	"strings"
	"testing"

	"terret/internal/fault"
)

const paddock = `terret: tapes/1
fixed:  {P: [0, 0], Q: [40, 0]}
points: {A: [12, 9.5], B: [30, 12]}
tapes:
  - {from: P, to: A, m: 15.31}
  - {from: Q, to: A, m: 29.55, sigma: 0.02}
  - {from: P, to: B, m: 32.31}
  - {from: Q, to: B, m: 15.62}
  - {from: A, to: B, m: 18.17}
sigma: 0.01
`

func TestDecode(t *testing.T) {
	n, odd, err := Decode("paddock.yaml", []byte(paddock))
	if err != nil || len(odd) > 0 {
		t.Fatal(err, odd)
	}
	if len(n.Fixed) != 2 || n.Points[1].Name != "B" || n.Points[1].At.Y != 12 || n.Tapes[1].Sigma != 0.02 || n.Tapes[0].Sigma != 0 || n.Sigma != 0.01 || n.Free {
		t.Errorf("%+v", n)
	}
	// The same tree as JSON, with pegs that are only numbered.
	n, odd, err = Decode("x.json", []byte(`{"terret": "tapes/1", "free": true, "points": {"1": [0, 0], "2": [3, 0], "3": [0, 4]}, "tapes": [{"from": 1, "to": "2", "m": 3}, {"from": "1", "to": 3, "m": 4}, {"from": 2, "to": 3, "m": 5}]}`))
	if err != nil || n.Tapes[0].From != "1" || n.Sigma != DefaultSigma || len(odd) != 1 || odd[0].Rule != "sigma" {
		t.Errorf("%+v %v %v", n, odd, err)
	}
}

// Each slip is a fault with its rule and its line, and nothing is guessed.
func TestDecodeRefuses(t *testing.T) {
	many := strings.Replace(paddock, "tapes:\n", "tapes:\n"+strings.Repeat("  - {from: P, to: A, m: 15.31}\n", 10_000), 1)
	for name, c := range map[string]struct {
		old, new, rule, place string
	}{
		"no such point":       {"from: P, to: A", "from: P, to: X", "tape-point", "f.yaml:5: tapes[0].to"},
		"a slip in a name":    {"from: A, to: B", "from: A, to: b", "tape-point", "f.yaml:9: tapes[4].to"},
		"a tape to itself":    {"from: A, to: B", "from: B, to: B", "tape-ends", "f.yaml:9: tapes[4]"},
		"negative":            {"m: 32.31", "m: -32.31", "tape-length", "f.yaml:7: tapes[2].m"},
		"nought":              {"m: 32.31", "m: 0", "tape-length", "f.yaml:7: tapes[2].m"},
		"NaN":                 {"m: 32.31", "m: .nan", "number", "f.yaml:7: tapes[2].m"},
		"infinity":            {"m: 32.31", "m: .inf", "number", "f.yaml:7: tapes[2].m"},
		"too long":            {"m: 32.31", "m: 1e9", "tape-length", "f.yaml:7: tapes[2].m"},
		"a decimal comma":     {"m: 32.31", "m: '32,31'", "type", "f.yaml:7: tapes[2].m"},
		"no length":           {"to: B, m: 32.31", "to: B", "missing-key", "f.yaml:7: tapes[2]"},
		"unknown key":         {"m: 32.31", "cm: 3231", "unknown-key", "f.yaml:7: tapes[2].cm"},
		"repeated key":        {"sigma: 0.01", "sigma: 0.01\nsigma: 0.02", "repeated-key", "f.yaml:11: sigma"},
		"sigma of nought":     {"sigma: 0.01", "sigma: 0", "sigma", "f.yaml:10: sigma"},
		"sigma of a tape":     {"sigma: 0.02", "sigma: -0.02", "sigma", "f.yaml:6: tapes[1].sigma"},
		"far away":            {"A: [12, 9.5]", "A: [1e9, 9.5]", "coordinate", "f.yaml:3: points.A"},
		"a point that is NaN": {"A: [12, 9.5]", "A: [.nan, 9.5]", "number", "f.yaml:3: points.A[0]"},
		"three numbers":       {"A: [12, 9.5]", "A: [12, 9.5, 3]", "type", "f.yaml:3: points.A"},
		"held and sought":     {"A: [12, 9.5]", "Q: [12, 9.5], A: [1, 2]", "point-name", "f.yaml:3: points.Q"},
		"one start for two":   {"B: [30, 12]", "B: [12, 9.5]", "tape-start", "f.yaml:9: tapes[4]"},
		"nothing holds":       {"fixed:  {P: [0, 0], Q: [40, 0]}\npoints: {", "points: {P: [0, 0], Q: [40, 0], ", "datum", "f.yaml:1: fixed"},
		"another format":      {"tapes/1", "plan/1", "word", "f.yaml:1: terret"},
		"a word for yes":      {"sigma: 0.01", "sigma: 0.01\nfree: yes", "type", "f.yaml:11: free"},
	} {
		t.Run(name, func(t *testing.T) {
			if !strings.Contains(paddock, c.old) {
				t.Fatalf("%q is not there", c.old)
			}
			_, _, err := Decode("f.yaml", []byte(strings.Replace(paddock, c.old, c.new, 1)))
			named(t, err, c.rule, c.place)
		})
	}
	_, _, err := Decode("f.yaml", []byte(many))
	named(t, err, "too-many", "f.yaml:5: tapes") // where the list begins
}

// named checks that one of the faults has the rule and the place.
func named(t *testing.T, err error, rule, place string) {
	t.Helper()
	var list fault.List
	if f, one := errors.AsType[*fault.Fault](err); one {
		list = fault.List{f}
	}
	errors.As(err, &list)
	for _, f := range list {
		if f.Rule == rule && f.Place == place && f.Message != "" && f.Hint != "" {
			return
		}
	}
	t.Errorf("got %v, want the rule %s at %s", err, rule, place)
}

const table = "from,to,m,sigma\nP,A,15.31,\nQ,A,29.55,0.02\nP,B,32.31,\nQ,B,15.62,\nA,B,18.17,\n"

func TestDecodeCSV(t *testing.T) {
	for name, text := range map[string]string{
		"as it is":            table,
		"a mark and returns":  "\xef\xbb\xbf" + strings.ReplaceAll(table, "\n", "\r\n"),
		"blanks and quotes":   strings.ReplaceAll(strings.ReplaceAll(table, ",", " , "), "A ", "A"),
		"no sigmas, an error": strings.ReplaceAll(table, "from,to", "From,To"),
	} {
		t.Run(name, func(t *testing.T) {
			if !IsCSV("tapes", []byte(text)) || !IsCSV("x.CSV", nil) || IsCSV("x.yaml", []byte(paddock)) {
				t.Error("a table is not seen")
			}
			l, err := DecodeCSV("t.csv", []byte(text))
			if err != nil || len(l.Tapes) != 5 || l.Tapes[1] != (Tape{"Q", "A", 29.55, 0.02}) {
				t.Errorf("%+v %v", l, err)
			}
		})
	}
}

func TestDecodeCSVRefuses(t *testing.T) {
	for name, c := range map[string]struct {
		old, new, rule, place string
	}{
		"no head":         {"from,to,m,sigma\n", "", "csv-head", "t.csv:1"},
		"semicolons":      {"from,to,m,sigma\n", "from;to;m;sigma\n", "csv-head", "t.csv:1"},
		"decimal comma":   {"P,B,32.31,", "P,B,32,31,", "csv-row", "t.csv:4"},
		"NaN":             {"32.31", "NaN", "number", "t.csv:4: m"},
		"hexadecimal":     {"32.31", "0x20", "number", "t.csv:4: m"},
		"a huge exponent": {"32.31", "1e999", "number", "t.csv:4: m"},
		"negative":        {"32.31", "-32.31", "tape-length", "t.csv:4: m"},
		"no name":         {"P,B", ",B", "point-name", "t.csv:4: from"},
		"to itself":       {"P,B", "B,B", "tape-ends", "t.csv:4"},
		"sigma":           {"0.02", "0", "sigma", "t.csv:3: sigma"},
		"a stray quote":   {"P,B", "P\"x,B", "csv", "t.csv:4"},
		"not UTF-8":       {"P,B", "P\xff,B", "encoding", "t.csv"},
		"nothing":         {table, "from,to,m\n", "no-tapes", "t.csv:1"},
		"an empty file":   {table, "", "no-tapes", "t.csv:1"},
		"10 000 tapes":    {"A,B,18.17,\n", strings.Repeat("A,B,18.17,\n", 10_000), "too-many", "t.csv:2002"},
	} {
		t.Run(name, func(t *testing.T) {
			if !strings.Contains(table, c.old) {
				t.Fatalf("%q is not there", c.old)
			}
			_, err := DecodeCSV("t.csv", []byte(strings.Replace(table, c.old, c.new, 1)))
			named(t, err, c.rule, c.place)
		})
	}
}

// A table gets its places from pegs and points, or from its own tapes; the
// judgement is the same.
func TestTablesPlaces(t *testing.T) {
	want, _, err := Decode("paddock.yaml", []byte(paddock))
	if err != nil {
		t.Fatal(err)
	}
	l, err := DecodeCSV("t.csv", []byte(table))
	if err != nil {
		t.Fatal(err)
	}
	n, err := l.On(want.Fixed, append(want.Points, pts("C 1 1")...)) // C is not taped
	if err != nil || !reflect.DeepEqual(n, want) {
		t.Errorf("%+v\n%+v\n%v", n, want, err)
	}
	_, err = l.On(want.Fixed, want.Points[:1])
	named(t, err, "tape-point", "t.csv:4: to")

	// The square with two diagonals, all six sides and one slip: by itself as with
	// start values.
	full := pts("A 0 0, B 20 0, C 20 20, D 0 20, E 10 31")
	truth := map[string]Point{}
	for _, p := range full {
		truth[p.Name] = p
	}
	var b strings.Builder
	b.WriteString("from,to,m\n")
	for i := range full {
		for k := range i {
			m := full[i].At.Dist(full[k].At)
			if full[i].Name == "D" && full[k].Name == "B" {
				m += 0.3
			}
			fmt.Fprintf(&b, "%s,%s,%.3f\n", full[k].Name, full[i].Name, m)
		}
	}
	l, err = DecodeCSV("t.csv", []byte(b.String()))
	if err != nil {
		t.Fatal(err)
	}
	n, err = l.Alone()
	if err != nil {
		t.Fatal(err)
	}
	a := adjusted(t, n)
	if !a.Suspect.Named || a.Suspect.From != "B" || a.Suspect.To != "D" {
		t.Errorf("suspect %+v of %v", a.Suspect, a.Suspects)
	}
	held := &Network{Points: full, Tapes: n.Tapes, Sigma: 0.01, Free: true}
	w := adjusted(t, held)
	near(t, "s0", *a.S0, *w.S0, 1e-6)
	for i := range a.Tapes {
		near(t, "residual", *a.Tapes[i].Residual, *w.Tapes[i].Residual, 1e-6)
	}
}

// Tapes that hang on nothing have no fix, with a plan or without.
func TestTableWithoutFix(t *testing.T) {
	l, err := DecodeCSV("t.csv", []byte("from,to,m\nA,B,5\nB,C,5\nC,D,5\n"))
	if err != nil {
		t.Fatal(err)
	}
	n, err := l.Alone()
	if err != nil {
		t.Fatal(err)
	}
	a, err := n.Adjust(DefaultLevel)
	if err != nil || len(a.NoFix) != 4 || !a.No() {
		t.Errorf("%+v %v", a, err)
	}
}

// Whatever is read as tapes can be adjusted without breaking, and is written
// back to itself.
func FuzzDecode(f *testing.F) {
	f.Add(paddock)
	f.Add(strings.Replace(paddock, "18.17", "28.17", 1))
	f.Add("terret: tapes/1\nfree: true\npoints: {1: [0, 0], 2: [3, 0], 3: [0, 4], x: [1, 1]}\ntapes: [{from: 1, to: 2, m: 3}, {from: 1, to: 3, m: 4, sigma: 1}, {from: 2, to: 3, m: 5}]\n")
	f.Add("terret: tapes/1\nfixed: {P: [0, 0], Q: [40, 0]}\npoints: {A: [20, 0]}\ntapes: [{from: P, to: A, m: 20}, {from: Q, to: A, m: 20}]\n")
	f.Fuzz(func(t *testing.T, text string) {
		n, _, err := Decode("f.yaml", []byte(text))
		if err != nil {
			if _, known := fault.CodeOf(err); !known {
				t.Fatalf("no fault: %v", err)
			}
			return
		}
		out, err := n.Encode()
		if err != nil {
			t.Fatal(err)
		}
		again, _, err := Decode("f.yaml", out)
		if err != nil {
			t.Fatalf("%v\n%s", err, out)
		}
		if !reflect.DeepEqual(n, again) {
			t.Fatalf("%+v\n%+v\n%s", n, again, out)
		}
		if len(n.Points) <= 20 && len(n.Tapes) <= 60 {
			sound(t, n)
		}
	})
}

// FuzzDecodeCSV does the same for tables.
func FuzzDecodeCSV(f *testing.F) {
	f.Add(table)
	f.Add("from,to,m\nA,B,3\nB,C,4\nA,C,5\n\"D\",A,5e-1\n")
	f.Fuzz(func(t *testing.T, text string) {
		l, err := DecodeCSV("t.csv", []byte(text))
		if err != nil {
			if _, known := fault.CodeOf(err); !known {
				t.Fatalf("no fault: %v", err)
			}
			return
		}
		again, err := DecodeCSV("t.csv", l.Encode())
		if err != nil || !reflect.DeepEqual(l.Tapes, again.Tapes) {
			t.Fatalf("%v\n%+v\n%+v", err, l.Tapes, again.Tapes)
		}
		if n, err := l.Alone(); err == nil && len(n.Points) <= 20 && len(n.Tapes) <= 60 {
			sound(t, n)
		}
	})
}

// sound adjusts a network and checks what must hold of every answer.
func sound(t *testing.T, n *Network) {
	t.Helper()
	a, err := n.Adjust(DefaultLevel)
	if err != nil {
		t.Fatal(err)
	}
	sum := 0.
	for _, c := range a.Tapes {
		if !(c.Redundancy >= 0 && c.Redundancy <= 1) {
			t.Fatalf("redundancy %v", c.Redundancy)
		}
		sum += c.Redundancy
	}
	if d := sum - float64(a.SpareTapes); d > 0.01 || d < -0.01 {
		t.Fatalf("redundancies sum to %v, %d spare tapes", sum, a.SpareTapes)
	}
	if len(a.Points) != len(n.Points) || len(a.Tapes) != len(n.Tapes) {
		t.Fatalf("%d points, %d tapes", len(a.Points), len(a.Tapes))
	}
	for name, p := range a.Points {
		for _, v := range []float64{p.X, p.Y} {
			if !(v > -1e9 && v < 1e9) {
				t.Fatalf("%s at (%v, %v)", name, p.X, p.Y)
			}
		}
		if e := p.Ellipse; e != nil && !(e.A >= e.B && e.B >= 0 && e.Bearing >= 0 && e.Bearing < 180) {
			t.Fatalf("%s: ellipse %+v", name, *e)
		}
	}
}
