package sheet

import (
	"bytes"
	"errors"
	"fmt"
	"strings"

	"terret/internal/fault"
)

// File is pages as the bytes of one file, PDF or SVG. No pages are an error: a
// paper of nothing was never asked for.
func File(pages []Scene, svg bool, m Meta) ([]byte, error) {
	if len(pages) == 0 {
		return nil, errors.New("no page was drawn")
	}
	var b bytes.Buffer
	var err error
	if svg {
		err = SVG(&b, pages...)
	} else {
		err = PDF(&b, pages, m)
	}
	return b.Bytes(), err
}

// finished ends the drawing of a paper: its pages are numbered, and each is looked
// through for what cannot be printed.
func finished(pages []Scene, err error) ([]Scene, error) {
	if err != nil {
		return nil, err
	}
	number(pages)
	for i := range pages {
		if err := pages[i].check(); err != nil {
			return nil, err
		}
	}
	return pages, nil
}

// unknown is the fault of a paper that there is none of; names are those there are.
func unknown(kind string, names []string) *fault.Fault {
	return &fault.Fault{Code: fault.Usage, Rule: "sheet-kind", Place: "KIND", Message: fmt.Sprintf("there is no paper %q", kind), Hint: "there are " + strings.Join(names, ", ")}
}
