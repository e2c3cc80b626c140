package plan

import (
	"path/filepath"
	"reflect"
	"testing"
)

// exampleFiles are the plans people start from; other tests are seeded from them.
func exampleFiles(t testing.TB) []string {
	files, err := filepath.Glob("../../examples/plans/*.yaml")
	if err != nil || len(files) < 8 {
		t.Fatalf("only %d example plans (%v)", len(files), err)
	}
	return files
}

func TestEveryExampleIsValidWithoutWarningsAndRoundTrips(t *testing.T) {
	for _, f := range exampleFiles(t) {
		p, warnings, err := Load(f)
		if err != nil {
			t.Error(err)
			continue
		}
		for _, w := range warnings {
			t.Error(w)
		}
		text, err := Encode(p)
		if err != nil {
			t.Fatal(err)
		}
		if again, _, err := Decode(f, text); err != nil || !reflect.DeepEqual(p, again) {
			t.Errorf("%s does not round-trip: %v\n%s", f, err, text)
		}
	}
}
