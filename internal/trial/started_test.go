package trial

import "testing"

// TestStartsAreMarks: a start is kept and read back like any mark, touches no
// score, and can be undone.
func TestStartsAreMarks(t *testing.T) {
	l := &Ledger{}
	for _, m := range []Mark{
		{ID: "a", At: 1, By: "G", Device: "desk", Start: &Started{Phase: "cones", Entry: 7}},
		{ID: "b", At: 2, By: "G", Device: "desk", Start: &Started{Phase: "cones", Entry: 8}},
		{ID: "c", At: 3, By: "G", Device: "desk", Start: &Started{Phase: "dressage", Entry: 7}},
		{ID: "d", At: 4, By: "G", Device: "desk", Undoes: "b"},
	} {
		if err := l.Append(m); err != nil {
			t.Fatal(err)
		}
	}
	if s := l.Starts("cones"); len(s) != 1 || s[0].ID != "a" {
		t.Errorf("started in cones: %+v", s)
	}
	for name, m := range map[string]Mark{
		"no phase":   {ID: "x", At: 1, By: "G", Device: "desk", Start: &Started{Entry: 7}},
		"no entry":   {ID: "x", At: 1, By: "G", Device: "desk", Start: &Started{Phase: "cones"}},
		"two things": {ID: "x", At: 1, By: "G", Device: "desk", Start: &Started{Phase: "cones", Entry: 7}, Tick: &Tick{Sheet: "a"}},
	} {
		if err := l.Append(m); err == nil {
			t.Errorf("%s is taken", name)
		}
	}
	doc, err := l.Encode()
	if err != nil {
		t.Fatal(err)
	}
	back, err := DecodeLedger("l", doc)
	if err != nil || len(back.Starts("cones")) != 1 {
		t.Errorf("read back: %v", err)
	}
	if l.touches(0) != 0 || l.touches(3) != 0 {
		t.Error("a start touches a score")
	}
}
