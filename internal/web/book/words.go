package book

import (
	"fmt"
	"html/template"
	"math"
	"strconv"
	"strings"
	"time"
)

// words are the functions that templates write numbers, times and lengths with.
func words() template.FuncMap {
	return template.FuncMap{
		"m0": wholeNumber,
		"m3": func(v float64) string { return strconv.FormatFloat(v, 'f', 3, 64) },
		"mm": millimetres, "maybe": plainNumber, "signedcm": signedCM,
		"capital": func(s string) string { return strings.ToUpper(s[:1]) + s[1:] },
		"deref":   func(v *float64) float64 { return *v },
		"signed1": func(v float64) string { return fmt.Sprintf("%+.1f", v) },
		"mmof":    func(v float64) string { return millimetres(&v) },
		"m1":      func(v float64) string { return strconv.FormatFloat(v, 'f', 1, 64) },
		"m2":      func(v float64) string { return strconv.FormatFloat(v, 'f', 2, 64) },
		"cm":      func(v float64) string { return strconv.FormatFloat(v*100, 'f', 0, 64) },
		"more":    func(v float64) string { return fmt.Sprintf("+%.1f", v) },
		"day":     func(t time.Time) string { return t.Local().Format("2 Jan 2006, 15:04") },
		"date":    func(t time.Time) string { return t.UTC().Format(time.RFC3339) },
		"sub":     func(a, b float64) float64 { return a - b },
	}
}

// wholeNumber writes a number, or one that is pointed to, without decimals.
func wholeNumber(v any) string {
	if p, ok := v.(*float64); ok {
		v = *p
	}
	return fmt.Sprintf("%.0f", v)
}

// millimetres writes a length that may be unknown.
func millimetres(m *float64) string {
	if m == nil {
		return "–"
	}
	return fmt.Sprintf("%.0f", 1000**m)
}

// plainNumber writes a number that may be unknown.
func plainNumber(v *float64) string {
	if v == nil {
		return "–"
	}
	return fmt.Sprintf("%.2f", *v)
}

// signed writes a length in centimetres with its sign.
func signedCM(m float64) string {
	text := strconv.FormatFloat(math.Abs(100*m), 'f', 1, 64)
	switch {
	case text == "0.0":
		return text
	case m < 0:
		return "−" + text
	}
	return "+" + text
}
