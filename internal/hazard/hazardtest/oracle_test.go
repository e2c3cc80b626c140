package hazardtest

import (
	"context"
	"os"
	"testing"
	"time"
)

// TestOracleFew runs the oracle on one hazard: it must drive it, and its drive
// must pass the check. With TERRET_ORACLE set it runs on more of them.
func TestOracleFew(t *testing.T) {
	seeds, names := uint64(1), []string{"pony, two wheels"}
	if os.Getenv("TERRET_ORACLE") != "" {
		seeds, names = 20, []string{"pony, two wheels", "single, two wheels", "pair"}
	}
	for _, name := range names {
		drove := 0
		for seed := range seeds {
			p := Random(seed, Options{})
			ctx, stop := context.WithTimeout(context.Background(), 60*time.Second)
			r, err := Oracle(ctx, p, &p.Hazards[0], Named(name), "")
			stop()
			if err != nil {
				t.Fatal(err)
			}
			if r.Comparable {
				drove++
			}
			t.Logf("%s seed %d: arcs %t %.1f s, smooth %t %.2f s, %d nodes, %v, %v", name, seed, r.Drivable, r.ArcsS, r.Comparable, r.TimeS, r.Nodes, r.Took, r.Why)
		}
		if drove == 0 {
			t.Errorf("%s: no drive of the oracle passes the check", name)
		}
	}
}
