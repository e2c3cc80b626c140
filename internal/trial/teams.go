package trial

import (
	"cmp"
	"maps"
	"slices"
	"strings"

	"terret/internal/rules"
)

// TeamScore is one team's score.
type TeamScore struct {
	Name  string   `json:"name"`
	Place *int     `json:"place"` // null: not enough of it finished
	Total *string  `json:"total"`
	Lines []string `json:"lines"`
	Why   string   `json:"why"`
}

// teams adds up the teams as the profile says; only entries that are placed
// count, for a team's score is made of finished rounds.
func (b *Board) teams() []TeamScore {
	type scored struct {
		TeamScore
		total number
		ok    bool
	}
	var all []scored
	for _, team := range b.t.Teams {
		s := scored{TeamScore: TeamScore{Name: team.Name, Lines: []string{}}, total: whole(0)}
		var members []*standing
		for _, n := range team.Members {
			e := b.entries[n]
			st := b.standing(e.class, e)
			if st.Status == Placed && st.whole {
				members = append(members, st)
			} else {
				s.Lines = append(s.Lines, itoa(n)+" "+e.Driver+": "+cmp.Or(st.Why, st.Status)+", does not count")
			}
		}
		switch b.pr.word("team.method") {
		case rules.BestTotals:
			s.ok = b.bestTotals(&s.TeamScore, &s.total, members)
		case rules.BestPerPhase:
			s.ok = b.bestPerPhase(&s.TeamScore, &s.total, members, func(*standing) string { return "" }, int(b.pr.factors["team.counting"].floor()))
		default:
			s.ok = b.bestPerPhase(&s.TeamScore, &s.total, members, func(m *standing) string { return m.e.class.Hitch }, 1)
		}
		if s.ok {
			t := b.pr.fixed(s.total)
			s.Total = &t
		}
		all = append(all, s)
	}
	slices.SortStableFunc(all, func(x, y scored) int {
		switch {
		case x.ok != y.ok:
			if x.ok {
				return -1
			}
			return 1
		case x.ok:
			return x.total.cmp(y.total)
		}
		return 0
	})
	out := []TeamScore{}
	place := 1
	for i := range all {
		if all[i].ok {
			if i > 0 && all[i].total.cmp(all[i-1].total) != 0 {
				place = i + 1
			}
			p := place
			all[i].Place = &p
		}
		out = append(out, all[i].TeamScore)
	}
	return out
}

func (b *Board) bestTotals(s *TeamScore, total *number, members []*standing) bool {
	n := int(b.pr.factors["team.counting"].floor())
	slices.SortStableFunc(members, func(x, y *standing) int { return cmp.Or(x.total.cmp(y.total), x.Number-y.Number) })
	if len(members) < n {
		s.Why = "only " + itoa(len(members)) + " finished, " + itoa(n) + " count"
		return false
	}
	var parts []string
	for i, m := range members {
		if i >= n {
			s.Lines = append(s.Lines, itoa(m.Number)+" "+m.Driver+": "+b.pr.fixed(m.total)+", does not count")
			continue
		}
		*total = total.plus(m.total)
		parts = append(parts, itoa(m.Number)+" "+b.pr.fixed(m.total))
	}
	s.Lines = append(s.Lines, strings.Join(parts, " + ")+" = "+b.pr.fixed(*total))
	return true
}

// bestPerPhase adds, in every phase, the n best of each group of members.
func (b *Board) bestPerPhase(s *TeamScore, total *number, members []*standing, group func(*standing) string, n int) bool {
	groups := map[string][]*standing{}
	phases := map[string]bool{}
	for _, m := range members {
		groups[group(m)] = append(groups[group(m)], m)
		for _, p := range m.e.class.Phases {
			phases[p] = true
		}
	}
	if len(members) == 0 {
		s.Why = "nobody finished"
		return false
	}
	for _, phase := range rules.Phases() {
		if !phases[phase] {
			continue
		}
		for _, g := range slices.Sorted(maps.Keys(groups)) {
			in := slices.DeleteFunc(slices.Clone(groups[g]), func(m *standing) bool { _, has := m.shown.find(phase); return !has })
			if len(in) < n {
				s.Why = "in " + phase + " only " + itoa(len(in)) + " finished, " + itoa(n) + " count"
				return false
			}
			slices.SortStableFunc(in, func(x, y *standing) int { return cmp.Or(x.shown.in(phase).cmp(y.shown.in(phase)), x.Number-y.Number) })
			for _, m := range in[:n] {
				*total = total.plus(m.shown.in(phase))
				line := phase
				if g != "" {
					line += ", " + g
				}
				s.Lines = append(s.Lines, line+": "+itoa(m.Number)+" "+b.text(m.shown.in(phase)))
			}
		}
	}
	if !b.pr.each {
		*total = b.pr.round(*total)
	}
	s.Lines = append(s.Lines, "together "+b.pr.fixed(*total))
	return true
}

