package strict

// Problem is one rule about its meaning that a document breaks.
type Problem struct {
	Rule    string // stable name, such as "gate-width"
	Path    string // where in the document, as "hazards[0].gates[1]"
	Message string // what is wrong, with the numbers
	Hint    string // what would be right
	Warning bool   // odd but possible: tell, do not refuse
}

// Judge notes problems as faults, each with its place in the file, and gives those that
// are only warnings. The error is that of Err.
func (d *Doc) Judge(problems []Problem) ([]Warning, error) {
	var odd []Warning
	for _, p := range problems {
		if p.Warning {
			odd = append(odd, Warning{Rule: p.Rule, Place: d.Place(p.Path), Message: p.Message, Hint: p.Hint})
		} else {
			d.Add(p.Rule, p.Path, p.Message, p.Hint)
		}
	}
	return odd, d.Err()
}
