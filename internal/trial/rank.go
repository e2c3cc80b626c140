package trial

import (
	"slices"
	"strings"

	"terret/internal/rules"
)

// rank gives the places of a class: running, by phase, and of the whole.
func (b *Board) rank(c *classBoard, all []*standing) {
	for _, s := range all {
		s.Running = make(map[string]int, len(c.Phases))
	}
	for i, phase := range c.Phases {
		b.rankPhase(c, all, i)
		var in []*standing
		for _, s := range all {
			if len(s.upTo) > i && s.runs() {
				in = append(in, s)
			}
		}
		places(in, func(x, y *standing) int { return c.better(x.upTo[i], y.upTo[i]) }, func(s *standing, place int) { s.Running[phase] = place })
	}
	b.rankSum(c, all)
	var in []*standing
	for _, s := range all {
		if s.Status == Placed && s.whole {
			in = append(in, s)
		}
	}
	order := b.tieOrder(c)
	decided := func(x, y *standing) (int, string) {
		if d := c.better(x.total, y.total); d != 0 {
			return d, ""
		}
		return b.tie(x, y, order)
	}
	places(in, func(x, y *standing) int { d, _ := decided(x, y); return d }, func(s *standing, place int) { p := place; s.Place = &p })
	key := b.tieKey(c)
	slices.SortStableFunc(in, func(x, y *standing) int { return *x.Place - *y.Place })
	for from := 0; from < len(in); {
		to := from + 1
		for to < len(in) && in[to].total.cmp(in[from].total) == 0 {
			to++
		}
		if to-from > 1 {
			b.sayTies(c, in[from:to], order, key)
		}
		from = to
	}
}

// sayTies says of entries level on the total what broke the tie, or that it
// stands.
func (b *Board) sayTies(c *classBoard, level []*standing, order []string, key string) {
	for i, s := range level {
		var with, how []string
		for k := 0; k < len(level) && len(with) < 6; k++ {
			if k != i {
				with = append(with, itoa(level[k].Number))
			}
		}
		// What parts it from the one before and the one behind.
		for _, k := range []int{i - 1, i + 1} {
			if k < 0 || k >= len(level) {
				continue
			}
			d, by := b.tie(s, level[k], order)
			if d == 0 {
				by = "shared place"
			}
			if !slices.Contains(how, by) {
				how = append(how, by)
			}
		}
		if len(level) > len(with)+1 {
			with = append(with, "…")
		}
		t := "level with " + strings.Join(with, ", ") + " on " + b.pr.fixed(s.total) + ": " + strings.Join(how, "; ") + " (" + key + ")"
		if b.pr.p.Get(key).Confidence == rules.FromMemory {
			c.memory = append(c.memory, key)
			t += fromMemory
		}
		s.Tie = &t
	}
}

// runs reports whether the entry is in the running.
func (s *standing) runs() bool { return s.Status != Disqualified && s.Status != HorsConcours }

// better is below 0 when x is before y.
func (c *classBoard) better(x, y number) int {
	if c.most {
		return y.cmp(x)
	}
	return x.cmp(y)
}

// places sorts by less and gives places; equals share one, and the next is so
// much further.
func places(in []*standing, compare func(x, y *standing) int, give func(*standing, int)) {
	sorted := slices.Clone(in)
	slices.SortStableFunc(sorted, compare)
	place := 1
	for i, s := range sorted {
		if i > 0 && compare(sorted[i-1], s) != 0 {
			place = i + 1
		}
		give(s, place)
	}
}

// rankPhase gives the places of the class's i-th phase alone.
func (b *Board) rankPhase(c *classBoard, all []*standing, i int) {
	phase := c.Phases[i]
	var in []*standing
	for _, s := range all {
		if r := s.e.results[phase]; r.complete() && r.out == "" && s.runs() && !s.e.left(phase) {
			s.key = s.shown.in(phase)
			in = append(in, s)
		}
	}
	order := b.pr.p.List("ties." + tiePhase(phase))
	places(in, func(x, y *standing) int {
		if d := c.better(x.key, y.key); d != 0 {
			return d
		}
		d, _ := b.tieIn(phase, x, y, order)
		return d
	}, func(s *standing, place int) {
		p := place
		s.phases[i].Place = &p
	})
}

