package trial

import (
	"strings"

	"terret/internal/gates"
	"terret/internal/rules"
)

// price is what one kind of fault costs.
type price struct {
	key     string
	says    string   // the fault in words
	steps   []number // the first, second, … cost; the last counts for all that follow
	ends    bool     // the fault after the last step eliminates
	refusal bool     // counted as a refusal
}

// prices is a profile made ready for counting.
type prices struct {
	p        *rules.Profile
	judge    gates.Rules
	faults   map[string]map[string]*price // by phase, by the name sheets give the fault
	factors  map[string]number            // the numbers of the profile, by key
	unseen   map[string]bool              // keys of values from memory
	places   int                          // behind the point of a result
	mode     string                       // of rounding
	each     bool                         // each phase is rounded; else the total alone
	together bool                         // sections and hazards are rounded as one
	seconds  bool                         // counted in seconds, not in penalties
}

func pricesOf(p *rules.Profile) *prices {
	pr := &prices{p: p, judge: gates.RulesOf(p), faults: map[string]map[string]*price{}, factors: map[string]number{}, unseen: map[string]bool{}}
	table := rules.KeyTable()
	for k, v := range p.Values {
		if table[k].Kind == rules.KindNumber {
			pr.factors[k] = rule(v.Value)
		}
		if v.Confidence == rules.FromMemory {
			pr.unseen[k] = true
		}
	}
	for _, phase := range rules.Phases() {
		if !p.CoversPhase(phase) {
			continue
		}
		pr.faults[phase] = map[string]*price{}
		for _, name := range rules.FaultNames(phase) {
			key := rules.KeyOf(phase, name)
			if table[key].Kind != rules.KindLadder {
				continue // rebuilt, and the corrected error of a hazard
			}
			l := p.Ladder(key)
			q := &price{key: key, says: table[key].Says, ends: l.Eliminated, refusal: l.Word == rules.AsARefusal}
			for _, s := range l.Steps {
				q.steps = append(q.steps, rule(s))
			}
			pr.faults[phase][name] = q
		}
	}
	pr.places = int(pr.factors[rules.Decimals].floor())
	pr.mode = pr.word(rules.Rounding)
	pr.each = pr.word(rules.Rounded) == rules.EachPhase
	pr.together = pr.word(rules.MarathonRounded) == rules.Together
	pr.seconds = pr.word(rules.CountedIn) == rules.Seconds
	return pr
}

func (pr *prices) word(key string) string { return pr.p.Get(key).Value }

// fromMemory is what a line says behind a number that rests on a value nobody
// looked up.
const fromMemory = " [from memory]"

// remember marks a line, and notes the keys, where a value is from memory.
func (pr *prices) remember(r *result, line string, keys ...string) string {
	marked := false
	for _, k := range keys {
		if pr.unseen[k] {
			r.memory = append(r.memory, k)
			marked = true
		}
	}
	if marked {
		line += fromMemory
	}
	return line
}

// unit is what stands behind an amount: nothing for penalties, " s" for seconds.
func (pr *prices) unit() string {
	if pr.seconds {
		return " s"
	}
	return ""
}

// fixed writes a result with the profile's places.
func (pr *prices) fixed(n number) string { return n.fixed(pr.places) }

func (pr *prices) round(n number) number { return n.round(pr.places, pr.mode) }

// rounded writes "33.09 (exactly 33.0875)", or just the number where nothing is
// rounded, or where the profile rounds the total alone.
func (pr *prices) rounded(n number) string {
	if !pr.each {
		return n.String()
	}
	r := pr.round(n)
	if r.cmp(n) == 0 {
		return pr.fixed(n)
	}
	return pr.fixed(r) + " (exactly " + n.String() + ")"
}

// cost prices count faults of a kind; out says why they eliminate, "" not.
func (q *price) cost(count int) (sum number, steps string, out string) {
	sum = whole(0)
	var b strings.Builder
	for i := range count {
		if i >= len(q.steps) && (q.ends || len(q.steps) == 0) {
			if q.ends {
				return sum, b.String(), ordinal(i+1, count) + q.says
			}
			break
		}
		step := q.steps[min(i, len(q.steps)-1)]
		sum = sum.plus(step)
		if i < 6 {
			if i > 0 {
				b.WriteString(" + ")
			}
			b.WriteString(step.String())
		}
	}
	if count > 6 {
		b.WriteString(" + …")
	}
	return sum, b.String(), ""
}

// ordinal is "third " for the fault that ended it; "" when it was the first.
func ordinal(n, count int) string {
	switch n {
	case 1:
		return ""
	case 2:
		return "second: "
	case 3:
		return "third: "
	}
	return itoa(n) + "th: "
}

// charge adds the faults of one sheet to a result. prefix names the course.
func (pr *prices) charge(r *result, phase, prefix string, names []string, counts map[string]int) {
	for _, name := range names {
		count := counts[name]
		q := pr.faults[phase][name]
		if count == 0 || q == nil {
			continue
		}
		sum, steps, out := q.cost(count)
		line := prefix + itoa(count) + " × " + q.says
		if out != "" {
			r.end(prefix+out, pr.remember(r, line+": eliminated", q.key))
			continue
		}
		line += ": "
		if count > 1 {
			line += steps + " = "
		}
		line += sum.String() + pr.unit()
		r.add(sum, pr.remember(r, line, q.key))
		r.faults = r.faults.plus(sum)
	}
}
