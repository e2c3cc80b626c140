package web

import (
	"encoding/json"
	"fmt"
	"net/http"
	"sync"
	"sync/atomic"
	"testing"
)

// TestManyAskAtOnce: eight people use the pages at the same moment; every one
// gets an answer of their own, a drag shared by two windows stays whole, and of
// eight that keep the same version exactly one does. Run with the race detector,
// it is what looks for races in the handlers; so all eight wait for each other before
// each question, and their answers are worked out side by side.
func TestManyAskAtOnce(t *testing.T) {
	h, s := house(t, true, straight{})
	const people = 8
	var kept, late atomic.Int32
	asks := []struct{ path, doc, body string }{
		{"/api/solve", field, `{"plan":%s,"turnout":"06-bay-cob","seq":%d}`},
		{"/api/follow", field, `{"session":"shared","plan":%s,"turnout":"06-bay-cob","seq":%d}`},
		{"/api/cones/follow", pairs, `{"session":"shared","plan":%s,"turnout":"06-bay-cob","seq":%d}`},
		{"/api/cones/drive", pairs, `{"plan":%s,"turnouts":["06-bay-cob"],"seq":%d}`},
	}
	const rounds = 3
	ready := make([]sync.WaitGroup, rounds*len(asks))
	for i := range ready {
		ready[i].Add(people)
	}
	var wait sync.WaitGroup
	for i := range people {
		wait.Go(func() {
			post := func(path, body string) string {
				t.Helper()
				w := ask{method: "POST", path: path, kind: jsonKind, body: body}.do(h)
				if w.Code != http.StatusOK {
					t.Errorf("%s: %d %s", path, w.Code, w.Body)
				}
				return w.Body.String()
			}
			for n := range rounds {
				seq := i*10 + n
				for k, a := range asks {
					all := &ready[n*len(asks)+k]
					all.Done()
					all.Wait()
					var got struct{ Seq int }
					if err := json.Unmarshal([]byte(post(a.path, fmt.Sprintf(a.body, a.doc, seq))), &got); err != nil || got.Seq != seq {
						t.Errorf("%s: asked with %d, answered with %d, %v", a.path, seq, got.Seq, err)
					}
				}
				for _, path := range []string{"/ground", "/ground/hollowmere-orchard", "/turnouts", "/ground/hollowmere-cones/setting-out"} {
					if w := (ask{method: "GET", path: path}).do(h); w.Code != http.StatusOK {
						t.Errorf("%s: %d", path, w.Code)
					}
				}
			}
			switch w := (ask{method: "PUT", path: "/api/plans/hollowmere-orchard", kind: jsonKind, body: `{"base_version":1,"plan":` + field + `}`}).do(h); w.Code {
			case http.StatusOK:
				kept.Add(1)
			case http.StatusConflict:
				late.Add(1)
			default:
				t.Errorf("keep: %d %s", w.Code, w.Body)
			}
		})
	}
	wait.Wait()
	if kept.Load() != 1 || late.Load() != people-1 {
		t.Errorf("%d kept and %d came too late, want 1 and %d", kept.Load(), late.Load(), people-1)
	}
	if v, err := s.Plan(t.Context(), "hollowmere-orchard", 0); err != nil || v.Version != 2 {
		t.Errorf("the newest version is %d, %v", v.Version, err)
	}
}