// tiePhase is the phase by whose rule ties are broken.
func tiePhase(phase string) string {
	if phase == rules.Sections {
		return rules.Marathon
	}
	return phase
}

// rankSum places the marathon of a class that drives sections and hazards.
func (b *Board) rankSum(c *classBoard, all []*standing) {
	var in []*standing
	for _, s := range all {
		x, y := s.e.results[rules.Sections], s.e.results[rules.Hazards]
		if s.Sums != nil && x.complete() && y.complete() && x.out == "" && y.out == "" && s.runs() {
			in = append(in, s)
		}
	}
	if len(in) == 0 {
		return
	}
	order := b.pr.p.List("ties.marathon")
	places(in, func(x, y *standing) int {
		if d := c.better(x.shown.in(rules.Marathon), y.shown.in(rules.Marathon)); d != 0 {
			return d
		}
		d, _ := b.tieIn(rules.Marathon, x, y, order)
		return d
	}, func(s *standing, place int) {
		ps := s.Sums[rules.Marathon]
		p := place
		ps.Place = &p
		s.Sums[rules.Marathon] = ps
	})
}

// tieKey is the rule that breaks a tie on the total of a class: that of its one
// phase, or the one for totals.
func (b *Board) tieKey(c *classBoard) string {
	switch {
	case len(c.Phases) == 1:
		return "ties." + tiePhase(c.Phases[0])
	case len(c.Phases) == 2 && c.Has(rules.Sections) && c.Has(rules.Hazards):
		return "ties.marathon"
	}
	return "ties.total"
}

func (b *Board) tieOrder(c *classBoard) []string { return b.pr.p.List(b.tieKey(c)) }

// tie compares two entries level on the total; how says what decided.
func (b *Board) tie(x, y *standing, order []string) (d int, how string) {
	c := x.e.class
	for _, word := range order {
		switch word {
		case rules.Shared:
			return 0, ""
		case rules.TimeCount, rules.FaultsCount, rules.SectionB:
			phase := c.Phases[0]
			if len(c.Phases) == 2 {
				phase = rules.Marathon
			}
			if d, how := b.tieIn(phase, x, y, []string{word}); d != 0 {
				return d, how
			}
		default:
			phase := word
			if word == rules.Marathon && !(c.Has(rules.Sections) && c.Has(rules.Hazards)) {
				phase = rules.Hazards
				if !c.Has(rules.Hazards) {
					phase = rules.Sections
				}
			}
			p, ok := x.shown.find(phase)
			q, too := y.shown.find(phase)
			if !ok || !too {
				continue
			}
			if d := p.cmp(q); d != 0 {
				return d, "the better " + word + " decides, " + best(d, b.text(p), b.text(q))
			}
		}
	}
	return 0, ""
}

// tieIn compares two entries level in one phase.
func (b *Board) tieIn(phase string, x, y *standing, order []string) (d int, how string) {
	get := func(s *standing) *result {
		if phase == rules.Marathon {
			return s.e.results[rules.Hazards]
		}
		return s.e.results[phase]
	}
	p, q := get(x), get(y)
	for _, word := range order {
		switch word {
		case rules.TimeCount:
			if d := p.time.cmp(q.time); d != 0 {
				return d, "the faster time decides, " + best(d, clock(p.time), clock(q.time))
			}
		case rules.FaultsCount:
			if d := p.faults.cmp(q.faults); d != 0 {
				return d, "fewer faults decide, " + best(d, p.faults.String(), q.faults.String())
			}
		case rules.SectionB:
			if phase != rules.Marathon {
				continue
			}
			m := x.e.results[rules.Sections].sectB.plus(p.value)
			n := y.e.results[rules.Sections].sectB.plus(q.value)
			if d := m.cmp(n); d != 0 {
				return d, "fewer penalties in section B decide, " + best(d, m.String(), n.String())
			}
		case rules.Shared:
			return 0, ""
		}
	}
	return 0, ""
}

// best writes both values, the one that decides first.
func best(d int, x, y string) string {
	if d > 0 {
		x, y = y, x
	}
	return x + " before " + y
}
