package cones

import (
	"math"

	"terret/internal/rules"
)

// Rules are the numbers of a rule profile that a course is timed by and checked
// against. Where each is from stands in the profile.
type Rules struct {
	Name               string
	Rounding           string  // of the time allowed: rules.RoundUp, RoundNearest or RoundNot
	LimitFactor        float64 // time limit ÷ time allowed
	ObstaclesMost      int
	LengthLeast        float64 // m
	LengthMost         float64
	LineLeast          float64 // start to first, last to finish, m
	LineMost           float64
	MultiplesMost      int
	MultipleLengthMost float64 // m
	PartsMost          int
	ApartLeast         float64 // between unrelated obstacles, m: singles, pairs and tandems
	ApartLeastFour     float64 // fours
	ClearanceLeastCM   float64
	ClearanceMostCM    float64
}

// RulesOf reads a profile.
func RulesOf(p *rules.Profile) Rules {
	f := func(key string) float64 {
		v, _ := p.Number(key).Float64()
		return v
	}
	return Rules{
		Name: p.Name, Rounding: p.Get(rules.ConesTimeRounding).Value, LimitFactor: f("cones.time_limit_factor"),
		ObstaclesMost: int(f("cones.obstacles_most")), LengthLeast: f("cones.length_least_m"), LengthMost: f("cones.length_most_m"),
		LineLeast: f("cones.line_least_m"), LineMost: f("cones.line_most_m"),
		MultiplesMost: int(f("cones.multiples_most")), MultipleLengthMost: f("cones.multiple_length_most_m"), PartsMost: int(f("cones.parts_most")),
		ApartLeast: f("cones.apart_least_m"), ApartLeastFour: f("cones.apart_least_four_m"),
		ClearanceLeastCM: f("cones.clearance_least_cm"), ClearanceMostCM: f("cones.clearance_most_cm"),
	}
}

// TimeAllowed is length ÷ speed in seconds, rounded as the profile says. To be
// rounded up for, a length must be longer by a tenth of a millimetre at least,
// or 650 m that the arithmetic makes a hair more would cost a second.
func (r Rules) TimeAllowed(lengthM, mPerMin float64) float64 {
	s := lengthM * 60 / mPerMin
	slack := 1e-4 * 60 / mPerMin
	switch r.Rounding {
	case rules.RoundUp:
		return math.Ceil(s - slack)
	case rules.RoundNearest:
		return math.Floor(s + 0.5)
	}
	return s
}
