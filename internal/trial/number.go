package trial

import (
	"cmp"
	"math/bits"
	"strconv"
	"strings"

	"terret/internal/rules"
)

// number is an exact fraction; the zero number is not valid, use whole(0).
//
// Marks, seconds and penalties are money to a competitor, so nothing here is a
// binary fraction. 64 bits are enough: what is read has at most five digits
// before the point and three behind it (seconds, marks) or four (rules), so a
// product has n < 10^17 and d ≤ 10^7; the only other divisors are judges
// (at most [maxJudges], least common multiple 60) and a test's maximum (a percentage
// for show). Sums that should overflow all the same panic rather than be wrong.
type number struct{ n, d int64 }

// whole is a whole number.
func whole(n int) number { return number{int64(n), 1} }

func overflow() { panic("trial: a number is too large to be added up exactly") }

// mul64 is a·b, which must fit.
func mul64(a, b int64) int64 {
	neg := (a < 0) != (b < 0)
	hi, lo := bits.Mul64(abs64(a), abs64(b))
	if hi != 0 || lo > 1<<63-1 {
		overflow()
	}
	if neg {
		return -int64(lo)
	}
	return int64(lo)
}

func add64(a, b int64) int64 {
	s := a + b
	if a > 0 && b > 0 && s <= 0 || a < 0 && b < 0 && s >= 0 {
		overflow()
	}
	return s
}

func abs64(a int64) uint64 {
	if a < 0 {
		return uint64(-a)
	}
	return uint64(a)
}

