package trial

import (
	"slices"
	"strings"

	"terret/internal/gates"
	"terret/internal/rules"
)

// run is what a phase is scored from.
type run struct {
	pr     *prices
	class  *Class
	test   func(id string) *Test
	course func(id string) *Course
	judge  func(drive string) gates.Verdict // of a hazard, for this class
	sheets []*Sheet                         // those that count, in the order of courses and judges
	into   *result                          // an earlier result of the phase, whose room is used again; nil: none
}

// begin is an empty result.
func (u *run) begin() *result {
	if u.into == nil {
		return newResult()
	}
	u.into.clear()
	return u.into
}

// value parses a text that Validate has let through.
func value(s string) number {
	n, _ := parse(s)
	return n
}

// sum writes "a + b = c"; one number stands alone.
func sum(all []number) (number, string) {
	total := whole(0)
	b := make([]byte, 0, 10*len(all)+16)
	for i, n := range all {
		if i > 0 {
			b = append(b, " + "...)
		}
		b = n.appendFixed(b, 2+extra(n))
		total = total.plus(n)
	}
	if len(all) != 1 {
		b = total.appendFixed(append(b, " = "...), 2+extra(total))
	}
	return total, string(b)
}

// extra is how many places beyond hundredths a time has.
func extra(n number) int {
	places, _ := n.decimals()
	return max(0, places-2)
}

func clock(n number) string { return n.fixed(2+extra(n)) + " s" }

// dressage is marks times the coefficient, averaged over judges, taken from 160
// (or as the profile says), plus errors.
func (u *run) dressage() *result {
	r := u.begin()
	pr := u.pr
	president := u.sheets[0]
	for _, s := range u.sheets {
		if s.Judge == "C" {
			president = s
		}
	}
	fromMarks := pr.word("dressage.faults") == rules.FromMarks
	errors, names := u.dressageErrors(r, president, fromMarks)
	for _, s := range u.sheets {
		if s != president && len(s.Faults) > 0 && anyFault(s.Faults) {
			r.remarks = append(r.remarks, "dressage, judge "+s.Judge+": errors are given by judge "+president.Judge+" alone; those on this sheet do not count")
		}
	}
	total, maximum := whole(0), whole(0)
	coefficient, times := whole(1), ""
	for _, s := range u.sheets {
		t := u.test(s.Test)
		marks, line := u.marks(r, s, t)
		most := value(t.Maximum)
		line = "judge " + s.Judge + ": " + line + " of " + t.Maximum + " (" + marks.times(whole(100)).times(number{most.d, most.n}).round(2, rules.HalfUp).fixed(2) + " %)"
		if fromMarks && errors.sign() > 0 {
			marks = marks.minus(errors)
			line += ", less " + errors.String() + " for errors = " + marks.String()
		}
		r.say(line)
		total, maximum = total.plus(marks), maximum.plus(most)
		coefficient, times = u.coefficient(t)
	}
	n := len(u.sheets)
	mean := total.over(n)
	if n > 1 {
		r.say(total.String() + " ÷ " + itoa(n) + " judges = " + mean.String())
	}
	marks := mean.times(coefficient)
	if times != "" {
		r.say(mean.String() + " × " + times + " = " + marks.String())
	}
	from := maximum.over(n)
	if w := pr.word("dressage.from"); w != rules.Maximum {
		from = rule(w)
	}
	left := from.minus(marks)
	line := from.String() + " − " + marks.String() + " = " + left.String()
	if f := pr.factors["dressage.factor"]; f.cmp(whole(1)) != 0 {
		left = left.times(f)
		line += ", × " + f.String() + " = " + left.String()
	}
	r.add(left, line)
	if !fromMarks && errors.sign() > 0 {
		r.count(errors)
		r.faults = errors
	}
	r.lines = append(r.lines, names...)
	for _, s := range u.sheets {
		if s.Out != "" {
			r.end(s.Out, "eliminated by the judge: "+s.Out)
		}
	}
	r.percent = total.times(whole(100)).times(number{maximum.d, maximum.n}).round(2, rules.HalfUp).fixed(2)
	return r
}

