package trialday_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"terret/internal/rota"
	"terret/internal/rota/trialday"
	"terret/internal/trial"
	"terret/internal/trial/order"
)

// TestOf: the starts of those who still drive, by phase and time, with who is out with
// the turnout; seconds go to the whole minutes around.
func TestOf(t *testing.T) {
	day := &trial.Trial{
		Name:    "day",
		Classes: []trial.Class{{ID: "P", Phases: []string{"dressage", "cones"}}},
		Entries: []trial.Entry{
			{Number: 7, Class: "P", Driver: "Hazel Fenn", Grooms: []string{"Una Wren"}},
			{Number: 8, Class: "P", Driver: "Ida Rook"},
			{Number: 9, Class: "P", Driver: "Tom Larch", Status: trial.Withdrawn},
		},
		Timetable: &trial.Timetable{
			Phases: []trial.Run{{Phase: order.Phase{Name: "dressage", Start: order.At(9, 0), Every: 450, Lasts: 390}}, {Phase: order.Phase{Name: "cones", Start: order.At(13, 0), Every: 300}}},
			Starts: []order.Start{{Phase: "dressage", Entry: 8, At: order.At(9, 7) + 30}, {Phase: "dressage", Entry: 7, At: order.At(9, 0)}, {Phase: "dressage", Entry: 9, At: order.At(9, 15)}},
		},
	}
	first, second := rota.Stretch{From: 540, To: 547}, rota.Stretch{From: 547, To: 554}
	want := rota.Day{
		Phases: []rota.Run{{Phase: "dressage", Starts: []rota.Stretch{first, second}}, {Phase: "cones"}},
		Drives: []rota.Drive{{Person: "Hazel Fenn", Says: "drives dressage with 7", When: first}, {Person: "Una Wren", Says: "is groom to 7 in dressage", When: first}, {Person: "Ida Rook", Says: "drives dressage with 8", When: second}},
	}
	want.Entered = []rota.Entered{{Person: "Hazel Fenn", Class: "P", Says: "drives 7"}, {Person: "Una Wren", Class: "P", Says: "is groom to 7"}, {Person: "Ida Rook", Class: "P", Says: "drives 8"}}
	if d := cmp.Diff(want, trialday.Of(day)); d != "" {
		t.Error(d)
	}
	day.Timetable = nil
	if d := cmp.Diff(rota.Day{Entered: want.Entered}, trialday.Of(day)); d != "" {
		t.Errorf("without a timetable:\n%s", d)
	}
}
