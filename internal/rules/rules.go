// Package rules holds rule profiles: what an error costs, how a time becomes
// penalties, when a drive is over.
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
// to a competitor; or one of a few words. Which keys there are, and what each
// may hold, is the table of keys.go. An unknown key is a fault, so that a slip
// of the pen does not quietly leave the old rule standing.
//
// What the values mean is the business of whoever asks: package gates for the
// gates of a hazard, later the scorer.
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
	Value      string     `json:"value"` // a decimal number or a word, see Keys
	Unit       string     `json:"unit"`  // "" for words
	Edition    string     `json:"edition"`
	Source     string     `json:"source"`
	Confidence Confidence `json:"confidence"`
}

// Profile is one set of rules. It is not changed once read.
type Profile struct {
	Name    string
	Says    string // one or two sentences on what it is
	Extends string // the profile it changes; "" for a whole one
	Values  map[string]Value
}

// Get is the value of a key. Asking for a key that is not in the table of keys
// is a programmer's fault and panics; every profile holds every key.
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
		return builtIn(name)
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

func builtIn(name string) (*Profile, error) {
	file := path.Join("profiles", name+".yaml")
	data, err := profiles.ReadFile(file)
	if err != nil {
		return nil, err
	}
	return Decode(file, data)
}

// Decode reads and checks a profile. One that extends another comes back whole,
// with the other's values where it says nothing.
func Decode(name string, data []byte) (*Profile, error) {
	doc, err := strict.Parse(name, data)
	if err != nil {
		return nil, err
	}
	top := doc.Root().Object("terret", "name", "says", "extends", "values")
	top.Need("terret").OneOf(Format)
	p := &Profile{Name: top.Need("name").Text(), Says: top.Get("says").Text(), Values: map[string]Value{}}
	if v := top.Get("extends"); v.Ok() {
		p.Extends = v.OneOf(Names()...)
		if slices.Contains(Names(), p.Extends) {
			base, err := builtIn(p.Extends)
			if err != nil {
				return nil, err
			}
			maps.Copy(p.Values, base.Values)
		}
	}
	keys := keyTable()
	for _, e := range top.Need("values").Entries() {
		k, ok := keys[e.Key]
		if !ok {
			e.Fault("rules-key", fmt.Sprintf("there is no rule %q", e.Key), "the rules are "+strings.Join(slices.Sorted(maps.Keys(keys)), ", "))
			continue
		}
		p.Values[e.Key] = value(k, e.Value)
	}
	if p.Extends == "" {
		for _, k := range slices.Sorted(maps.Keys(keys)) {
			if _, ok := p.Values[k]; !ok {
				top.Fault("rules-missing", fmt.Sprintf("the profile does not say %s", k), "say it, or extend a profile that does")
			}
		}
	}
	if err := doc.Err(); err != nil {
		return nil, err
	}
	return p, nil
}

// value reads one value of key k.
func value(k key, v strict.Value) Value {
	o := v.Object("value", "unit", "edition", "source", "confidence")
	r := Value{Value: o.Need("value").Text(), Unit: o.Get("unit").Text(), Edition: o.Need("edition").Text(), Source: o.Need("source").Text()}
	r.Confidence = Confidence(o.Need("confidence").OneOf(string(Read), string(CommonPractice), string(Estimate), string(FromMemory)))
	at := o.Get("value")
	switch _, number := Decimal(r.Value); {
	case !at.IsText(): // faulted already
	case k.words != nil && !slices.Contains(k.words, r.Value):
		at.Fault("rules-value", fmt.Sprintf("%q is not one of the words of this rule", r.Value), "write "+strings.Join(k.words, ", or "))
	case k.words == nil && !number:
		at.Fault("rules-value", fmt.Sprintf("%q is no plain decimal number", r.Value), `write digits in quotes, such as "20" or "0.25"`)
	}
	if o.Ok() && r.Unit != k.unit {
		v.Fault("rules-unit", fmt.Sprintf("the unit is %q", r.Unit), fmt.Sprintf("this rule is counted in %q", k.unit))
	}
	return r
}
