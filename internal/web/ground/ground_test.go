package ground

import (
	"encoding/json"
	"math"
	"strings"
	"testing"
	"time"

	"terret/internal/geom"
)

// TestScriptsCannotBeEnded: a plan's own text cannot end the element its JSON
// stands in.
func TestScriptsCannotBeEnded(t *testing.T) {
	doc := []byte(`{"name":"</script><script>alert(1)</script>&<!--"}`)
	got := string(inScript(doc))
	if strings.ContainsAny(got, "<>&") {
		t.Errorf("markup is left in %s", got)
	}
	var v struct{ Name string }
	if err := json.Unmarshal([]byte(got), &v); err != nil || v.Name != "</script><script>alert(1)</script>&<!--" {
		t.Errorf("read back as %q, %v", v.Name, err)
	}
}

// TestLivesAreBounded: many drags at once throw out the longest unused, and an
// idle one goes by itself.
func TestLivesAreBounded(t *testing.T) {
	now := time.Date(2026, 10, 3, 12, 0, 0, 0, time.UTC)
	l := newLives[live](2, time.Minute, func() time.Time { return now })
	a := l.get("a")
	now = now.Add(time.Second)
	l.get("b")
	now = now.Add(time.Second)
	if l.get("a") != a {
		t.Error("a session in use was thrown out")
	}
	now = now.Add(time.Second)
	l.get("c")
	if l.count() != 2 {
		t.Errorf("%d sessions, want 2", l.count())
	}
	if l.get("a") != a {
		t.Error("the longest unused was b, and a went")
	}
	now = now.Add(2 * time.Minute)
	l.get("d")
	if l.count() != 1 {
		t.Errorf("%d sessions after all have idled, want 1", l.count())
	}
}

// TestBendsKeepTheLine: what is left out of a line is within 4 cm of it.
func TestBendsKeepTheLine(t *testing.T) {
	var all []geom.Vec
	at, dir := geom.Vec{}, 0.0
	for i := range 800 { // a line whose curvature swings between 1/3.5 m to either hand
		dir += 0.5 / 3.5 * math.Sin(float64(i)/40)
		at = at.Add(geom.Bearing(dir).Dir().Mul(0.5))
		all = append(all, at)
	}
	few := bends(all)
	if len(few) > 700 || few[0] != [2]float64{all[0].X, all[0].Y} || few[len(few)-1] != [2]float64{all[799].X, all[799].Y} {
		t.Fatalf("%d of %d points kept, from %v to %v", len(few), len(all), few[0], few[len(few)-1])
	}
	for _, q := range all {
		near := math.Inf(1)
		for i := 1; i < len(few); i++ {
			near = math.Min(near, geom.Seg{A: geom.Vec{X: few[i-1][0], Y: few[i-1][1]}, B: geom.Vec{X: few[i][0], Y: few[i][1]}}.Dist(q))
		}
		if near > 0.04 {
			t.Fatalf("%v is %.3f m off", q, near)
		}
	}
}