func anyFault(m map[string]int) bool {
	for _, n := range m {
		if n > 0 {
			return true
		}
	}
	return false
}

// dressageErrors prices what the president wrote besides marks.
func (u *run) dressageErrors(r *result, s *Sheet, fromMarks bool) (number, []string) {
	e := newResult()
	names := sortedFaults(s.Faults)
	counts := s.Faults
	if u.pr.word("dressage.errors_shared") == rules.Shared {
		// One list for course errors and for whoever gets down.
		list := []string{"course_error", "groom_down", "driver_down"}
		together := 0
		counts = map[string]int{}
		for name, n := range s.Faults {
			if slices.Contains(list, name) {
				together += n
			} else {
				counts[name] = n
			}
		}
		if q := u.pr.faults[rules.Dressage]["course_error"]; together > 0 {
			cost, steps, out := q.cost(together)
			line := itoa(together) + " × error of course or getting down"
			if out != "" {
				e.end(out+" or getting down", line+": eliminated")
			} else {
				e.add(cost, line+": "+steps+" = "+cost.String()+u.pr.unit())
			}
		}
	}
	u.pr.charge(e, rules.Dressage, "", names, counts)
	r.memory = append(r.memory, e.memory...)
	r.out = e.out
	return e.value, e.lines
}

// coefficient is the number printed on the test where the profile applies it;
// text is "" where it does not.
func (u *run) coefficient(t *Test) (number, string) {
	use := true
	switch u.pr.word("dressage.coefficient") {
	case rules.Never:
		use = false
	case rules.Above160:
		use = value(t.Maximum).cmp(whole(160)) > 0
	}
	if !use || t.Coefficient == "" {
		return whole(1), ""
	}
	return rule(t.Coefficient), t.Coefficient
}

// marks adds a sheet's marks, each so often as its movement counts. A forgotten
// mark is the mean of the sheet's others, .5 and above rounded up.
func (u *run) marks(r *result, s *Sheet, t *Test) (number, string) {
	const scale = 1000 // marks have at most three places
	in := func(m number) int64 { return m.n * (scale / m.d) }
	given, n := int64(0), 0
	for _, m := range s.Marks {
		if !noMark(m) {
			given += in(value(m))
			n++
		}
	}
	var sub number
	if n < len(s.Marks) {
		mean := number{given, scale}.over(n)
		sub = mean.round(0, rules.HalfUp)
		r.say("judge " + s.Judge + ": a mark is missing; the mean of the others is " + mean.String() + ", so " + sub.String() + " stands in its place")
	}
	total := int64(0)
	b := make([]byte, 0, 8*len(s.Marks)+16)
	for i, m := range s.Marks {
		if i > 0 {
			b = append(b, " + "...)
		}
		mark := int64(0)
		if noMark(m) {
			mark = in(sub)
			b = append(sub.append(b), " (substituted)"...)
		} else {
			mark = in(value(m))
			b = append(b, m...) // as the judge wrote it
		}
		if i < len(t.Movements) && t.Movements[i].Times > 1 {
			b = append(append(b, "×"...), itoa(t.Movements[i].Times)...)
			mark *= int64(t.Movements[i].Times)
		}
		total += mark
	}
	sum := number{total, scale}.reduced()
	b = sum.append(append(b, " = "...))
	return sum, string(b)
}

// noMark reports whether the judge left the box empty.
func noMark(s string) bool { return s == "" || s == "-" }

// timeOf is the time of a sheet: what the watch showed (or the two watches, as the
// profile says) less what the course was stopped for.
func (u *run) timeOf(r *result, prefix string, s *Sheet) number {
	t := value(s.Seconds)
	if s.Backup != "" {
		t = u.watches(r, prefix, t, value(s.Backup))
	}
	if len(s.Stops) == 0 {
		return t
	}
	line := prefix + "the watch showed " + clock(t)
	for _, stop := range s.Stops {
		n := value(stop)
		t = t.minus(n)
		line += ", less " + clock(n) + " while the course was stopped"
	}
	r.say(line + ": " + clock(t))
	return t
}

