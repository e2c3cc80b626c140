// Package rules holds rule profiles: what an error costs, how a time becomes
// penalties, when a drive is over, who is before whom.
//
// No rulebook is built in as the rule. A profile is data, and every value of it
// says where it comes from: the edition, the source, and how sure one can be
// ([Confidence]). A house rule is one more file that extends a profile and
// changes the values it names:
//
//	terret: rules/1
//	name: our club
//	extends: three-phase
//	values:
//	  hazard.groom_down: {value: "10", unit: penalties each, edition: 2026, source: club meeting, confidence: read}
//
// Values are texts: decimal numbers, never binary ones, for penalties are money
// to a competitor; one of a few words; or a ladder, "5, 10, eliminated", of what
// the first, second and third fault of a kind cost. Which keys there are, and
// what each may hold, is the table of keys.go. An unknown key is a fault, so
// that a slip of the pen does not quietly leave the old rule standing.
//
// # What a profile covers
//
// A profile names the phases it is for. Those it must price completely, and all
// in one currency: penalties, or seconds. The hazard and the cones are always
// there, because courses are planned by them. What a profile does not say itself
// it has from the one it extends, with that one's source; [Value.Profile] tells.
//
// # Order of trust
//
// Rulebooks contradict each other, and editions of one book do. Wherever they
// do, there is a key for it and no line of code; docs/rule-profiles.md lists
// them. A value marked "from memory" was never looked up: whoever prints a
// number that rests on it says so.
//
// What the values mean is the business of whoever asks: package gates for the
// gates of a hazard, package trial for scores.
package rules

import (
	"embed"
	"fmt"
	"maps"
	"math/big"
	"path"
	"slices"
	"strings"

	"terret/internal/fault"
	"terret/internal/strict"
)

//go:embed profiles/*.yaml
var profiles embed.FS

// Format is the name and version this package reads.
const Format = "rules/1"

// Default is the profile that is meant when nobody names one.
const Default = "three-phase"

// Confidence says how sure a value is.
type Confidence string

// The confidences, from firm to soft.
const (
	Read           Confidence = "read"            // the passage of the source was read
	CommonPractice Confidence = "common practice" // many do so
	Estimate       Confidence = "estimate"        // a considered guess
	FromMemory     Confidence = "from memory"     // not looked up
)

// Value is one rule with where it comes from.
type Value struct {
	Value      string     `json:"value"` // a decimal number, a word, a ladder or a list; see KeyTable
	Unit       string     `json:"unit"`  // "" for words
	Edition    string     `json:"edition"`
	Source     string     `json:"source"`
	Confidence Confidence `json:"confidence"`
	Profile    string     `json:"profile"` // the profile that says it: this one, or one it extends
}

// Profile is one set of rules. It is not changed once read.
type Profile struct {
	Name    string
	Says    string   // one or two sentences on what it is
	Extends string   // the profile it changes; "" for a whole one
	Covers  []string // the phases it is for, in the order of Phases
	Values  map[string]Value
}

// CoversPhase reports whether the profile is for a phase.
func (p *Profile) CoversPhase(phase string) bool { return slices.Contains(p.Covers, phase) }

// Get is the value of a key. Asking for a key the profile does not hold is a
// programmer's fault and panics: every profile holds the keys of the phases it
// covers, of hazards and cones, and those that belong to no phase.
func (p *Profile) Get(key string) Value {
	v, ok := p.Values[key]
	if !ok {
		panic("rules: no key " + key + " in profile " + p.Name)
	}
	return v
}

// Number is the value of a key that holds a decimal number, exactly. It panics
// for a key that holds words.
func (p *Profile) Number(key string) *big.Rat {
	r, ok := Decimal(p.Get(key).Value)
	if !ok {
		panic("rules: " + key + " holds no number")
	}
	return r
}

// Ladder is what the first, second, third … fault of one kind cost.
type Ladder struct {
	Steps      []string // decimal numbers; the last counts for all that follow
	Eliminated bool     // the fault after the last step eliminates
	Word       string   // a word of the key instead of all that
}

