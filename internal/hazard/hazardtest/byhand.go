package hazardtest

import (
	"fmt"

	"terret/internal/geom"
	"terret/internal/plan"
)

// H1 is a hazard with what trips a judge of gates: In and Out are one pair, A
// and B share a post, one opening is both A and D, and C is the only way into
// a pocket of rails and the only way out.
func H1() *plan.Plan {
	v := func(x, y float64) geom.Vec { return geom.Vec{X: x, Y: y} }
	p := &plan.Plan{
		Name:   "H1",
		Ground: plan.Ground{Outline: geom.Polygon{v(0, 0), v(40, 0), v(40, 50), v(0, 50)}},
	}
	// A pocket 14 m wide and 13 m deep whose mouth is C.
	p.Things = []plan.Thing{
		{ID: "pocket west", Kind: plan.Rail, Path: []geom.Vec{v(18.0, 33), v(13, 33), v(13, 47), v(28, 47), v(28, 33), v(22.2, 33)}, Width: 0.12},
	}
	for i, at := range []geom.Vec{v(6, 16), v(8, 31), v(33, 13), v(34, 24), v(30, 29), v(6, 40), v(13, 12), v(28, 17), v(20.5, 40), v(34, 41)} {
		p.Things = append(p.Things, plan.Thing{ID: fmt.Sprintf("p%d", i+1), Kind: plan.Post, At: at, Radius: 0.06})
	}
	p.Hazards = []plan.Hazard{{
		Name: "H1", MarkerRadius: marker,
		In:  plan.Pair{Left: v(18, 9), Right: v(22, 9)},
		Out: plan.Pair{Left: v(22, 9), Right: v(18, 9)},
		Gates: []plan.Gate{
			{Letter: "A", Pair: plan.Pair{Left: v(14, 22), Right: v(18, 22)}}, // northwards
			{Letter: "B", Pair: plan.Pair{Left: v(22, 22), Right: v(18, 22)}}, // southwards, on A's red post
			{Letter: "C", Pair: plan.Pair{Left: v(18.1, 33), Right: v(22.1, 33)}},
			{Letter: "D", Pair: plan.Pair{Left: v(18, 22), Right: v(14, 22)}}, // A's pair, southwards
		},
	}}
	return p
}

// H2 is a spiral of rails 5 m wide: A is its mouth, B the only way into its
// heart, and the way out is the way in.
func H2() *plan.Plan {
	v := func(x, y float64) geom.Vec { return geom.Vec{X: x, Y: y} }
	p := &plan.Plan{
		Name:   "H2",
		Ground: plan.Ground{Outline: geom.Polygon{v(0, 0), v(46, 0), v(46, 50), v(0, 50)}},
	}
	p.Things = []plan.Thing{
		{ID: "outer", Kind: plan.Rail, Path: []geom.Vec{v(10, 16), v(10, 42), v(36, 42), v(36, 16), v(15, 16)}, Width: 0.12},
		{ID: "heart", Kind: plan.Rail, Path: []geom.Vec{v(30.5, 24.5), v(30.5, 16)}, Width: 0.12},
		{ID: "inner", Kind: plan.Rail, Path: []geom.Vec{v(15, 16), v(15, 36.5), v(30.5, 36.5), v(30.5, 30)}, Width: 0.12},
	}
	for i, at := range []geom.Vec{v(6, 25), v(40, 30), v(41, 17), v(22, 27), v(6, 44), v(30, 12)} {
		p.Things = append(p.Things, plan.Thing{ID: fmt.Sprintf("p%d", i+1), Kind: plan.Post, At: at, Radius: 0.06})
	}
	p.Hazards = []plan.Hazard{{
		Name: "H2", MarkerRadius: marker,
		In:  plan.Pair{Left: v(6, 9.5), Right: v(10, 9.5)},
		Out: plan.Pair{Left: v(38, 9.5), Right: v(34, 9.5)},
		Gates: []plan.Gate{
			{Letter: "A", Pair: plan.Pair{Left: v(10, 16), Right: v(15, 16)}},       // northwards into the spiral
			{Letter: "B", Pair: plan.Pair{Right: v(30.5, 30), Left: v(30.5, 24.5)}}, // westwards, the only mouth of its heart
		},
	}}
	return p
}
