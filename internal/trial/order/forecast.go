package order

import (
	"fmt"
	"slices"
)

// Actual is when an entry really started.
type Actual struct {
	Entry int
	At    Clock
}

// Due is when an entry is expected.
type Due struct {
	Entry   int   `json:"entry"`
	Planned Clock `json:"planned_s"`
	Now     Clock `json:"now_s"` // expected
}

// Forecast is how a phase runs.
type Forecast struct {
	Phase     string `json:"phase"`
	LateS     int    `json:"late_s"`    // the next start, against the list; below 0 never
	PaceS     int    `json:"pace_s"`    // s from start to start that is reckoned with
	Due       []Due  `json:"due"`       // those still to come, in their order; never nil
	LastAt    Clock  `json:"last_at_s"` // last start
	LastLateS int    `json:"last_late_s"`
	Says      string `json:"says"` // for the in-gate
}

// Late reckons when those still to come will start. started is who has, in any
// order; now is the time. Nobody starts before the list says. pace is the seconds
// from start to start that the phase can do when it hurries; 0 takes the list's
// own. Empty slots and breaks absorb lateness; keepBreaks leaves breaks their
// length.
func Late(p *Plan, phase Phase, started []Actual, now Clock, pace int, keepBreaks bool) (*Forecast, error) {
	i := slices.IndexFunc(p.Lists, func(l List) bool { return l.Phase == phase.Name })
	if i < 0 {
		return nil, wrong("order-phase", "phase "+phase.Name, "the plan has no such phase", "")
	}
	if pace < 0 {
		return nil, wrong("order-pace", "pace", fmt.Sprintf("%d s from start to start", pace), "more than nothing, or 0 for the list's own")
	}
	if pace == 0 {
		pace = phase.Every
	}
	f := &Forecast{Phase: phase.Name, PaceS: pace, Due: []Due{}}
	gone := map[int]Clock{}
	at := Clock(-1) // the last start so far
	for _, a := range started {
		gone[a.Entry] = a.At
		at = max(at, a.At)
	}
	absorbed := ""
	var before *Slot
	for s := range p.Lists[i].Slots {
		slot := &p.Lists[i].Slots[s]
		if slot.Entry == 0 {
			continue
		}
		if _, ok := gone[slot.Entry]; ok {
			before = slot
			continue
		}
		due := max(slot.At, now)
		if at >= 0 {
			due = max(due, at+Clock(pace))
		}
		if keepBreaks {
			for _, b := range phase.Breaks {
				// A break that lies between two starts of the list keeps its length.
				if before != nil && before.At < b.From && slot.At >= b.To {
					due = max(due, at+Clock(phase.lasts())+(b.To-b.From))
				}
			}
		}
		if n := len(f.Due); n > 0 && absorbed == "" {
			wasLate := f.Due[n-1].Now - f.Due[n-1].Planned
			if late := due - slot.At; wasLate >= 60 && late < wasLate {
				gap := before.At + Clock(phase.Every)
				absorbed = fmt.Sprintf("the gap at %s takes %d min of it", gap.Minute(), int(wasLate-late)/60)
			}
		}
		f.Due = append(f.Due, Due{slot.Entry, slot.At, due})
		at, before = due, slot
	}
	if len(f.Due) == 0 {
		f.Says = phase.Name + ": everybody has started"
		return f, nil
	}
	first, last := f.Due[0], f.Due[len(f.Due)-1]
	f.LateS, f.LastAt, f.LastLateS = int(first.Now-first.Planned), last.Now, int(last.Now-last.Planned)
	f.Says = fmt.Sprintf("%s: on time; %d due %s", phase.Name, first.Entry, first.Now.Minute())
	if f.LateS >= 60 {
		f.Says = fmt.Sprintf("%s: running %d min late; %d now due %s", phase.Name, f.LateS/60, first.Entry, first.Now.Minute())
		if absorbed != "" {
			f.Says += "; " + absorbed
		}
	}
	f.Says += fmt.Sprintf("; last start %d at %s", last.Entry, last.Now.Minute())
	return f, nil
}
