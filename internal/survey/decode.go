package survey

import (
	"fmt"
	"math"
	"strconv"

	"terret/internal/geom"
	"terret/internal/strict"
)

// Format is the name and version of the file this package reads and writes.
const Format = "tapes/1"

// DefaultSigma is the standard deviation of a tape where the file names none, m:
// a fibre tape on turf, pulled by hand (estimate).
const DefaultSigma = 0.01

// Warning is something odd but possible.
type Warning = strict.Warning

// Decode reads and checks a network (terret: tapes/1), YAML or JSON. name is the
// file's name for the places of faults; the error is a fault.Fault or fault.List.
func Decode(name string, data []byte) (*Network, []Warning, error) {
	doc, err := strict.Parse(name, data)
	if err != nil {
		return nil, nil, err
	}
	n := &Network{}
	var odd []Warning
	top := doc.Root().Object("terret", "fixed", "points", "tapes", "sigma", "free")
	top.Need("terret").OneOf(Format)
	n.Fixed = places(top.Get("fixed"))
	n.Points = places(top.Need("points"))
	n.Free = top.Get("free").Bool()
	silent := false // a tape names no sigma
	for _, v := range top.Need("tapes").ListOf(MaxTapes, "tapes") {
		o := v.Object("from", "to", "m", "sigma")
		t := Tape{From: pointName(o.Need("from")), To: pointName(o.Need("to")), M: o.Need("m").Float()}
		if s := o.Get("sigma"); s.Ok() {
			if t.Sigma = s.Float(); t.Sigma == 0 {
				s.Fault("sigma", "no tape is without error", "more than 0 and at most 10 m; 0.01 for a tape on turf")
			}
		} else {
			silent = true
		}
		n.Tapes = append(n.Tapes, t)
	}
	if s := top.Get("sigma"); s.Ok() {
		if n.Sigma = s.Float(); n.Sigma == 0 {
			s.Fault("sigma", "no tape is without error", "more than 0 and at most 10 m; 0.01 for a tape on turf")
		}
	} else if silent {
		n.Sigma = DefaultSigma
		odd = append(odd, Warning{Rule: "sigma", Place: doc.Place(""), Message: "no sigma is given", Hint: fmt.Sprintf("%v m is taken, an estimate for a tape on turf", DefaultSigma)})
	}
	if err := doc.Err(); err != nil {
		return nil, nil, err
	}
	more, err := doc.Judge(n.Validate())
	if err != nil {
		return nil, nil, err
	}
	return n, append(odd, more...), nil
}

// Load reads and checks a network from a file (terret: tapes/1).
func Load(path string) (*Network, []Warning, error) {
	data, err := strict.ReadFile(path)
	if err != nil {
		return nil, nil, err
	}
	return Decode(path, data)
}

// places reads named points in the order written.
func places(v strict.Value) []Point {
	es := v.Entries()
	if len(es) > MaxPoints {
		v.Fault("too-many", fmt.Sprintf("there are %d points", len(es)), fmt.Sprintf("at most %d are taken", MaxPoints))
		return nil
	}
	ps := make([]Point, 0, len(es))
	for _, e := range es {
		l := e.List()
		switch {
		case len(l) == 2:
			ps = append(ps, Point{e.Key, geom.Vec{X: l[0].Float(), Y: l[1].Float()}})
		case e.IsList():
			e.Fault("type", "a point is two numbers", "write [x, y] in metres")
		}
	}
	return ps
}

// pointName reads a point's name. Pegs are often only numbered, so a whole number
// is a name too.
func pointName(v strict.Value) string {
	if v.Ok() && !v.IsText() && !v.IsList() && !v.IsMapping() {
		if f, ok := v.Plain().(float64); ok {
			if f == math.Trunc(f) && math.Abs(f) < 1e9 {
				return strconv.FormatFloat(f, 'f', 0, 64)
			}
			v.Fault("type", "a number stands here", "write a point's name, in quotes if it looks like a number")
			return ""
		}
	}
	return v.Text()
}

// Encode writes n as YAML: what Decode reads back is n again.
func (n *Network) Encode() ([]byte, error) {
	named := func(ps []Point) strict.Map {
		m := strict.Map{}
		for _, p := range ps {
			m.Put(p.Name, strict.List{p.At.X, p.At.Y})
		}
		return m
	}
	var m strict.Map
	m.Put("terret", Format)
	if len(n.Fixed) > 0 {
		m.Put("fixed", named(n.Fixed))
	}
	m.Put("points", named(n.Points))
	tapes := strict.List{}
	for _, t := range n.Tapes {
		one := strict.Map{{Key: "from", Value: t.From}, {Key: "to", Value: t.To}, {Key: "m", Value: t.M}}
		if t.Sigma != 0 {
			one.Put("sigma", t.Sigma)
		}
		tapes = append(tapes, one)
	}
	m.Put("tapes", tapes)
	if n.Sigma != 0 {
		m.Put("sigma", n.Sigma)
	}
	if n.Free {
		m.Put("free", true)
	}
	return strict.YAML(m)
}
