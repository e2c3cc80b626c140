package trial

import (
	"math/big"
	"testing"

	"pgregory.net/rapid"

	"terret/internal/rules"
)

// rat is the same number in the standard library's exact fractions, the
// reference here.
func rat(n number) *big.Rat { return big.NewRat(n.n, n.d) }

func drawNumber(t *rapid.T, name string) number {
	n := rapid.Int64Range(-99_999_999, 99_999_999).Draw(t, name)
	d := rapid.SampledFrom([]int64{1, 2, 3, 4, 5, 10, 60, 100, 240, 1000, 10_000}).Draw(t, name+" below")
	return number{n, d}
}

func TestNumbersAgainstTheStandardLibrary(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := drawNumber(t, "a"), drawNumber(t, "b")
		for name, c := range map[string]struct{ got, want *big.Rat }{
			"plus":  {rat(a.plus(b)), new(big.Rat).Add(rat(a), rat(b))},
			"minus": {rat(a.minus(b)), new(big.Rat).Sub(rat(a), rat(b))},
			"times": {rat(a.times(b)), new(big.Rat).Mul(rat(a), rat(b))},
			"over":  {rat(a.over(7)), new(big.Rat).Quo(rat(a), big.NewRat(7, 1))},
		} {
			if c.got.Cmp(c.want) != 0 {
				t.Fatalf("%v %s %v is %v, want %v", a, name, b, c.got, c.want)
			}
		}
		if got, want := a.cmp(b), rat(a).Cmp(rat(b)); got != want {
			t.Fatalf("%v against %v: %d, want %d", a, b, got, want)
		}
		if a.sign() >= 0 {
			// The library rounds halves away from nothing, which for these is up.
			if got, want := a.round(2, rules.HalfUp).fixed(2), rat(a).FloatString(2); got != want {
				t.Fatalf("%v rounded: %s, want %s", a, got, want)
			}
			if down := a.round(2, rules.Down); down.cmp(a) > 0 || a.minus(down).cmp(number{1, 100}) >= 0 {
				t.Fatalf("%v rounded down: %v", a, down)
			}
			if up := a.ceil(); up.cmp(a) < 0 || up.minus(a).cmp(whole(1)) >= 0 {
				t.Fatalf("%v to the next whole: %v", a, up)
			}
		}
	})
}

func TestRoundingOfHalves(t *testing.T) {
	for _, c := range []struct {
		n                      number
		halfUp, halfEven, down string
	}{
		{number{330875, 10000}, "33.09", "33.09", "33.08"},
		{number{665, 1000}, "0.67", "0.66", "0.66"},
		{number{675, 1000}, "0.68", "0.68", "0.67"},
		{number{1, 3}, "0.33", "0.33", "0.33"},
		{number{2, 3}, "0.67", "0.67", "0.66"},
		{whole(0), "0.00", "0.00", "0.00"},
		{number{-1, 1}, "-1.00", "-1.00", "-1.00"},
	} {
		for mode, want := range map[string]string{rules.HalfUp: c.halfUp, rules.HalfEven: c.halfEven, rules.Down: c.down} {
			if got := c.n.round(2, mode).fixed(2); got != want {
				t.Errorf("%v %s: %s, want %s", c.n, mode, got, want)
			}
		}
	}
}

func TestParseNumbers(t *testing.T) {
	for s, want := range map[string]string{"0": "0", "6.5": "6.5", "148.35": "148.35", "007.50": "7.5", "99999.999": "99999.999", "1.2300": "1.23"} {
		if n, wrong := parse(s); wrong != "" || n.String() != want {
			t.Errorf("%q: %v %s", s, n, wrong)
		}
	}
	for _, s := range []string{"", ".", ".5", "5.", "1,5", "1:30", "-1", "+1", "1e3", " 1", "1 ", "0x1", "100000", "1.2345", "1.5.5", "½", "١", "NaN"} {
		if n, wrong := parse(s); wrong == "" {
			t.Errorf("%q is taken as %v", s, n)
		}
	}
}

// The widest numbers that Validate lets through do not overflow: 50 hazards of
// the longest time, each second at the highest factor.
func TestWidestNumbers(t *testing.T) {
	longest, _ := parse("99999.999")
	total := whole(0)
	for range 50 {
		total = total.plus(longest)
	}
	cost := total.times(rule("999.9999")).plus(rule("99999.9999").times(whole(maxCount)))
	want := new(big.Rat).Mul(new(big.Rat).Mul(rat(longest), big.NewRat(50, 1)), big.NewRat(9999999, 10000))
	want.Add(want, new(big.Rat).Mul(big.NewRat(999999999, 10000), big.NewRat(maxCount, 1)))
	if rat(cost).Cmp(want) != 0 {
		t.Errorf("%s, want %s", cost, want.FloatString(8))
	}
	cost.plus(number{1, 3}).plus(number{1, 4})
}
