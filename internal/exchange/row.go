package exchange

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"terret/internal/fault"
	"terret/internal/trial/order"
)

// row is one row of a table that is being taken.
type row struct {
	t     *Table
	n     int
	cols  map[string]int // by the table's own names
	wrong fault.List
}

// origin is where something came from.
type origin struct {
	t    *Table
	n    int
	cols map[string]int
}

func (r *row) origin() origin { return origin{r.t, r.n, r.cols} }

// place names the cell of a column, or the row where there is no such column.
func (o origin) place(column string) string {
	col, ok := o.cols[column]
	if !ok {
		col = -1
	}
	return o.t.place(o.n, col)
}

func (r *row) ok() bool { return len(r.wrong) == 0 }

func (r *row) fault(column, rule, message, hint string) {
	r.wrong = append(r.wrong, wrong(rule, r.origin().place(column), message, hint))
}

// text is what stands in a column; "" where there is none.
func (r *row) text(column string) string {
	if i, ok := r.cols[column]; ok && i < len(r.t.Rows[r.n]) {
		return r.t.Rows[r.n][i]
	}
	return ""
}

// need is a text that must be there.
func (r *row) need(column string) string {
	s := r.text(column)
	if s == "" {
		r.fault(column, "missing", "nothing stands under "+column, "")
	}
	return s
}

func (r *row) oneOf(column string, words ...string) string {
	s := r.text(column)
	if s == "" {
		return ""
	}
	for _, w := range words {
		if plain(s) == plain(w) {
			return w
		}
	}
	r.fault(column, "type", fmt.Sprintf("%q stands here", s), "one of these is wanted: "+strings.Join(words, ", "))
	return ""
}

// whole is a whole number that must be there.
func (r *row) whole(column string, lo, hi int) int {
	if r.need(column) == "" {
		return 0
	}
	return r.may(column, lo, hi)
}

// may is a whole number that may be left out.
func (r *row) may(column string, lo, hi int) int {
	s := r.text(column)
	if s == "" {
		return 0
	}
	n, err := strconv.Atoi(s)
	if err != nil || n < lo || n > hi {
		r.fault(column, "type", fmt.Sprintf("%q stands here", s), fmt.Sprintf("a whole number from %d to %d is wanted", lo, hi))
		return 0
	}
	return n
}

func (r *row) yes(column string) bool {
	switch plain(r.text(column)) {
	case "":
		return false
	case "yes", "y", "x", "true", "1":
		return true
	case "no", "n", "false", "0":
		return false
	}
	r.fault(column, "type", fmt.Sprintf("%q stands here", r.text(column)), "write yes, or leave the cell empty")
	return false
}

// clock is a time of day: a text like 09:30, or a worksheet's cell that is shown as
// one.
func (r *row) clock(column string) order.Clock {
	s := r.text(column)
	if s == "" {
		return 0
	}
	if day, ok := strings.CutPrefix(s, notATime); ok {
		if f, err := strconv.ParseFloat(day, 64); err == nil && f >= 0 && f < 2 {
			return order.Clock(math.Round(f * 24 * 3600))
		}
	}
	c, ok := order.ParseClock(s)
	if !ok {
		r.fault(column, "clock", fmt.Sprintf("%q is no time of day", s), "write hours and minutes, such as 09:30")
	}
	return c
}

// minutes is a duration in minutes, as seconds.
func (r *row) minutes(column string) int {
	s := r.text(column)
	if s == "" {
		return 0
	}
	sec, ok := order.ParseMinutes(s)
	if !ok {
		r.fault(column, "minutes", fmt.Sprintf("%q stands here", s), "minutes are wanted, half ones with a point: 7.5")
		return 0
	}
	return sec
}

// family lists what is filled in of a family of columns, in the order of the table.
func (r *row) family(prefix string) []string {
	var names []string
	for name := range r.cols {
		if rest, ok := strings.CutPrefix(name, prefix); ok && r.text(name) != "" {
			names = append(names, rest)
		}
	}
	slices.Sort(names)
	return names
}

// marks are those of a dressage sheet: as many as there are columns up to the last
// that is filled in.
func (r *row) marks() []string {
	last := 0
	for _, n := range r.family(markFamily) {
		i, err := strconv.Atoi(n)
		if err != nil || i < 1 || i > 200 {
			r.fault(markFamily+n, "mark-column", fmt.Sprintf("%q is no column of marks", markFamily+n), "they are mark 1, mark 2, and so on to mark 200")
			return nil
		}
		last = max(last, i)
	}
	var all []string
	for i := 1; i <= last; i++ {
		s := r.text(markFamily + strconv.Itoa(i))
		if s == "" {
			s = "-" // the cell is empty: no mark was given
		}
		all = append(all, s)
	}
	return all
}
