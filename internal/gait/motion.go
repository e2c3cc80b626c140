package gait

import (
	"bytes"
	"fmt"
	"math"
	"slices"
	"strconv"

	"terret/internal/fault"
	"terret/internal/strict"
)

// Motion is what a phone wrote down: accelerations in m/s² along the phone's own
// three axes, gravity included or not, at rising times in s.
type Motion struct {
	T []float64
	A [][3]float64
}

const (
	// mostLog is the longest log that is read: 64 MB, some four hours at 100 Hz.
	mostLog = 64 << 20
	// leastRate is the fewest samples a second, a little under 25 for clocks that
	// run slow.
	leastRate = 24
	// hardest is more than a phone on a horse ever feels, m/s² (estimate: phones
	// measure up to 80 or 160).
	hardest = 400
)

// LoadMotion reads a log from a file; see ReadMotion. A file over 64 MB is
// refused by its size, before it is read.
func LoadMotion(path string) (*Motion, error) {
	data, err := strict.ReadFileMost(path, mostLog, logTooLarge)
	if err != nil {
		return nil, err
	}
	return ReadMotion(path, data)
}

func logTooLarge(name string, size int64) error {
	return &fault.Fault{Code: fault.TooLarge, Rule: "too-large", Place: name, Message: fmt.Sprintf("the log is %.0f MB", float64(size)/(1<<20)), Hint: fmt.Sprintf("at most %d MB are read, some four hours at 100 samples a second: cut it into lessons", mostLog>>20)}
}

// ReadMotion reads a CSV log, t_s,ax,ay,az in seconds and m/s², at 25 samples a
// second or more. Samples may be missing and the clock uneven. A sample whose
// time is not after the one before is left out; a clock that goes back by more
// than a second is a fault. name is the file's, for the places of faults.
func ReadMotion(name string, data []byte) (*Motion, error) {
	if len(data) > mostLog {
		return nil, logTooLarge(name, int64(len(data)))
	}
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	bad := func(rule string, line int, message, hint string) error {
		place := name
		if line > 0 {
			place = fmt.Sprintf("%s:%d", name, line)
		}
		return &fault.Fault{Code: fault.Input, Rule: rule, Place: place, Message: message, Hint: hint}
	}
	const header = "t_s,ax,ay,az"
	first, rest, _ := bytes.Cut(data, []byte("\n"))
	if got := string(bytes.Join(bytes.Fields(first), nil)); got != header {
		if got == "" {
			return nil, bad("header", 1, "the file is empty", "first line: "+header)
		}
		return nil, bad("header", 1, fmt.Sprintf("the first line is %q", clip(got)), "first line: "+header+", then seconds and m/s²")
	}
	m := &Motion{}
	if n := len(rest) / 24; n > 0 {
		m.T, m.A = make([]float64, 0, n), make([][3]float64, 0, n)
	}
	for line := 2; len(rest) > 0; line++ {
		var row []byte
		row, rest, _ = bytes.Cut(rest, []byte("\n"))
		row = bytes.TrimSpace(row)
		if len(row) == 0 {
			continue
		}
		var v [4]float64
		for i := range v {
			field, more, found := bytes.Cut(row, []byte(","))
			if found != (i < 3) {
				return nil, bad("columns", line, fmt.Sprintf("%q has not four values", clip(string(field))), "t_s,ax,ay,az: four numbers parted by commas, with a point")
			}
			x, err := strconv.ParseFloat(string(bytes.TrimSpace(field)), 64)
			if err != nil || math.IsNaN(x) || math.IsInf(x, 0) {
				return nil, bad("number", line, fmt.Sprintf("%q is no number", clip(string(field))), "four numbers: seconds, then m/s² along three axes")
			}
			v[i], row = x, more
		}
		for _, x := range v[1:] {
			if math.Abs(x) > hardest {
				return nil, bad("acceleration", line, fmt.Sprintf("%v m/s² is more than a phone on a horse feels", x), "accelerations in m/s²")
			}
		}
		if math.Abs(v[0]) > 1e11 {
			return nil, bad("clock", line, fmt.Sprintf("%v is no time in seconds", v[0]), "seconds from any start")
		}
		if n := len(m.T); n > 0 && v[0] <= m.T[n-1] {
			if v[0] < m.T[n-1]-1 {
				return nil, bad("clock", line, fmt.Sprintf("the clock goes back by %s s", trim(m.T[n-1]-v[0], 1)), "one recording a file, in order of time, in seconds")
			}
			continue
		}
		m.T, m.A = append(m.T, v[0]), append(m.A, [3]float64(v[1:]))
	}
	if err := m.check(name, bad); err != nil {
		return nil, err
	}
	return m, nil
}

// check holds the length, the rate and the unit.
func (m *Motion) check(name string, bad func(string, int, string, string) error) error {
	n := len(m.T)
	if n < 2 || m.T[n-1]-m.T[0] < shortest {
		return bad("short", 0, "the log is shorter than two seconds", "record ten seconds or more of a steady gait")
	}
	if m.T[n-1]-m.T[0] > 24*3600 {
		return bad("clock", 0, fmt.Sprintf("the log lasts %s hours", trim((m.T[n-1]-m.T[0])/3600, 0)), "is t_s in milliseconds? Write seconds, at most a day")
	}
	if rate := 1 / m.step(); rate < leastRate {
		return bad("rate", 0, fmt.Sprintf("there are %s samples a second", trim(rate, 1)), "25 or more are wanted: set the recorder to 50 or 100; is t_s in seconds?")
	}
	var mean [3]float64
	for _, a := range m.A {
		for i := range a {
			mean[i] += a[i] / float64(n)
		}
	}
	if g := length(mean); g > 0.8 && g < 1.25 {
		return bad("unit", 0, fmt.Sprintf("the mean acceleration is %s", trim(g, 2)), "these look like multiples of gravity: multiply by 9.80665 for m/s²")
	}
	return nil
}

// step is the usual time between samples, s: the median.
func (m *Motion) step() float64 {
	dt := make([]float64, len(m.T)-1)
	for i := range dt {
		dt[i] = m.T[i+1] - m.T[i]
	}
	slices.Sort(dt)
	return dt[len(dt)/2]
}

func length(v [3]float64) float64 { return math.Sqrt(v[0]*v[0] + v[1]*v[1] + v[2]*v[2]) }

func dot(a, b [3]float64) float64 { return a[0]*b[0] + a[1]*b[1] + a[2]*b[2] }
