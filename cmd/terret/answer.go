package main

import (
	"encoding/json"
	"strconv"
)

// json writes v as the one document on standard output. Numbers are written in
// full: the shortest text that reads back as the same number.
func (s *streams) json(v any) error {
	e := json.NewEncoder(s.out)
	e.SetEscapeHTML(false)
	return e.Encode(v)
}

// The roundings of everything that is for people.

func metres(m float64) string { return strconv.FormatFloat(m, 'f', 1, 64) + " m" }

func seconds(t float64) string { return strconv.FormatFloat(t, 'f', 1, 64) + " s" }

func centimetres(m float64) string { return strconv.FormatFloat(100*m, 'f', 0, 64) + " cm" }

func degrees(d float64) string { return strconv.FormatFloat(d, 'f', 0, 64) + "°" }
