package turnout

import (
	"errors"
	"testing"
	"time"

	"terret/internal/fault"
)

func TestLinesOfACardHaveNamesOfTheirOwn(t *testing.T) {
	for _, name := range []string{"vse-cart", "single", "pair", "tandem", "four", "phaeton"} {
		card, err := NewCard(full(t, name), CardOptions{})
		if err != nil {
			t.Fatal(err)
		}
		seen := map[string]bool{}
		for _, l := range card.lines() {
			if l.ID == "" || seen[l.ID] {
				t.Errorf("%s: %q", name, l.ID)
			}
			seen[l.ID] = true
		}
	}
}

func TestRecordsOfACard(t *testing.T) {
	card, err := NewCard(full(t, "pair"), CardOptions{})
	if err != nil {
		t.Fatal(err)
	}
	from := time.Date(2026, 5, 14, 8, 20, 0, 0, time.UTC)
	good := func() *Record {
		return &Record{Turnout: "Chestnut pair", Entry: "7", Checker: "A. Checker", From: from, To: from.Add(4 * time.Minute), Result: LookedOver, Marks: []Marked{{Line: "pole straps", Mark: LookedAt}, {Line: "whip", Mark: LookedAt}}}
	}
	r := good()
	if err := r.Check(card); err != nil || r.Minutes() != 4 || len(r.NotLookedAt(card)) != len(card.lines())-2 {
		t.Errorf("%v, %v min, %d lines left", err, r.Minutes(), len(r.NotLookedAt(card)))
	}
	for rule, change := range map[string]func(*Record){
		"checker":    func(r *Record) { r.Checker = " " },
		"time":       func(r *Record) { r.To = from.Add(-time.Minute) },
		"line":       func(r *Record) { r.Marks[0].Line = "balance level" }, // a pair's card has none
		"line-twice": func(r *Record) { r.Marks[0].Line = "whip" },
		"mark":       func(r *Record) { r.Marks[0].Mark = "fine" },
		"result":     func(r *Record) { r.Marks[0].Mark = Fix },
		"reason":     func(r *Record) { r.Marks[0].Mark, r.Result = Refuse, NotToday },
	} {
		r := good()
		change(r)
		var f *fault.Fault
		if err := r.Check(card); !errors.As(err, &f) || f.Rule != rule || f.Hint == "" {
			t.Errorf("%s: %v", rule, err)
		}
	}
	r = good()
	r.Marks[0] = Marked{"pole straps", Fix, "off side two holes longer"}
	r.Result = ShowAgain
	if err := r.Check(card); err != nil || len(r.ToFix()) != 1 {
		t.Errorf("%v", err)
	}
	r.Result, r.Reason = NotToday, "no second strap on the lorry"
	if err := r.Check(card); err != nil {
		t.Error(err)
	}
}
