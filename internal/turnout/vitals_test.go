package turnout

import (
	"reflect"
	"strings"
	"testing"
)

func TestReadVitals(t *testing.T) {
	got, err := ReadVitals("halt.csv", []byte("minute,pulse,breaths,temp_c\n0,120,60,39.4\n 5 , 80,,\n10,56,24,\n"))
	want := []Vital{{0, 120, 60, 39.4}, {5, 80, 0, 0}, {10, 56, 24, 0}}
	if err != nil || !reflect.DeepEqual(got, want) {
		t.Errorf("%v, %v; want %v", got, err, want)
	}
	if got, err = ReadVitals("halt.csv", []byte("pulse,minute\n120,0\n")); err != nil || !reflect.DeepEqual(got, []Vital{{Pulse: 120}}) {
		t.Errorf("other columns: %v, %v", got, err)
	}
	for text, want := range map[string]string{
		"":                        "minute,pulse",
		"pulse\n60\n":             "minute is missing",
		"minute,puls\n0,60\n":     "puls",
		"minute,minute\n0,0\n":    "twice",
		"minute,pulse\n0,sixty\n": "halt.csv:2: pulse",
		"minute,pulse\n,60\n":     "halt.csv:2: minute",
		"minute,pulse\n0,0\n":     "leave out what was not taken",
		"minute,pulse\n0,60,3\n":  "halt.csv:2",
		"minute,pulse\n0,NaN\n":   "no number",
		"minute,pulse\n\xff,1\n":  "UTF-8",
		"minute\n" + strings.Repeat("1\n", mostVitals+1): "more than",
	} {
		if _, err := ReadVitals("halt.csv", []byte(text)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%.30q: %v, want %q", text, err, want)
		}
	}
}
