package exchange

import (
	"strconv"
	"strings"

	"terret/internal/rules"
	"terret/internal/trial"
)

// Results gives the results of each class as a table "results ID": place, number,
// driver, horses, the score of each phase and the place after it, the total, what
// became of the entry and how a tie was broken. stands says for a class how its
// placings stand (provisional, final, with the time); nil or "" says nothing.
func Results(t *trial.Trial, a *trial.Answer, stands map[string]string) []Table {
	var all []Table
	for i := range t.Classes {
		c := &t.Classes[i]
		marathon := c.Has(rules.Sections) && c.Has(rules.Hazards)
		table := Table{Name: "results " + c.ID, Head: []string{"class", "place", "number", "driver", "horses"}, Numbers: map[string]bool{"place": true, "number": true, "total": true}}
		for _, phase := range c.Phases {
			table.Head = append(table.Head, phase, "after "+phase)
			table.Numbers[phase], table.Numbers["after "+phase] = true, true
		}
		if marathon {
			table.Head = append(table.Head, rules.Marathon)
			table.Numbers[rules.Marathon] = true
		}
		table.Head = append(table.Head, "total", "counted in", "status", "why", "tie", "placings", "rules")
		for _, e := range a.Entries {
			if e.Class != c.ID {
				continue
			}
			row := []string{c.ID, place(e.Place), strconv.Itoa(e.Number), e.Driver, strings.Join(e.Horses, "; ")}
			counted := a.CountedIn
			for _, phase := range c.Phases {
				ps := e.Phases[phase]
				score := or(ps.Penalties)
				if ps.Eliminated != "" && ps.Penalties == nil {
					score = "E"
				}
				after := ""
				if n, ok := e.Running[phase]; ok {
					after = strconv.Itoa(n)
				}
				row = append(row, score, after)
				counted = ps.CountedIn
			}
			if marathon {
				row = append(row, or(e.Sums[rules.Marathon].Penalties))
			}
			row = append(row, or(e.Total), counted, e.Status, e.Why, or(e.Tie), stands[c.ID], a.Rules)
			table.Rows = append(table.Rows, row)
		}
		all = append(all, table)
	}
	return all
}

// OneTable puts the results of all classes under one head, for a CSV file.
func OneTable(tables []Table) Table {
	all := Table{Name: "results"}
	col := map[string]int{}
	for i := range tables {
		for _, h := range tables[i].Head {
			if _, ok := col[h]; !ok {
				col[h] = len(all.Head)
				all.Head = append(all.Head, h)
			}
		}
	}
	for i := range tables {
		for _, r := range tables[i].Rows {
			row := make([]string, len(all.Head))
			for k, s := range r {
				row[col[tables[i].Head[k]]] = s
			}
			all.Rows = append(all.Rows, row)
		}
	}
	return all
}

func place(p *int) string {
	if p == nil {
		return ""
	}
	return strconv.Itoa(*p)
}

func or(s *string) string {
	if s == nil {
		return ""
	}
	return *s
}
