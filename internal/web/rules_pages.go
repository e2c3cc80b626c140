package web

import (
	"maps"
	"net/http"
	"slices"
	"strings"

	"terret/internal/fault"
	"terret/internal/rules"
	"terret/internal/web/book"
)

// rulesPage lists the profiles, or shows one of them.
type rulesPage struct {
	book.Frame
	Profiles []ruleProfile
	Shown    *ruleProfile // nil: the list
	Groups   []ruleGroup  // of the profile shown
}

// ruleProfile is a profile as the list has it.
type ruleProfile struct {
	*rules.Profile
	For    string // the phases it is for, in words
	Memory int    // values that nobody looked up
	On     bool   // the usual one
}

// ruleGroup is the values of one phase or subject.
type ruleGroup struct {
	Name string
	Rows []ruleRow
}

// ruleRow is one value with where it is from.
type ruleRow struct {
	Key, Says, Value, From, Sure string
	Own, Look                    bool // said by the profile itself; not looked up by anybody
}

// rulesList is GET /rules and GET /rules/{name}.
func (s *server) rulesList(w http.ResponseWriter, r *http.Request) error {
	v := rulesPage{Frame: s.Frame("rules", "Rules")}
	name := r.PathValue("name")
	for _, n := range rules.Names() {
		p, err := rules.Load(n)
		if err != nil {
			return err
		}
		one := ruleProfile{Profile: p, For: strings.Join(p.Covers, ", "), Memory: len(p.FromMemory()), On: n == rules.Default}
		if one.On {
			v.Profiles = append([]ruleProfile{one}, v.Profiles...)
		} else {
			v.Profiles = append(v.Profiles, one)
		}
		if n == name {
			v.Shown = &one
		}
	}
	switch {
	case v.Shown != nil:
		v.Title = "Rules: " + name
		v.Groups = ruleGroups(v.Shown.Profile)
	case name != "":
		return &fault.Fault{Code: fault.NotFound, Rule: "profile", Place: name, Message: "there is no rule profile of that name", Hint: "there are " + strings.Join(rules.Names(), ", ")}
	}
	return s.Render(w, http.StatusOK, "rules", v)
}

// ruleGroups are the values of a profile that its phases have a use for.
func ruleGroups(p *rules.Profile) (all []ruleGroup) {
	table := rules.KeyTable()
	for _, k := range slices.Sorted(maps.Keys(p.Values)) {
		if phase := rules.PhaseOf(k); phase != "" && !p.CoversPhase(phase) {
			continue
		}
		group, _, _ := strings.Cut(k, ".")
		if len(all) == 0 || all[len(all)-1].Name != group {
			all = append(all, ruleGroup{Name: group})
		}
		v := p.Values[k]
		row := ruleRow{Key: k, Says: table[k].Says, Value: strings.TrimSpace(v.Value + " " + v.Unit), From: v.Source, Sure: string(v.Confidence), Own: v.Profile == p.Name, Look: v.Confidence == rules.FromMemory}
		if v.Edition != "" && v.Edition != "none" && v.Edition != "not known" {
			row.From += " (" + v.Edition + ")"
		}
		if !row.Own {
			row.From += ", from " + v.Profile
		}
		g := &all[len(all)-1]
		g.Rows = append(g.Rows, row)
	}
	return all
}
