package gait

import (
	"bytes"
	"fmt"
	"math"
	"strconv"

	"terret/internal/fault"
)

// mostTaps is how many taps one reading takes: an hour at a quick trot has
// 12,000.
const mostTaps = 20_000

// ReadTaps reads taps from text: t_s in the first line, then one time in seconds
// a line, in order. name is the file's, for the places of faults.
func ReadTaps(name string, data []byte) ([]float64, error) {
	bad := func(rule string, line int, message, hint string) error {
		return &fault.Fault{Code: fault.Input, Rule: rule, Place: fmt.Sprintf("%s:%d", name, line), Message: message, Hint: hint}
	}
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	first, rest, _ := bytes.Cut(data, []byte("\n"))
	if got := string(bytes.TrimSpace(first)); got != "t_s" {
		return nil, bad("header", 1, fmt.Sprintf("the first line is %q", clip(got)), "first line: t_s, then one time a line, in seconds")
	}
	var taps []float64
	for line := 2; len(rest) > 0; line++ {
		var row []byte
		row, rest, _ = bytes.Cut(rest, []byte("\n"))
		if row = bytes.TrimSpace(row); len(row) == 0 {
			continue
		}
		t, err := strconv.ParseFloat(string(row), 64)
		if err != nil || math.IsNaN(t) || math.IsInf(t, 0) {
			return nil, bad("number", line, fmt.Sprintf("%q is no time", clip(string(row))), "seconds with a point, such as 12.34")
		}
		if len(taps) >= mostTaps {
			return nil, &fault.Fault{Code: fault.TooLarge, Rule: "too-many", Place: name, Message: fmt.Sprintf("there are more than %d taps", mostTaps), Hint: "give one lesson a file"}
		}
		taps = append(taps, t)
	}
	return taps, nil
}
