package survey

import (
	"fmt"
	"math"
	"strings"
	"unicode/utf8"

	"terret/internal/geom"
	"terret/internal/strict"
)

// Bounds of what is taken.
const (
	MaxTapes  = 2000 // of one network; a course of 200 gates and every check needs 1,600
	MaxPoints = 500  // of one network, held and sought
	MaxLength = 1e5  // m of one tape
	// MaxCoordinate keeps national grids in, and leaves a nanometre of a double.
	MaxCoordinate = 1e7
	// minStart is the least distance between the start values of two points that
	// a tape joins, m: from one place no direction can be told.
	minStart = 1e-6
)

// Point is a named place, m.
type Point struct {
	Name string
	At   geom.Vec
}

// Tape is one taped length between two points.
type Tape struct {
	From, To string
	M        float64 // m, along the level
	Sigma    float64 // standard deviation, m; 0: the network's
}

// Network is what was taped and between which points.
type Network struct {
	Fixed  []Point // held
	Points []Point // sought; where the plan wants them, the start values
	Tapes  []Tape
	Sigma  float64 // standard deviation of a tape that names none, m
	Free   bool    // least squares of all moves where nothing holds the network
	alone  bool    // the start values are made of the tapes and mean nothing
}

// sigma is a tape's standard deviation.
func (n *Network) sigma(t Tape) float64 {
	if t.Sigma > 0 {
		return t.Sigma
	}
	return n.Sigma
}

// Problem is one rule that a network breaks.
type Problem = strict.Problem

// Validate checks the rules about a network's meaning, in the order of the
// document:
//
//	sigma          more than 0 and at most 10 m
//	too-many       at most MaxPoints points and MaxTapes tapes
//	point-name     a name of one line, once
//	coordinate     every point within MaxCoordinate of the origin
//	datum          two points held, or free: true
//	no-points      something to find
//	no-tapes       something taped
//	tape-point     both ends are points of the network
//	tape-ends      two different points
//	tape-length    more than 0 and at most MaxLength
//	tape-start     the two ends do not start from one place
func (n *Network) Validate() []Problem {
	var list []Problem
	bad := func(rule, path, hint, format string, args ...any) {
		list = append(list, Problem{Rule: rule, Path: path, Message: fmt.Sprintf(format, args...), Hint: hint})
	}
	okSigma := func(s float64) bool { return s > 0 && s <= 10 }
	at := map[string]geom.Vec{}
	points := func(key string, ps []Point) {
		for _, p := range ps {
			path := key + "." + p.Name
			if strings.TrimSpace(p.Name) == "" || utf8.RuneCountInString(p.Name) > 100 || strings.ContainsAny(p.Name, "\n\t") {
				bad("point-name", key, "write a name of one line, at most 100 characters", "%q is no name of a point", p.Name)
				continue
			}
			if _, twice := at[p.Name]; twice {
				bad("point-name", path, "a point is either held or sought, once", "the point %q is there twice", p.Name)
				continue
			}
			if !p.At.IsFinite() || math.Max(math.Abs(p.At.X), math.Abs(p.At.Y)) > MaxCoordinate {
				bad("coordinate", path, "use a local origin, in metres", "the point (%v, %v) is too far away", p.At.X, p.At.Y)
			}
			at[p.Name] = p.At
		}
	}
	if c := len(n.Fixed) + len(n.Points); c > MaxPoints {
		bad("too-many", "points", fmt.Sprintf("at most %d are taken", MaxPoints), "there are %d points", c)
		return list
	}
	points("fixed", n.Fixed)
	points("points", n.Points)
	if len(n.Points) == 0 {
		bad("no-points", "points", "name the points that were taped, and where the plan wants them", "no point is sought")
	}
	if len(n.Fixed) < 2 && !n.Free {
		bad("datum", "fixed", "hold two points, or write `free: true` to place all of them by least squares of the moves", "%d held: the points could turn about as one", len(n.Fixed))
	}
	switch {
	case len(n.Tapes) > MaxTapes:
		bad("too-many", "tapes", fmt.Sprintf("at most %d are taken", MaxTapes), "there are %d tapes", len(n.Tapes))
		return list
	case len(n.Tapes) == 0:
		bad("no-tapes", "tapes", "write {from: …, to: …, m: …} for each taped length", "nothing was taped")
	}
	needed := len(n.Tapes) == 0
	for i, t := range n.Tapes {
		path := fmt.Sprintf("tapes[%d]", i)
		ends := 0
		for _, end := range []struct{ key, name string }{{"from", t.From}, {"to", t.To}} {
			if _, ok := at[end.name]; ok {
				ends++
				continue
			}
			hint := "name a point of `fixed` or `points`"
			if near := nearest(end.name, at); near != "" {
				hint = fmt.Sprintf("did you mean %q? %s", near, hint)
			}
			bad("tape-point", path+"."+end.key, hint, "there is no point %q (tape %s–%s)", end.name, t.From, t.To)
		}
		switch {
		case t.From == t.To && ends == 2:
			bad("tape-ends", path, "name the two ends", "the tape goes from %q to itself", t.From)
		case ends == 2 && at[t.From].Dist(at[t.To]) < minStart:
			bad("tape-start", path, "give them the places of the plan", "%q and %q start from one place, so no direction can be told", t.From, t.To)
		}
		if !(t.M > 0 && t.M <= MaxLength) {
			bad("tape-length", path+".m", fmt.Sprintf("more than 0 and at most %v m", MaxLength), "the tape %s–%s is %v m long", t.From, t.To, t.M)
		}
		switch {
		case t.Sigma == 0:
			needed = true
		case !okSigma(t.Sigma):
			bad("sigma", path+".sigma", "more than 0 and at most 10 m; 0.01 for a tape on turf", "the tape %s–%s is uncertain by %v m", t.From, t.To, t.Sigma)
		}
	}
	if (needed || n.Sigma != 0) && !okSigma(n.Sigma) {
		bad("sigma", "sigma", "more than 0 and at most 10 m; 0.01 for a tape on turf", "tapes are uncertain by %v m", n.Sigma)
	}
	return list
}

// nearest is a name that differs from what was written in its case or blanks
// alone, or by one letter; "" when there is none.
func nearest(name string, have map[string]geom.Vec) string {
	flat := func(s string) string { return strings.ToLower(strings.Join(strings.Fields(s), "")) }
	best := ""
	for h := range have {
		if flat(h) == flat(name) || oneLetter(flat(h), flat(name)) && len(name) > 1 {
			if best == "" || h < best {
				best = h
			}
		}
	}
	return best
}

// oneLetter reports whether a and b differ by one letter changed or added.
func oneLetter(a, b string) bool {
	if len(a) > len(b) {
		a, b = b, a
	}
	if len(b)-len(a) > 1 {
		return false
	}
	i := 0
	for i < len(a) && a[i] == b[i] {
		i++
	}
	if len(a) == len(b) {
		return i == len(a) || a[i+1:] == b[i+1:]
	}
	return a[i:] == b[i+1:]
}
