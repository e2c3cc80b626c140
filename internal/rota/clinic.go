package rota

import (
	"cmp"
	"fmt"
	"slices"

	"terret/internal/strict"
)

// Clinic is the bookings of a clinic, to be put into slots.
type Clinic struct {
	Start, End Time // End 0: as long as it takes
	SlotMin    int
	ChangeMin  int // min between two slots: out, in, what is tightened
	Breaks     []Pause
	Bookings   []Booking
}

// Pause is a time without slots.
type Pause struct {
	From, To Time
	Why      string
}

// Booking is who has asked for a slot.
type Booking struct {
	Driver  string
	Turnout string  // kind, or file
	TrackCM float64 // outside of tyre to outside of tyre; 0 not measured
	Level   string
	After   Time // not before; 0 any
}

// Slot is one booking with its time.
type Slot struct {
	From    Time    `json:"from"`
	To      Time    `json:"to"`
	Driver  string  `json:"driver"`
	Turnout string  `json:"turnout"`
	Level   string  `json:"level"`
	TrackCM float64 `json:"track_cm,omitempty"`
	Tighten float64 `json:"tighten_cm,omitempty"` // by how much narrower than the slot before; negative is wider
}

// Slots are the clinic's slots in order.
type Slots struct {
	Slots   []Slot   `json:"slots"`    // never nil
	LeftOut []string `json:"left_out"` // who has none, and why; never nil
}

func readClinic(v strict.Value) *Clinic {
	o := v.Object("start", "end", "slot_min", "change_min", "breaks", "bookings")
	c := &Clinic{SlotMin: o.Need("slot_min").Int(5, 8*60), ChangeMin: DefaultChangeMin}
	c.Start, c.End = readSpan(o.Need("start"), o.Get("end"))
	if w := o.Get("change_min"); w.Ok() {
		c.ChangeMin = w.Int(0, 4*60)
	}
	for _, v := range o.Get("breaks").ListOf(20, "breaks") {
		b := v.Object("from", "to", "why")
		p := Pause{Why: b.Get("why").Text()}
		p.From, p.To = readSpan(b.Need("from"), b.Need("to"))
		c.Breaks = append(c.Breaks, p)
	}
	for _, v := range o.Need("bookings").ListOf(200, "bookings") {
		b := v.Object("driver", "turnout", "track_cm", "level", "not_before")
		k := Booking{Driver: b.Need("driver").Text(), Turnout: b.Get("turnout").Text(), Level: b.Get("level").Text(), After: readTime(b.Get("not_before"))}
		if w := b.Get("track_cm"); w.Ok() {
			k.TrackCM = w.Within(50, 300, "cm")
		}
		c.Bookings = append(c.Bookings, k)
	}
	return c
}

// Slots gives each booking a slot: the widest track first, so that the layout is only
// ever tightened; those not measured last. Who cannot come yet is passed over
// until then, and a slot that nobody there can take stays empty.
func (c *Clinic) Slots() *Slots {
	all := &Slots{Slots: []Slot{}, LeftOut: []string{}}
	waiting := slices.Clone(c.Bookings)
	slices.SortStableFunc(waiting, func(a, b Booking) int { return cmp.Compare(b.TrackCM, a.TrackCM) })
	breaks := slices.Clone(c.Breaks)
	slices.SortStableFunc(breaks, func(a, b Pause) int { return cmp.Compare(a.From, b.From) })
	before := 0.0
	for t := c.Start; len(waiting) > 0; {
		end := t + Time(c.SlotMin)
		if k := slices.IndexFunc(breaks, func(b Pause) bool { return t < b.To && end > b.From }); k >= 0 {
			t = breaks[k].To
			continue
		}
		last := c.End
		if last == 0 {
			last = 24 * 60
		}
		if end > last {
			break
		}
		k := slices.IndexFunc(waiting, func(b Booking) bool { return b.After <= t })
		if k < 0 { // wait for the first who can come
			soonest := slices.MinFunc(waiting, func(a, b Booking) int { return cmp.Compare(a.After, b.After) })
			t = soonest.After
			continue
		}
		b := waiting[k]
		waiting = slices.Delete(waiting, k, k+1)
		s := Slot{From: t, To: end, Driver: b.Driver, Turnout: b.Turnout, Level: b.Level, TrackCM: b.TrackCM}
		if before > 0 && b.TrackCM > 0 {
			s.Tighten = before - b.TrackCM
		}
		if b.TrackCM > 0 {
			before = b.TrackCM
		}
		all.Slots = append(all.Slots, s)
		t = end + Time(c.ChangeMin)
	}
	for _, b := range waiting {
		until := c.End
		if until == 0 {
			until = 24 * 60
		}
		all.LeftOut = append(all.LeftOut, fmt.Sprintf("%s: no slot of %d min is left before %s", b.Driver, c.SlotMin, until))
	}
	return all
}
