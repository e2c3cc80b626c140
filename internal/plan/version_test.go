package plan

import "testing"

func TestVersionLettersCountAsDrawingsDo(t *testing.T) {
	for version, want := range map[int]string{-1: "", 0: "", 1: "A", 26: "Z", 27: "AA", 52: "AZ", 53: "BA", 702: "ZZ", 703: "AAA"} {
		if got := VersionLetter(version); got != want {
			t.Errorf("VersionLetter(%d) = %q, want %q", version, got, want)
		}
	}
}
