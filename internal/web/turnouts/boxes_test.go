package turnouts

import (
	"math"
	"testing"
)

// TestNumbersAreReadInAnyUnit: the values by definition (inch 25.4 mm, pound
// 0.45359237 kg, hand 4 in, mile 1609.344 m).
func TestNumbersAreReadInAnyUnit(t *testing.T) {
	for text, row := range map[string]struct {
		u    unit
		s    system
		want float64
	}{
		"1.38":        {inMetres, metric, 1.38},
		"1,38":        {inMetres, metric, 1.38},
		"138 cm":      {inMetres, metric, 1.38},
		"1380mm":      {inMetres, metric, 1.38},
		"54 in":       {inMetres, metric, 1.3716},
		`54"`:         {inMetres, metric, 1.3716},
		"4'6\"":       {inMetres, metric, 1.3716},
		"4 ft 6 in":   {inMetres, metric, 1.3716},
		"4 ft":        {inMetres, metric, 1.2192},
		"54":          {inMetres, inches, 1.3716},
		"1.4 m":       {inMetres, inches, 1.4},
		"−2 cm":       {inMetres, metric, -0.02},
		"-0.02":       {inMetres, metric, -0.02},
		"14.2 hh":     {inCM, metric, 147.32},
		"15 hh":       {inCM, metric, 152.4},
		"60 in":       {inCM, metric, 152.4},
		"60":          {inCM, inches, 152.4},
		"152":         {inCM, metric, 152},
		"990 lb":      {inKG, metric, 449.0564463},
		"990":         {inKG, inches, 449.0564463},
		"450":         {inKG, metric, 450},
		"450 kg":      {inKG, inches, 450},
		"13 km/h":     {inSpeed, metric, 13 / 3.6},
		"10 mph":      {inSpeed, inches, 4.4704},
		"3.6":         {inSpeed, inches, 3.6},
		"40":          {inDegrees, inches, 40},
		"40°":         {inDegrees, metric, 40},
		"40 deg":      {inDegrees, metric, 40},
		"46":          {inMM, inches, 46},
		"1.75 in":     {inMM, metric, 44.45},
		"2 m/s²":      {inForce, metric, 2},
		".5":          {inMetres, metric, 0.5},
		"12 months":   {inMonths, metric, 12},
		"500":         {inKM, metric, 500},
		"500 km":      {inKM, metric, 500},
		" 1.38 m  ":   {inMetres, metric, 1.38},
		"-1 ft 6 in":  {inMetres, metric, -0.4572},
		"0":           {inMetres, metric, 0},
		"14.2 hands ": {inCM, metric, 147.32},
	} {
		got, err := number(text, row.u, row.s)
		if err != nil || math.Abs(got-row.want) > 1e-9 {
			t.Errorf("%q in %s boxes of %s: %v, %v; want %v", text, row.u, row.s, got, err, row.want)
		}
	}
	for text, u := range map[string]unit{"": inMetres, "wide": inMetres, "1.2.3": inMetres, "NaN": inMetres, "1e3": inMetres, "5 kg": inMetres, "5 m": inKG, "14.4 hh": inCM, "3 km/h": inMetres, "40 in": inDegrees, "Inf": inKG, "1 000": inMetres} {
		if got, err := number(text, u, metric); err == nil {
			t.Errorf("%q in a box of %s was read as %v", text, u, got)
		}
	}
}

// TestAUnitSwitchChangesNothing: whatever a box shows in either system, sent back
// untouched or read again, is the same measurement to what is shown.
func TestAUnitSwitchChangesNothing(t *testing.T) {
	for _, x := range []float64{0, 0.05, 1.38, 1.1, 2.6, 3.175, 0.65, -0.02} {
		for _, s := range []system{metric, inches} {
			back, err := number(shown(x, inMetres, s), inMetres, s)
			if err != nil || math.Abs(back-x) > 0.0013 {
				t.Errorf("%v m is shown as %q in %s and read back as %v, %v", x, shown(x, inMetres, s), s, back, err)
			}
		}
	}
}
