package turnout

import (
	"fmt"
	"slices"
	"sync"

	"terret/internal/rules"
)

// minimum is the least track and marathon weight of one class by a rule profile.
type minimum struct {
	track, marathonTrack, marathonWeight least
}

// least is one figure of a profile with where it comes from, and what other
// profiles have instead.
type least struct {
	value  float64 // cm or kg
	source string
	sure   string
	low    float64 // of all profiles of the program
	high   float64
	others string // "three-phase-dutch 125"; "" where all agree
}

// profiles are the rule profiles of the program, the default first, read once.
var profiles = sync.OnceValue(func() []*rules.Profile {
	names := rules.Names()
	slices.SortStableFunc(names, func(a, b string) int {
		switch rules.Default {
		case a:
			return -1
		case b:
			return 1
		}
		return 0
	})
	var all []*rules.Profile
	for _, n := range names {
		p, err := rules.Load(n)
		if err != nil {
			panic(err) // the profiles are compiled in, and tests read each
		}
		all = append(all, p)
	}
	return all
})

// minimumOf finds the figures of a class in a profile; nil is the default one. ok
// is false where no rule book has any: for very small equines none was found.
func minimumOf(p *rules.Profile, hitch, size string) (m minimum, ok bool) {
	if size == VSE {
		return minimum{}, false
	}
	if p == nil {
		p = profiles()[0]
	}
	get := func(key string) least {
		key = "vehicle." + key + "_" + hitch + "_" + size
		v := p.Get(key)
		l := least{value: decimal(p, key), source: fmt.Sprintf("profile %s: %s, %s", p.Name, v.Source, v.Edition), sure: string(v.Confidence)}
		l.low, l.high = l.value, l.value
		for _, o := range profiles() {
			// A profile that says it itself; the others have it from the default.
			if x := decimal(o, key); o.Name != p.Name && (o.Get(key).Profile == o.Name) && x != l.value {
				l.low, l.high = min(l.low, x), max(l.high, x)
				if l.others != "" {
					l.others += ", "
				}
				l.others += o.Name + " " + num(x)
			}
		}
		return l
	}
	return minimum{get("track"), get("marathon_track"), get("marathon_weight")}, true
}

// decimal is a number of a profile as it is reckoned with here.
func decimal(p *rules.Profile, key string) float64 {
	f, _ := p.Number(key).Float64()
	return f
}

// also says what other profiles have.
func (l least) also(unit string) string {
	if l.others == "" {
		return ""
	}
	return " Other profiles: " + l.others + " " + unit + "."
}