func gcd(a, b uint64) uint64 {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

func (a number) reduced() number {
	if g := int64(gcd(abs64(a.n), uint64(a.d))); g > 1 {
		return number{a.n / g, a.d / g}
	}
	return a
}

func (a number) plus(b number) number {
	switch {
	case a.d == b.d:
		return number{add64(a.n, b.n), a.d}
	case a.d%b.d == 0:
		return number{add64(a.n, mul64(b.n, a.d/b.d)), a.d}
	case b.d%a.d == 0:
		return number{add64(mul64(a.n, b.d/a.d), b.n), b.d}
	}
	g := int64(gcd(uint64(a.d), uint64(b.d)))
	return number{add64(mul64(a.n, b.d/g), mul64(b.n, a.d/g)), mul64(a.d/g, b.d)}.reduced()
}

func (a number) minus(b number) number { return a.plus(number{-b.n, b.d}) }

func (a number) times(b number) number {
	a, b = number{a.n, b.d}.reduced(), number{b.n, a.d}.reduced()
	return number{mul64(a.n, b.n), mul64(a.d, b.d)}
}

// over is a ÷ n for n > 0.
func (a number) over(n int) number { return number{a.n, mul64(a.d, int64(n))}.reduced() }

// cmp is below, at or above 0 as a is below, at or above b.
func (a number) cmp(b number) int {
	if a.sign() != b.sign() {
		return cmp.Compare(a.sign(), b.sign())
	}
	// |a.n|·b.d against |b.n|·a.d, in 128 bits.
	x, xLow := bits.Mul64(abs64(a.n), uint64(b.d))
	y, yLow := bits.Mul64(abs64(b.n), uint64(a.d))
	d := cmp.Or(cmp.Compare(x, y), cmp.Compare(xLow, yLow))
	if a.n < 0 {
		return -d
	}
	return d
}

func (a number) sign() int {
	switch {
	case a.n < 0:
		return -1
	case a.n > 0:
		return 1
	}
	return 0
}

// floor is the largest whole number not above a.
func (a number) floor() int64 {
	q := a.n / a.d
	if a.n < 0 && q*a.d != a.n {
		q--
	}
	return q
}

// ceil brings a started whole to the next whole.
func (a number) ceil() number { return number{-number{-a.n, a.d}.floor(), 1} }

// round brings a to places behind the point, in a mode of package rules.
func (a number) round(places int, mode string) number {
	scale := int64(1)
	for range places {
		scale *= 10
	}
	s := number{mul64(a.n, scale), a.d}
	f := s.floor()
	rest := s.minus(number{f, 1}) // 0 ≤ rest < 1
	switch up := rest.cmp(number{1, 2}); {
	case mode == rules.Down:
	case up > 0, up == 0 && (mode == rules.HalfUp || f%2 != 0):
		f++
	}
	return number{f, scale}.reduced()
}

// decimals is how many places behind the point a needs; ok is false when no
// number of places is enough.
func (a number) decimals() (places int, ok bool) {
	if a.d == 1 {
		return 0, true
	}
	a = a.reduced()
	twos, fives := 0, 0
	d := a.d
	for ; d%2 == 0; d /= 2 {
		twos++
	}
	for ; d%5 == 0; d /= 5 {
		fives++
	}
	return max(twos, fives), d == 1
}

// fixed writes a with places behind the point, cut off: round it first.
func (a number) fixed(places int) string {
	var b [40]byte
	return string(a.appendFixed(b[:0], places))
}

func (a number) appendFixed(out []byte, places int) []byte {
	if a.n < 0 {
		a.n = -a.n
		out = append(out, '-')
	}
	out = strconv.AppendInt(out, a.n/a.d, 10)
	if places == 0 {
		return out
	}
	rest := uint64(a.n % a.d)
	out = append(out, '.')
	for range places {
		hi, lo := bits.Mul64(rest, 10)
		q, r := bits.Div64(hi, lo, uint64(a.d))
		out = append(out, byte('0'+q))
		rest = r
	}
	return out
}

// String writes a in full where it has an end; else four places and a sign that
// it goes on.
func (a number) String() string {
	var b [40]byte
	return string(a.append(b[:0]))
}

func (a number) append(out []byte) []byte {
	if places, ok := a.decimals(); ok {
		return a.appendFixed(out, places)
	}
	return append(a.appendFixed(out, 4), "…"...)
}

// Bounds of what is read from sheets.
const (
	maxWhole  = 5 // digits before the point
	maxPlaces = 3 // behind it
)

// parse reads a plain decimal number of the size scores may have; wrong says
// what is wrong with it.
func parse(s string) (number, string) {
	n, d := int64(0), int64(1)
	before, behind, pointed := 0, 0, false
	for i := range len(s) {
		c := s[i]
		switch {
		case c == '.' && !pointed && i > 0:
			pointed = true
		case c < '0' || c > '9':
			return number{}, notPlain(s)
		case !pointed:
			if n = 10*n + int64(c-'0'); n > 0 {
				before++
			}
			if before > maxWhole {
				return number{}, "the number is too large"
			}
		default:
			behind++
			if behind > maxPlaces && c != '0' {
				return number{}, "it has more than three places behind the point"
			}
			if behind <= maxPlaces {
				n, d = 10*n+int64(c-'0'), 10*d
			}
		}
	}
	if s == "" || pointed && behind == 0 || behind > 20 {
		return number{}, notPlain(s)
	}
	for d > 1 && n%10 == 0 {
		n, d = n/10, d/10
	}
	return number{n, d}, ""
}

// notPlain says what is wrong with a text that is no plain decimal number.
func notPlain(s string) string {
	switch {
	case strings.ContainsRune(s, ','):
		return "there is a comma in the number"
	case strings.ContainsRune(s, ':'):
		return "minutes stand in the number"
	}
	return "it is no plain decimal number"
}

// decimal is the number with these digits before and behind the point.
func decimal(whole, part string) number {
	n, d := int64(0), int64(1)
	for _, c := range []byte(strings.TrimLeft(whole, "0")) {
		n = 10*n + int64(c-'0')
	}
	for _, c := range []byte(strings.TrimRight(part, "0")) {
		n, d = 10*n+int64(c-'0'), d*10
	}
	return number{n, d}
}

// rule is a number of a profile, which package rules has checked.
func rule(s string) number {
	whole, part, _ := strings.Cut(s, ".")
	return decimal(whole, part)
}