// watches chooses between two watches.
func (u *run) watches(r *result, prefix string, official, backup number) number {
	apart := official.minus(backup)
	if apart.sign() < 0 {
		apart = backup.minus(official)
	}
	both := "watches " + clock(official) + " and " + clock(backup)
	if apart.cmp(u.pr.factors["score.watches_apart_s"]) > 0 {
		r.remarks = append(r.remarks, prefix+both+" are "+clock(apart)+" apart: find out why")
	}
	t, how := official, "the official one counts"
	switch u.pr.word("score.watches") {
	case rules.WatchMean:
		t, how = official.plus(backup).over(2), "the mean counts"
	case rules.WatchSlower:
		how = "the slower counts"
		if backup.cmp(official) > 0 {
			t = backup
		}
	}
	r.say(prefix + both + ": " + how + ", " + clock(t))
	return t
}

// hazards is the seconds in each hazard times the factor, plus faults, plus
// what the judge of gates finds.
func (u *run) hazards() *result {
	r := u.begin()
	pr := u.pr
	mode := pr.word("hazard.time_rounding")
	factor, usual := pr.factors["hazard.seconds_factor"], pr.factors["hazard.time_limit_s"]
	times := make([]number, 0, len(u.sheets))
	var said []string
	r.lines = make([]string, 0, 2*len(u.sheets)+6) // room for most
	for _, s := range u.sheets {
		prefix := s.Course + ": "
		u.gates(r, prefix, s)
		pr.charge(r, rules.Hazards, prefix, sortedFaults(s.Faults), s.Faults)
		if s.Out != "" {
			r.end(prefix+s.Out, prefix+"eliminated by the judge: "+s.Out)
		}
		if s.Seconds == "" {
			continue
		}
		t := u.timeOf(r, prefix, s)
		r.time = r.time.plus(t)
		limit := usual
		if c := u.course(s.Course); c.LimitS != "" {
			limit = value(c.LimitS)
		}
		if t.cmp(limit) > 0 {
			r.end(prefix+"over the time limit of "+limit.String()+" s", pr.remember(r, prefix+clock(t)+", over the limit of "+limit.String()+" s: eliminated", "hazard.over_limit"))
		}
		counted := t
		if mode == rules.CommencedSecond {
			counted = t.ceil()
			if counted.cmp(t) != 0 {
				said = append(said, prefix+clock(t)+" counts as "+counted.String()+" s: a started second is a whole one")
			}
		}
		times = append(times, counted)
	}
	r.lines = slices.Insert(r.lines, 0, said...)
	if len(times) == 0 {
		return r
	}
	lines := make([]string, 0, 2)
	var cost number
	if mode == rules.EachThenRound {
		cost = whole(0)
		for i, t := range times {
			c := t.times(factor).round(2, pr.mode)
			cost = cost.plus(c)
			lines = append(lines, "hazard "+itoa(i+1)+": "+clock(t)+" × "+factor.String()+" = "+c.fixed(2))
		}
	} else {
		total, text := sum(times)
		if len(times) > 1 {
			lines = append(lines, text+" s")
		}
		cost = total.times(factor)
		lines = append(lines, pr.remember(r, clock(total)+" × "+factor.String()+" = "+pr.rounded(cost), "hazard.seconds_factor"))
	}
	r.value = r.value.plus(cost)
	r.parts = slices.Insert(r.parts, 0, cost)
	r.lines = slices.Insert(r.lines, 0, lines...)
	return r
}

