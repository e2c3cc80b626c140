package gait

import (
	"math"
	"strings"
	"testing"

	"terret/internal/fault"
)

// TestTimedDistances against published points (Clayton 1994: working trot 3.61
// m/s, stride 2.73 m, 79.3 a minute; Drevemo 1980: 12.0 m/s, 5.45 m in 0.455 s)
// and the walk–trot transition (Griffin 2004: Froude 0.35 at a leg of 1.0 m is
// 1.853 m/s).
func TestTimedDistances(t *testing.T) {
	for name, row := range map[string]struct {
		metres, seconds, strides, leg float64
		speed, stride, perMinute, fr  float64
	}{
		"working trot, ten strides":       {27.3, 27.3 / 3.61, 10, 1.2, 3.61, 2.73, 79.3, 3.61 * 3.61 / (9.80665 * 1.2)},
		"racing trot":                     {545, 45.5, 100, 1.4, 545 / 45.5, 5.45, 60 / 0.455, math.Pow(545/45.5, 2) / (9.80665 * 1.4)},
		"at the change from walk to trot": {40, 40 / 1.853, 0, 1.0, 1.853, 0, 0, 0.35},
	} {
		got, err := TimedOf(row.metres, row.seconds, row.strides, row.leg)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if math.Abs(got.SpeedMPS-row.speed) > 1e-9 || math.Abs(got.KMH-3.6*row.speed) > 1e-9 || math.Abs(got.Froude-row.fr) > 3e-4 {
			t.Errorf("%s: %+v", name, got)
		}
		if row.stride == 0 {
			if got.StrideM != nil || got.StrideHz != nil {
				t.Errorf("%s: a stride from nothing", name)
			}
			continue
		}
		if math.Abs(*got.StrideM-row.stride) > 1e-9 || math.Abs(PerMinute(*got.StrideHz)-row.perMinute) > 0.05 {
			t.Errorf("%s: stride %v, %v a minute", name, *got.StrideM, PerMinute(*got.StrideHz))
		}
		if !(got.RangeMPS[0] < got.SpeedMPS && got.SpeedMPS < got.RangeMPS[1]) || got.Trot != CannotTell {
			t.Errorf("%s: %+v", name, got)
		}
	}
	for name, x := range map[string][4]float64{
		"no distance":          {0, 8, 0, 1.2},
		"no time":              {30, 0, 0, 1.2},
		"as quick as a car":    {300, 8, 0, 1.2},
		"NaN":                  {math.NaN(), 8, 0, 1.2},
		"beats for strides":    {27.3, 7.5, 200, 1.2},
		"a stride of 27 m":     {27.3, 7.5, 1, 1.2},
		"a leg in centimetres": {27.3, 7.5, 10, 120},
	} {
		if got, err := TimedOf(x[0], x[1], x[2], x[3]); err == nil {
			t.Errorf("%s gave %+v", name, got)
		} else if code, ok := fault.CodeOf(err); !ok || code != fault.Input {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestReadTaps(t *testing.T) {
	got, err := ReadTaps("a.csv", []byte("\xef\xbb\xbft_s\r\n0\r\n0.38\r\n\r\n0.76\r\n"))
	if err != nil || len(got) != 3 || got[2] != 0.76 {
		t.Errorf("%v, %v", got, err)
	}
	for text, want := range map[string]string{"": "t_s", "seconds\n1\n": "t_s", "t_s\n1\nx\n": "a.csv:3", "t_s\nNaN\n": "a.csv:2", "t_s\n1,2\n": "a.csv:2", "t_s\n" + strings.Repeat("1\n", mostTaps+1): "more than"} {
		if _, err := ReadTaps("a.csv", []byte(text)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%.20q: %v, want %q", text, err, want)
		}
	}
}