// SeriesScore is one series.
type SeriesScore struct {
	Name    string        `json:"name"`
	Drivers []SeriesPlace `json:"drivers"` // best first
}

// SeriesPlace is one driver's place in a series.
type SeriesPlace struct {
	Driver string   `json:"driver"`
	Place  *int     `json:"place"` // null: too few days
	Points *int     `json:"points"`
	Lines  []string `json:"lines"`
	Why    string   `json:"why"`
	Tie    *string  `json:"tie"`
}

// series adds up place points: the best days count, and the final as the profile
// says; fewest points win.
func (b *Board) series() []SeriesScore {
	out := []SeriesScore{}
	best := int(b.pr.factors["series.best"].floor())
	counts := b.pr.word("series.final") == rules.Counts
	byFinal := slices.Contains(b.pr.p.List("series.tie"), rules.FinalFirst)
	for _, s := range b.t.Series {
		drivers := map[string]bool{}
		hasFinal := false
		for _, d := range s.Days {
			hasFinal = hasFinal || d.Final
			for name := range d.Places {
				drivers[name] = true
			}
		}
		var all []seriesOf
		for _, name := range slices.Sorted(maps.Keys(drivers)) {
			all = append(all, countSeries(name, s, best, counts && hasFinal))
		}
		level := func(x, y *seriesOf) int {
			if x.Points == nil || y.Points == nil {
				switch {
				case x.Points != nil:
					return -1
				case y.Points != nil:
					return 1
				}
				return 0
			}
			return *x.Points - *y.Points
		}
		compare := func(x, y *seriesOf) int {
			d := level(x, y)
			if d == 0 && x.Points != nil && byFinal && x.final > 0 && y.final > 0 {
				d = x.final - y.final
			}
			return d
		}
		slices.SortStableFunc(all, func(x, y seriesOf) int { return cmp.Or(compare(&x, &y), cmp.Compare(x.Driver, y.Driver)) })
		score := SeriesScore{Name: s.Name, Drivers: []SeriesPlace{}}
		place := 1
		for i := range all {
			x := &all[i]
			if x.Points != nil {
				if i > 0 && compare(&all[i-1], x) != 0 {
					place = i + 1
				}
				p := place
				x.Place = &p
				for j := range all {
					if y := &all[j]; j != i && y.Points != nil && level(x, y) == 0 {
						how := "shared place"
						if compare(x, y) != 0 {
							how = "the final decides"
						}
						t := "level with " + y.Driver + " on " + itoa(*x.Points) + ": " + how + " (series.tie)"
						x.Tie = &t
						break
					}
				}
			}
			score.Drivers = append(score.Drivers, x.SeriesPlace)
		}
		out = append(out, score)
	}
	return out
}

type seriesOf struct {
	SeriesPlace
	final int // place in the final; 0 not there
}

// countSeries adds up one driver's days.
func countSeries(name string, s Series, best int, final bool) seriesOf {
	x := seriesOf{SeriesPlace: SeriesPlace{Driver: name, Lines: []string{}}}
	type day struct {
		name  string
		place int
	}
	var days []day
	points := 0
	for _, d := range s.Days {
		p, there := d.Places[name]
		switch {
		case !there:
		case d.Final && final:
			x.final = p
			points += p
			x.Lines = append(x.Lines, d.Name+": "+itoa(p)+" (the final counts)")
		default:
			if d.Final {
				x.final = p
			}
			days = append(days, day{d.Name, p})
		}
	}
	slices.SortStableFunc(days, func(a, b day) int { return a.place - b.place })
	for i, d := range days {
		if i >= best {
			x.Lines = append(x.Lines, d.name+": "+itoa(d.place)+", does not count")
			continue
		}
		points += d.place
		x.Lines = append(x.Lines, d.name+": "+itoa(d.place))
	}
	switch {
	case len(days) < best:
		x.Why = itoa(len(days)) + " days, " + itoa(best) + " count"
	case final && x.final == 0:
		x.Why = "not in the final, which counts"
	default:
		x.Points = &points
		x.Lines = append(x.Lines, "together "+itoa(points))
	}
	return x
}
