package turnout

import (
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"terret/internal/strict"
)

// TestWholeLosesNothing: every example comes back the same turnout, with its
// notes, after being taken apart and written again.
func TestWholeLosesNothing(t *testing.T) {
	files, err := filepath.Glob("../../examples/*turnouts/*.yaml")
	more, err2 := filepath.Glob("../../examples/demo/turnouts/*.yaml")
	if files = append(files, more...); len(files) < 10 || err != nil || err2 != nil {
		t.Fatal(files, err, err2)
	}
	texts := map[string]string{"the contract's example": contract + "notes: |\n  Two lines:\n  # not a remark\nx-mine: {a: [1, two], b: true}\n"}
	for _, f := range files {
		data, err := strict.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		texts[filepath.Base(f)] = string(data)
	}
	for name, text := range texts {
		t.Run(name, func(t *testing.T) {
			want, _, err := Decode(name, []byte(text))
			if err != nil {
				t.Fatal(err)
			}
			m, err := Whole(name, []byte(text))
			if err != nil {
				t.Fatal(err)
			}
			out, err := EncodeWhole(m)
			if err != nil {
				t.Fatal(err)
			}
			got, _, err := Decode(name, out)
			if err != nil || !reflect.DeepEqual(got, want) {
				t.Fatalf("came back as %+v, %v\n%s", got, err, out)
			}
			again, err := Whole(name, out)
			if err != nil || !reflect.DeepEqual(again, m) {
				t.Errorf("written again it differs: %v\n%v\n%v", err, m, again)
			}
			if strings.Contains(text, "\nnotes:") && !strings.Contains(string(out), "\nnotes:") {
				t.Errorf("the notes are gone:\n%s", out)
			}
		})
	}
}
