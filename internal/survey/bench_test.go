package survey

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"terret/internal/geom"
)

// large is a course of 40 points with 240 tapes, σ 1 cm, as two pegs and many
// checks give it.
func large() *Network {
	rnd := rand.New(rand.NewPCG(1, 2))
	n := &Network{Fixed: []Point{{"P", geom.Vec{}}, {"Q", geom.Vec{X: 60}}}, Sigma: 0.01}
	for i := range 40 {
		n.Points = append(n.Points, Point{fmt.Sprint(i), geom.Vec{X: 3 + 54*rnd.Float64(), Y: 5 + 35*rnd.Float64()}})
	}
	all := append(append([]Point{}, n.Fixed...), n.Points...)
	tape := func(a, b Point) {
		n.Tapes = append(n.Tapes, Tape{From: a.Name, To: b.Name, M: a.At.Dist(b.At) + 0.01*rnd.NormFloat64()})
	}
	for _, p := range n.Points {
		tape(all[0], p)
		tape(all[1], p)
	}
	for len(n.Tapes) < 240 {
		a, b := rnd.IntN(40), rnd.IntN(40)
		if a != b {
			tape(n.Points[a], n.Points[b])
		}
	}
	return n
}

func BenchmarkAdjust(b *testing.B) {
	n := large()
	for b.Loop() {
		if a, err := n.Adjust(DefaultLevel); err != nil || !a.Settled {
			b.Fatal(err)
		}
	}
}
