// Package trialday makes of a trial's order of go the day that people's jobs are held
// against: when each phase has its starts, and who is out with a turnout then. It is
// the one place that knows both a trial and a rota; so it also proposes the jobs that a
// day wants ([Jobs]).
package trialday

import (
	"fmt"
	"slices"

	"terret/internal/rota"
	"terret/internal/trial"
	"terret/internal/trial/order"
)

// Of is a trial's day. Those who do not drive any more are not in it; a phase whose
// order is not made yet has no starts, and a trial without a timetable no phases.
func Of(t *trial.Trial) rota.Day {
	var d rota.Day
	for i := range t.Entries {
		e := &t.Entries[i]
		if e.Status == trial.Withdrawn || e.Status == trial.Disqualified {
			continue
		}
		d.Entered = append(d.Entered, rota.Entered{Person: e.Driver, Class: e.Class, Says: fmt.Sprint("drives ", e.Number)})
		for _, g := range e.Grooms {
			d.Entered = append(d.Entered, rota.Entered{Person: g, Class: e.Class, Says: fmt.Sprint("is groom to ", e.Number)})
		}
	}
	in, err := t.OrderInput()
	if err != nil { // no timetable: nobody has a start
		return d
	}
	drives := in.Drives()
	starts := slices.Clone(t.Timetable.Starts)
	slices.SortStableFunc(starts, func(a, b order.Start) int { return int(a.At - b.At) })
	for _, p := range in.Phases {
		run := rota.Run{Phase: p.Name}
		lasts := p.Lasts
		if lasts == 0 {
			lasts = p.Every
		}
		for _, s := range starts {
			if s.Phase != p.Name || !drives[order.Start{Phase: s.Phase, Entry: s.Entry}] {
				continue
			}
			when := rota.StretchOf(int(s.At), lasts)
			run.Starts = append(run.Starts, when)
			k := slices.IndexFunc(t.Entries, func(e trial.Entry) bool { return e.Number == s.Entry })
			e := &t.Entries[k]
			d.Drives = append(d.Drives, rota.Drive{Person: e.Driver, Says: fmt.Sprintf("drives %s with %d", p.Name, e.Number), When: when})
			for _, g := range e.Grooms {
				d.Drives = append(d.Drives, rota.Drive{Person: g, Says: fmt.Sprintf("is groom to %d in %s", e.Number, p.Name), When: when})
			}
		}
		d.Phases = append(d.Phases, run)
	}
	return d
}