// gates lets the judge rule on the letters as driven.
func (u *run) gates(r *result, prefix string, s *Sheet) {
	written := s.Faults["course_error"]
	errors := written
	if s.Gates != "" {
		v := u.judge(s.Gates)
		if v.Verdict == gates.Eliminated {
			why := strings.TrimSuffix(strings.TrimPrefix(v.Why, "Eliminated: "), ".")
			r.end(prefix+why, prefix+s.Gates+": "+v.Why)
			return
		}
		errors = v.Errors
		if written > 0 && written != errors {
			r.remarks = append(r.remarks, prefix+"the sheet counts "+itoa(written)+" errors, the letters as driven show "+itoa(errors)+"; the letters count")
		}
		if errors == 0 {
			r.say(prefix + s.Gates + ": clean")
		}
	}
	if errors > 0 {
		each := u.pr.factors[rules.CorrectedError]
		cost := each.times(whole(errors))
		line := prefix
		if s.Gates != "" {
			line += s.Gates + ": "
		}
		line += counted(errors, "error put right", "errors put right") + ": "
		if errors > 1 {
			line += itoa(errors) + " × " + each.String() + " = "
		}
		r.add(cost, u.pr.remember(r, line+cost.String()+u.pr.unit(), rules.CorrectedError))
		r.faults = r.faults.plus(cost)
	}
}

func counted(n int, one, many string) string {
	if n == 1 {
		return "one " + one
	}
	return itoa(n) + " " + many
}

// sections is the seconds over and under the times of each section.
func (u *run) sections() *result {
	r := u.begin()
	pr := u.pr
	started := pr.word("sections.time_rounding") == rules.CommencedSecond
	for _, s := range u.sheets {
		c := u.course(s.Course)
		prefix := s.Course + ": "
		before := r.value
		if s.Out != "" {
			r.end(prefix+s.Out, prefix+"eliminated by the judge: "+s.Out)
		}
		if s.Seconds != "" {
			t := u.timeOf(r, prefix, s)
			r.time = r.time.plus(t)
			allowed := value(c.AllowedS)
			limit, limited := number{}, false
			if c.LimitS != "" {
				limit, limited = value(c.LimitS), true
			} else if f, ok := pr.limitFactor(); ok {
				limit, limited = allowed.times(f), true
			}
			switch {
			case limited && t.cmp(limit) > 0:
				r.end(prefix+"over the time limit of "+limit.String()+" s", prefix+clock(t)+", over the limit of "+limit.String()+" s: eliminated")
			case t.cmp(allowed) > 0:
				u.late(r, prefix, clock(t)+" − "+allowed.String()+" s allowed", t.minus(allowed), "sections.over_factor", started)
			case c.MinimumS != "" && t.cmp(value(c.MinimumS)) < 0:
				u.late(r, prefix, value(c.MinimumS).String()+" s at least − "+clock(t), value(c.MinimumS).minus(t), "sections.under_factor", started)
			default:
				r.say(prefix + clock(t) + ", in time")
			}
		}
		pr.charge(r, rules.Sections, prefix, sortedFaults(s.Faults), s.Faults)
		if strings.EqualFold(s.Course, "B") {
			r.sectB = r.sectB.plus(r.value.minus(before))
		}
	}
	return r
}

// limitFactor is the profile's time limit of a section as a factor of the time
// allowed; ok is false where the course must state its own.
func (pr *prices) limitFactor() (number, bool) {
	w := pr.word("sections.limit_factor")
	if w == rules.AsStated {
		return number{}, false
	}
	return rule(w), true
}

// late counts seconds over (or under) a time.
func (u *run) late(r *result, prefix, from string, by number, key string, started bool) {
	f := u.pr.factors[key]
	line := prefix + from + " = " + clock(by)
	if started && by.ceil().cmp(by) != 0 {
		by = by.ceil()
		line += ", counted as " + by.String() + " s: a started second is a whole one"
	}
	cost := by.times(f)
	r.add(cost, u.pr.remember(r, line+"; × "+f.String()+" = "+u.pr.rounded(cost)+u.pr.unit(), key))
}

// cones is balls and faults, and the time over or under.
func (u *run) cones() *result {
	r := u.begin()
	pr := u.pr
	for _, s := range u.sheets {
		prefix := ""
		if len(u.sheets) > 1 {
			prefix = s.Course + ": "
		}
		u.conesRun(r, prefix, s)
	}
	if pr.word("cones.competition") == rules.TimeCount {
		each := pr.factors["cones.seconds_per_penalty"]
		asSeconds := r.value.times(each)
		if each.cmp(whole(1)) != 0 {
			r.say(r.value.String() + " × " + each.String() + " s = " + asSeconds.String() + " s")
		}
		r.value, r.parts = r.time.plus(asSeconds), nil
		r.say("time " + clock(r.time) + " + faults " + asSeconds.String() + " s = " + r.value.String() + " s")
	}
	return r
}