// Ladder is the value of a key that holds one.
func (p *Profile) Ladder(key string) Ladder {
	l, message := parseLadder(p.Get(key).Value, []string{AsARefusal})
	if message != "" {
		panic("rules: " + key + " holds no ladder")
	}
	return l
}

// List is the value of a key that holds words in an order.
func (p *Profile) List(key string) []string { return parts(p.Get(key).Value) }

// Part is one part of a judged class.
type Part struct {
	Name string
	Most string // a decimal number, of a hundred
}

// Split is the value of a key that holds the parts of a judged class.
func (p *Profile) Split(key string) []Part {
	all, message := parseSplit(p.Get(key).Value)
	if message != "" {
		panic("rules: " + key + " holds no split")
	}
	return all
}

// FromMemory lists the keys whose values were never looked up, of the phases the
// profile covers and those that belong to no phase, in alphabetical order.
func (p *Profile) FromMemory() []string {
	var keys []string
	for _, k := range slices.Sorted(maps.Keys(p.Values)) {
		if phase := PhaseOf(k); p.Values[k].Confidence == FromMemory && (phase == "" || p.CoversPhase(phase)) {
			keys = append(keys, k)
		}
	}
	return keys
}

// Decimal reads a plain decimal number such as "0.25": digits, at most one
// point, no sign, no exponent.
func Decimal(s string) (*big.Rat, bool) {
	whole, part, pointed := strings.Cut(s, ".")
	digits := func(s string) bool { return s != "" && strings.Trim(s, "0123456789") == "" }
	if len(s) > 20 || !digits(whole) || pointed && !digits(part) {
		return nil, false
	}
	return new(big.Rat).SetString(s)
}

// sized reports whether a decimal number is of a size a rule may have: at most
// five digits before the point and four behind it. Scores are exact in 64 bits
// because of it.
func sized(s string) bool {
	whole, part, _ := strings.Cut(s, ".")
	return len(strings.TrimLeft(whole, "0")) <= 5 && len(part) <= 4
}

// Names lists the built-in profiles.
func Names() []string {
	files, err := profiles.ReadDir("profiles")
	if err != nil {
		panic(err) // it is inside the program
	}
	var names []string
	for _, f := range files {
		names = append(names, strings.TrimSuffix(f.Name(), ".yaml"))
	}
	return names
}

