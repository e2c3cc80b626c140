package plan

import (
	"fmt"
	"strings"

	"terret/internal/fault"
)

// notNamed is the fault for a name that is not in the plan.
func notNamed(what, name string, have []string) error {
	f := &fault.Fault{Code: fault.NotFound, Rule: what + "-name"}
	switch {
	case len(have) == 0:
		f.Message = fmt.Sprintf("the plan has no %s", what)
	case name == "":
		f.Message = fmt.Sprintf("the plan has %d %ss", len(have), what)
		f.Hint = "name one: " + strings.Join(have, ", ")
	default:
		f.Message = fmt.Sprintf("the plan has no %s called %q", what, name)
		f.Hint = "it has " + strings.Join(have, ", ")
	}
	return f
}