func (u *run) conesRun(r *result, prefix string, s *Sheet) {
	pr := u.pr
	c := u.course(s.Course)
	if s.Out != "" {
		r.end(prefix+s.Out, prefix+"eliminated by the judge: "+s.Out)
	}
	u.balls(r, prefix, s)
	// A broken harness, where the profile says so, is one refusal more.
	counts := s.Faults
	if q := pr.faults[rules.Cones]["harness_loose"]; q.refusal && counts["harness_loose"] > 0 {
		counts = map[string]int{}
		for k, n := range s.Faults {
			counts[k] = n
		}
		counts["refusal"] += counts["harness_loose"]
		counts["harness_loose"] = 0
		r.say(prefix + "harness broken: counted as a refusal")
	}
	names := sortedFaults(counts)
	names = slices.DeleteFunc(names, func(n string) bool { return n == "knocked" })
	pr.charge(r, rules.Cones, prefix, names, counts)
	if s.Seconds == "" {
		return
	}
	t := u.timeOf(r, prefix, s)
	if n := s.Faults["rebuilt"]; n > 0 {
		each := pr.factors["cones.rebuilt_s"]
		more := each.times(whole(n))
		line := prefix + clock(t) + " + " + itoa(n) + " × " + each.String() + " s for rebuilding = "
		t = t.plus(more)
		r.say(line + clock(t))
	}
	r.time = r.time.plus(t)
	if pr.word("cones.competition") == rules.TimeCount {
		if c.LimitS != "" && t.cmp(value(c.LimitS)) > 0 {
			r.end(prefix+"over the time limit", prefix+clock(t)+", over the limit of "+value(c.LimitS).String()+" s: eliminated")
		}
		return
	}
	allowed, how := u.allowed(c)
	if how != "" {
		r.say(prefix + how)
	}
	limit := allowed.times(pr.factors["cones.time_limit_factor"])
	if c.LimitS != "" {
		limit = value(c.LimitS)
	}
	started := pr.word("cones.over_time_rounding") == rules.CommencedSecond
	switch {
	case t.cmp(limit) > 0:
		r.end(prefix+"over the time limit of "+limit.String()+" s", prefix+clock(t)+", over the limit of "+limit.String()+" s: eliminated")
	case t.cmp(allowed) > 0:
		u.late(r, prefix, clock(t)+" − "+allowed.String()+" s allowed", t.minus(allowed), "cones.over_time_factor", started)
	case t.cmp(allowed) < 0 && pr.factors["cones.under_time_factor"].sign() > 0:
		u.late(r, prefix, allowed.String()+" s wanted − "+clock(t), allowed.minus(t), "cones.under_time_factor", started)
	default:
		r.say(prefix + clock(t) + ", inside the " + allowed.String() + " s allowed")
	}
}

// balls counts obstacles knocked: once for each, or each time, as the profile
// says.
func (u *run) balls(r *result, prefix string, s *Sheet) {
	n := s.Faults["knocked"]
	var which []string
	for _, k := range s.Knocked {
		if u.pr.word("cones.same_gate_again") == rules.Once && slices.Contains(which, k) {
			r.say(prefix + "obstacle " + k + " is written twice and counts once")
			continue
		}
		which = append(which, k)
	}
	n += len(which)
	if n == 0 {
		return
	}
	q := u.pr.faults[rules.Cones]["knocked"]
	cost, steps, out := q.cost(n)
	line := prefix + counted(n, "obstacle", "obstacles") + " knocked"
	if len(which) > 0 {
		line += " (" + strings.Join(which, ", ") + ")"
	}
	if out != "" {
		r.end(prefix+out, line+": eliminated")
		return
	}
	if n > 1 {
		if len(q.steps) == 1 {
			steps = itoa(n) + " × " + q.steps[0].String()
		}
		steps += " = "
	} else {
		steps = ""
	}
	r.add(cost, u.pr.remember(r, line+": "+steps+cost.String()+u.pr.unit(), q.key))
	r.faults = r.faults.plus(cost)
}

