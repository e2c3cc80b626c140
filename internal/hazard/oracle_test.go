package hazard_test

import (
	"context"
	"fmt"
	"os"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"terret/internal/hazard"
	"terret/internal/hazard/hazardtest"
	"terret/internal/turnout"
)

// goals are what the planner must reach against the oracle with one turnout: the
// least share of what the oracle drives.
var goals = map[string]float64{
	turnout.Single: 1, turnout.PairH: 0.9, turnout.Tandem: 0.8, turnout.Four: 0.8,
}

// against is one line of the table.
type against struct {
	name     string
	planner  *hazard.Answer
	took     time.Duration
	rejected []string
	oracle   hazardtest.OracleResult
	err      error
}

// TestOracle holds the planner to a slow search over a lattice: what it finds
// drivable the planner must drive, and where the oracle's drive passes the
// same check, the planner's best must be as quick. It takes many minutes and
// is run by `make oracle`, that is with TERRET_ORACLE set:
//
//	TERRET_ORACLE=20            seeds for each turnout
//	TERRET_ORACLE_TURNOUT=pair  only the turnouts with this in their name
//	TERRET_ORACLE_SECONDS=60    the oracle's patience with one hazard
//
// Ratios are planner time over oracle time; only drives that pass the check
// are compared, and the table says how many those are.
func TestOracle(t *testing.T) {
	set := os.Getenv("TERRET_ORACLE")
	if set == "" {
		t.Skip("runs for many minutes: make oracle, or TERRET_ORACLE=20")
	}
	seeds, err := strconv.ParseUint(set, 10, 32)
	if err != nil {
		t.Fatalf("TERRET_ORACLE must be a number of seeds: %v", err)
	}
	patience := 60.0
	if s := os.Getenv("TERRET_ORACLE_SECONDS"); s != "" {
		if patience, err = strconv.ParseFloat(s, 64); err != nil {
			t.Fatalf("TERRET_ORACLE_SECONDS must be a number: %v", err)
		}
	}
	for _, tu := range hazardtest.Turnouts() {
		if !strings.Contains(tu.Name, os.Getenv("TERRET_ORACLE_TURNOUT")) {
			continue
		}
		t.Run(tu.Name, func(t *testing.T) {
			cases := []one{}
			if !tu.HasLeaders() {
				cases = append(cases, one{"H1", hazardtest.H1(), tu}, one{"H2", hazardtest.H2(), tu})
			}
			for seed := range seeds {
				cases = append(cases, one{fmt.Sprintf("R%02d", seed), hazardtest.Random(seed, kindOf(seed, tu)), tu})
			}
			rows := make([]against, len(cases))
			next := make(chan int)
			var wg sync.WaitGroup
			for range 2 {
				wg.Go(func() {
					for i := range next {
						rows[i] = compare(cases[i], patience)
					}
				})
			}
			for i := range cases {
				next <- i
			}
			close(next)
			wg.Wait()
			report(t, rows, goals[tu.Hitch])
		})
	}
}

// compare asks both about one hazard.
func compare(c one, patience float64) against {
	row := against{name: c.name}
	h := &c.plan.Hazards[0]
	begun := time.Now()
	row.planner, row.err = hazard.Routes(context.Background(), hazard.Question{Plan: c.plan, Turnout: c.with})
	row.took = time.Since(begun)
	if row.err != nil {
		return row
	}
	row.rejected = hazardtest.CheckAnswer(c.plan, h, c.with, "", row.planner)
	ctx, stop := context.WithTimeout(context.Background(), time.Duration(patience*float64(time.Second)))
	defer stop()
	row.oracle, row.err = hazardtest.Oracle(ctx, c.plan, h, c.with, "")
	return row
}

// report prints the table and judges it.
func report(t *testing.T, rows []against, goal float64) {
	var b strings.Builder
	fmt.Fprintf(&b, "\n| hazard | planner s | in | oracle s | in | ratio | remarks |\n|---|---|---|---|---|---|---|\n")
	drives, kept, compared := 0, 0, 0
	var ours, theirs, worst float64
	for _, r := range rows {
		if r.err != nil {
			t.Errorf("%s: %v", r.name, r.err)
			continue
		}
		mine, other, ratio, remark := "none", "none", "", ""
		if r.oracle.Drivable {
			drives++
			other = fmt.Sprintf("(arcs %.2f)", r.oracle.ArcsS)
			remark = strings.Join(r.oracle.Why, "; ")
		} else {
			remark = "oracle: " + strings.Join(r.oracle.Why, "; ")
		}
		if r.oracle.Comparable {
			other, remark = fmt.Sprintf("%.2f", r.oracle.TimeS), ""
		}
		if len(r.planner.Routes) > 0 {
			mine = fmt.Sprintf("%.2f", r.planner.Routes[0].TimeS)
			if r.oracle.Drivable {
				kept++
			}
			if r.oracle.Comparable {
				compared++
				q := r.planner.Routes[0].TimeS / r.oracle.TimeS
				ratio = fmt.Sprintf("%.3f", q)
				ours += r.planner.Routes[0].TimeS
				theirs += r.oracle.TimeS
				worst = max(worst, q)
			}
		} else if r.planner.NoneBecause != nil {
			remark = "planner: " + r.planner.NoneBecause.Text + " " + remark
		}
		if len(r.rejected) > 0 {
			t.Errorf("%s: rejected:\n  %s", r.name, strings.Join(r.rejected, "\n  "))
			remark = "REJECTED " + remark
		}
		fmt.Fprintf(&b, "| %s | %s | %.2f s | %s | %.1f s | %s | %s |\n", r.name, mine, r.took.Seconds(), other, r.oracle.Took.Seconds(), ratio, remark)
	}
	t.Log(b.String())
	t.Logf("oracle drives %d of %d, planner drives %d of those; %d comparable: sum of times %.4f, worst %.4f",
		drives, len(rows), kept, compared, ours/theirs, worst)
	if float64(kept) < goal*float64(drives) {
		t.Errorf("the planner drives %d of the oracle's %d, wanted %.0f %%", kept, drives, 100*goal)
	}
	if compared == 0 {
		t.Errorf("nothing is comparable")
	} else if ours > theirs || worst > 1.03 {
		t.Errorf("times against the oracle: sum %.4f (wanted ≤ 1.00), worst %.4f (wanted ≤ 1.03)", ours/theirs, worst)
	}
}