// Load finds a profile: a built-in one by its name, else a file by its path; ""
// is [Default]. The error is a fault when there is none or it is wrong.
func Load(name string) (*Profile, error) {
	if name == "" {
		name = Default
	}
	if slices.Contains(Names(), name) {
		return builtIn(name, nil)
	}
	if !strings.ContainsAny(name, `./\`) { // a name, not a path
		return nil, &fault.Fault{Code: fault.NotFound, Rule: "profile", Message: fmt.Sprintf("there is no rule profile called %q", name), Hint: "there are " + strings.Join(Names(), ", ") + ", or name a file"}
	}
	data, err := strict.ReadFile(name)
	if err != nil {
		return nil, err
	}
	return Decode(name, data)
}

// builtIn reads a profile of the program. below are the profiles that extend it,
// so that none extends itself.
func builtIn(name string, below []string) (*Profile, error) {
	file := path.Join("profiles", name+".yaml")
	data, err := profiles.ReadFile(file)
	if err != nil {
		return nil, err
	}
	return decode(file, data, append(slices.Clone(below), name))
}

// Decode reads and checks a profile. One that extends another comes back whole,
// with the other's values where it says nothing. The error is a fault.
func Decode(name string, data []byte) (*Profile, error) { return decode(name, data, nil) }

func decode(name string, data []byte, below []string) (*Profile, error) {
	doc, err := strict.Parse(name, data)
	if err != nil {
		return nil, err
	}
	top := doc.Root().Object("terret", "name", "says", "extends", "covers", "values")
	top.Need("terret").OneOf(Format)
	p := &Profile{Name: top.Need("name").Text(), Says: top.Get("says").Text(), Values: map[string]Value{}}
	if v := top.Get("extends"); v.Ok() {
		p.Extends = v.OneOf(Names()...)
		switch {
		case slices.Contains(below, p.Extends):
			v.Fault("rules-extends", fmt.Sprintf("%s extends itself in the end", p.Extends), "")
		case slices.Contains(Names(), p.Extends):
			base, err := builtIn(p.Extends, below)
			if err != nil {
				return nil, err
			}
			maps.Copy(p.Values, base.Values)
			p.Covers = base.Covers
		}
	}
	if v := top.Get("covers"); v.Ok() {
		p.Covers = nil
		said := map[string]bool{}
		for _, phase := range v.List() {
			said[phase.OneOf(Phases()...)] = true
		}
		for _, phase := range Phases() {
			if said[phase] {
				p.Covers = append(p.Covers, phase)
			}
		}
		if len(p.Covers) == 0 {
			v.Fault("rules-covers", "the profile is for no phase", "name one or more of "+strings.Join(Phases(), ", "))
		}
	} else if p.Extends == "" {
		top.Fault("rules-covers", "a profile that extends none says which phases it is for", "write covers: ["+strings.Join(Phases(), ", ")+"], or those of them that it is for")
	}
	keys := KeyTable()
	at := map[string]strict.Value{}
	for _, e := range top.Need("values").Entries() {
		k, ok := keys[e.Key]
		if !ok {
			e.Fault("rules-key", fmt.Sprintf("there is no rule %q", e.Key), near(e.Key, keys))
			continue
		}
		v := value(k, e.Value)
		v.Profile = p.Name
		p.Values[e.Key] = v
		at[e.Key] = e.Value
	}
	for _, k := range slices.Sorted(maps.Keys(keys)) {
		phase := PhaseOf(k)
		if _, ok := p.Values[k]; !ok && (phase == "" || phase == Hazards || phase == Cones || p.CoversPhase(phase)) {
			top.Fault("rules-missing", fmt.Sprintf("the profile does not say %s (%s)", k, keys[k].Says), "say it, or extend a profile that does")
		}
	}
	if err := doc.Err(); err != nil {
		return nil, err
	}
	for _, c := range contradictions(p, keys) {
		// The place is the key this file says itself; a profile that extends a
		// good one is wrong by what it changed.
		where := top.Need("values")
		for _, k := range c.keys {
			if v, said := at[k]; said {
				where = v
				break
			}
		}
		where.Fault("rules-contradiction", c.message, c.hint)
	}
	if err := doc.Err(); err != nil {
		return nil, err
	}
	return p, nil
}

// near names the keys of the group a misspelt key seems to be of.
func near(key string, keys map[string]Key) string {
	group, _, _ := strings.Cut(key, ".")
	var like []string
	for _, k := range slices.Sorted(maps.Keys(keys)) {
		if strings.HasPrefix(k, group+".") {
			like = append(like, k)
		}
	}
	if len(like) == 0 {
		groups := map[string]bool{}
		for k := range keys {
			g, _, _ := strings.Cut(k, ".")
			groups[g] = true
		}
		return "rules begin with " + strings.Join(slices.Sorted(maps.Keys(groups)), ", ") + ` and a point; "terret rules show three-phase" lists them`
	}
	return "those of this kind are " + strings.Join(like, ", ")
}

// value reads one value of key k.
func value(k Key, v strict.Value) Value {
	o := v.Object("value", "unit", "edition", "source", "confidence")
	r := Value{Value: o.Need("value").Text(), Unit: o.Get("unit").Text(), Edition: o.Need("edition").Text(), Source: o.Need("source").Text()}
	r.Confidence = Confidence(o.Need("confidence").OneOf(string(Read), string(CommonPractice), string(Estimate), string(FromMemory)))
	at := o.Get("value")
	if !at.IsText() { // faulted already
		return r
	}
	wrong := func(message, hint string) { at.Fault("rules-value", message, hint) }
	numeric := true // the value is counted in something
	switch k.Kind {
	case KindWord, KindEither:
		if slices.Contains(k.Words, r.Value) {
			numeric = false
			break
		}
		if k.Kind == KindWord {
			numeric = false
			wrong(fmt.Sprintf("%q is not one of the words of this rule", r.Value), "write "+strings.Join(k.Words, ", or "))
			break
		}
		if _, ok := Decimal(r.Value); !ok || !sized(r.Value) {
			wrong(fmt.Sprintf("%q is neither a plain decimal number nor %s", r.Value, strings.Join(k.Words, " or ")), `write digits in quotes, such as "160"`)
		}
	case KindNumber:
		if _, ok := Decimal(r.Value); !ok {
			wrong(fmt.Sprintf("%q is no plain decimal number", r.Value), `write digits in quotes, such as "20" or "0.25"`)
		} else if !sized(r.Value) {
			wrong(r.Value+" is too long a number for a rule", "at most five digits before the point and four behind it")
		}
	case KindLadder:
		l, message := parseLadder(r.Value, k.Words)
		if message != "" {
			wrong(message, `write what the first, second and third cost, such as "5, 10, eliminated", or "20" for each`)
		}
		numeric = len(l.Steps) > 0
	case KindOrder:
		numeric = false
		seen := map[string]bool{}
		for i, w := range parts(r.Value) {
			switch {
			case !slices.Contains(k.Words, w):
				wrong(fmt.Sprintf("%q is not one of the words of this rule", w), "write one or more of "+strings.Join(k.Words, ", ")+", in the order they are asked, with commas between")
			case seen[w]:
				wrong(fmt.Sprintf("%q is written twice", w), "")
			case w == Shared && i < len(parts(r.Value))-1:
				wrong("nothing can be asked after \"shared\"", "write it last")
			}
			seen[w] = true
		}
	case KindSplit:
		if _, message := parseSplit(r.Value); message != "" {
			wrong(message, `write the parts with what each may have at most, such as "performance 70, harness and vehicle 20, attire 10"`)
		}
	}
	if o.Ok() && numeric && !slices.Contains(k.Units, r.Unit) {
		v.Fault("rules-unit", fmt.Sprintf("the unit is %q", r.Unit), "this rule is counted in "+strings.Join(k.Units, " or "))
	}
	if o.Ok() && !numeric && r.Unit != "" && !slices.Contains(k.Units, r.Unit) {
		v.Fault("rules-unit", fmt.Sprintf("the unit is %q", r.Unit), "words have none; leave it out")
	}
	return r
}

// parts cuts a list at its commas.
func parts(s string) []string {
	all := strings.Split(s, ",")
	for i := range all {
		all[i] = strings.TrimSpace(all[i])
	}
	return all
}

// parseLadder reads a ladder; message says what is wrong with it.
func parseLadder(s string, words []string) (l Ladder, message string) {
	if slices.Contains(words, s) {
		return Ladder{Word: s}, ""
	}
	all := parts(s)
	if len(all) > 12 {
		return Ladder{}, fmt.Sprintf("a ladder of %d steps", len(all))
	}
	for i, step := range all {
		if step == Eliminated {
			if i < len(all)-1 {
				return Ladder{}, "nothing comes after an elimination"
			}
			l.Eliminated = true
			break
		}
		if _, ok := Decimal(step); !ok || !sized(step) {
			return Ladder{}, fmt.Sprintf("%q is no step of a ladder", step)
		}
		l.Steps = append(l.Steps, step)
	}
	return l, ""
}

// parseSplit reads the parts of a judged class; message says what is wrong.
func parseSplit(s string) (all []Part, message string) {
	sum := new(big.Rat)
	for _, p := range parts(s) {
		cut := strings.LastIndexByte(p, ' ')
		if cut < 1 {
			return nil, fmt.Sprintf("%q is no part with its share", p)
		}
		part := Part{Name: strings.TrimSpace(p[:cut]), Most: p[cut+1:]}
		most, ok := Decimal(part.Most)
		if !ok || !sized(part.Most) {
			return nil, fmt.Sprintf("%q is no part with its share", p)
		}
		if slices.ContainsFunc(all, func(o Part) bool { return o.Name == part.Name }) {
			return nil, fmt.Sprintf("the part %q is written twice", part.Name)
		}
		all = append(all, part)
		sum.Add(sum, most)
	}
	if sum.Cmp(big.NewRat(100, 1)) != 0 {
		return nil, fmt.Sprintf("the parts come to %s of a hundred", sum.FloatString(2))
	}
	return all, ""
}