// allowed is the time allowed of a cones course for this class; how says the
// arithmetic where the course does not state it.
func (u *run) allowed(c *Course) (allowed number, how string) {
	if c.AllowedS != "" {
		return value(c.AllowedS), ""
	}
	speed, key := u.speed(c)
	length := value(c.LengthM)
	exact := length.times(whole(60)).times(number{speed.d, speed.n})
	allowed = exact
	switch u.pr.word(rules.ConesTimeRounding) {
	case rules.RoundUp:
		allowed = exact.ceil()
	case rules.RoundNearest:
		allowed = exact.round(0, rules.HalfUp)
	default: // watches have hundredths
		allowed = exact.round(2, rules.HalfUp)
	}
	how = "time allowed: " + length.String() + " m at " + speed.String() + " m/min = "
	if allowed.cmp(exact) == 0 {
		how += allowed.String() + " s"
	} else {
		how += exact.String() + " s, so " + allowed.String() + " s"
	}
	if key != "" && u.pr.p.Get(key).Confidence == rules.FromMemory {
		how += fromMemory
	}
	return allowed, how
}

// speed is the course's own, else the profile's for the class, with its key.
func (u *run) speed(c *Course) (number, string) {
	if c.SpeedMPerMin != "" {
		return value(c.SpeedMPerMin), ""
	}
	key := speedKey(u.class)
	return u.pr.factors[key], key
}

// speedKey is the key of a class's speed; "" where the class does not say what
// it drives.
func speedKey(c *Class) string {
	switch {
	case c.Size == "vse":
		return "cones.speed_vse"
	case c.Hitch == "" || c.Size == "":
		return ""
	}
	return "cones.speed_" + c.Hitch + "_" + c.Size
}

// timed is a pleasure class: the time with faults as seconds, or points.
func (u *run) timed() *result {
	r := u.begin()
	var runs []*result
	for _, s := range u.sheets {
		prefix := ""
		if len(u.sheets) > 1 {
			prefix = s.Course + ": "
		}
		one := newResult()
		u.timedRun(one, prefix, s)
		runs = append(runs, one)
		r.lines = append(r.lines, one.lines...)
		r.memory = append(r.memory, one.memory...)
		if one.out != "" && r.out == "" {
			r.out = one.out
		}
	}
	add := func(o *result) {
		r.value, r.time, r.faults = r.value.plus(o.value), r.time.plus(o.time), r.faults.plus(o.faults)
	}
	if len(runs) == 1 {
		add(runs[0])
		return r
	}
	points := u.points()
	switch u.pr.word("timed.two_runs") {
	case rules.RunsBest:
		// The best of those that count: an eliminated run is not the best one.
		var best *result
		for _, o := range runs {
			better := best != nil && (points && o.value.cmp(best.value) > 0 || !points && o.value.cmp(best.value) < 0)
			if o.out == "" && (best == nil || better) {
				best = o
			}
		}
		if best != nil {
			r.out = ""
			add(best)
			r.say("the better run counts: " + best.value.String() + u.timedUnit())
		}
	case rules.RunsLast:
		last := runs[len(runs)-1]
		r.out = last.out
		add(last)
		r.say("the last run counts: " + last.value.String() + u.timedUnit())
	default:
		var all []string
		for _, o := range runs {
			add(o)
			all = append(all, o.value.String())
		}
		r.say("both runs: " + strings.Join(all, " + ") + " = " + r.value.String() + u.timedUnit())
	}
	return r
}

// points reports whether the class is driven for points.
func (u *run) points() bool {
	k := u.course(u.sheets[0].Course).Kind
	return k == FaultAndOut || k == ChoiceByPoints
}

func (u *run) timedUnit() string {
	if u.points() {
		return " points"
	}
	return " s"
}

func (u *run) timedRun(r *result, prefix string, s *Sheet) {
	pr := u.pr
	c := u.course(s.Course)
	if s.Out != "" {
		r.end(prefix+s.Out, prefix+"eliminated by the judge: "+s.Out)
	}
	t := whole(0)
	if s.Seconds != "" {
		t = u.timeOf(r, prefix, s)
	}
	r.time = t
	switch c.Kind {
	case FaultAndOut:
		each, extra := pr.factors["timed.fault_and_out_points"], pr.factors["timed.fault_and_out_extra"]
		pts := each.times(whole(s.Cleared))
		r.add(pts, prefix+counted(s.Cleared, "obstacle", "obstacles")+" clear × "+each.String()+" = "+pts.String()+" points")
		if s.Extra == ExtraClear {
			r.add(extra, prefix+"the one more, clear: "+extra.String())
		} else if s.Extra != "" {
			r.say(prefix + "the one more: " + s.Extra + ", 0")
		}
	case ChoiceByPoints:
		most := int(pr.factors["timed.choice_each_most"].floor())
		seen := map[string]int{}
		last := ""
		var counts []string
		pts := whole(0)
		for _, d := range s.Driven {
			switch {
			case d == last && pr.word("timed.choice_again") == rules.Forbidden:
				r.say(prefix + "obstacle " + d + " twice running: the second counts nothing")
				continue
			case seen[d] >= most:
				r.say(prefix + "obstacle " + d + " more than " + itoa(most) + " times: counts nothing")
				last = d
				continue
			}
			seen[d]++
			last = d
			pts = pts.plus(value(c.Points[d]))
			counts = append(counts, c.Points[d])
		}
		r.add(pts, prefix+strings.Join(counts, " + ")+" = "+pts.String()+" points")
	default:
		r.add(t, prefix+"time "+clock(t))
		before := r.value
		pr.charge(r, rules.Timed, prefix, sortedFaults(s.Faults), s.Faults)
		if r.value.cmp(before) != 0 {
			r.say(prefix + clock(t) + " + " + r.value.minus(before).String() + " s = " + clock(r.value))
		}
		r.parts = nil
		return
	}
	if limit := c.LimitS; limit != "" && t.cmp(value(limit)) > 0 {
		r.say(prefix + "the bell went at " + limit + " s; the time taken counts for ties only")
	}
	// Where points count, the fault that ends a round costs nothing more.
	for _, name := range sortedFaults(s.Faults) {
		if q := pr.faults[rules.Timed][name]; q != nil {
			if _, _, out := q.cost(s.Faults[name]); out != "" && len(q.steps) == 0 {
				r.end(prefix+out, prefix+q.says+": eliminated")
			}
		}
	}
}

// judged is the parts each judge gave, of a hundred, averaged over judges.
func (u *run) judged() *result {
	r := u.begin()
	total := whole(0)
	var order []string
	if u.class.Judged != "" {
		for _, p := range u.pr.p.Split("judged." + u.class.Judged) {
			order = append(order, p.Name)
		}
		r.say(u.pr.remember(r, "of a hundred: "+u.pr.word("judged."+u.class.Judged), "judged."+u.class.Judged))
	}
	for _, s := range u.sheets {
		names := order
		if names == nil {
			for k := range s.Parts {
				names = append(names, k)
			}
			slices.Sort(names)
		}
		pts := whole(0)
		var all []string
		for _, k := range names {
			n := value(s.Parts[k])
			pts = pts.plus(n)
			all = append(all, k+" "+n.String())
		}
		line := ""
		if s.Judge != "" {
			line = "judge " + s.Judge + ": "
		}
		r.say(line + strings.Join(all, " + ") + " = " + pts.String() + " %")
		if s.Out != "" {
			r.end(s.Out, "eliminated by the judge: "+s.Out)
		}
		total = total.plus(pts)
	}
	r.value = total.over(len(u.sheets))
	if n := len(u.sheets); n > 1 {
		r.say(total.String() + " ÷ " + itoa(n) + " judges = " + u.pr.rounded(r.value) + " %")
	}
	return r
}
