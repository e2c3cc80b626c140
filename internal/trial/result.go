package trial

// result is what one entry's phase comes to.
type result struct {
	have    bool      // something was written down
	missing []Need    // sheets that are expected and not there
	value   number    // exact
	shown   number    // rounded as the profile says
	time    number    // s; for ties
	faults  number    // without the time; for ties
	sectB   number    // section B and the hazards, exact; for ties of a marathon
	parts   []number  // what value is the sum of
	first   [6]number // room for most parts
	lines   []string
	out     string   // why it was eliminated; "" not
	subst   bool     // the shown score stands in the place of an elimination
	memory  []string // keys of values from memory it rests on
	remarks []string
	percent string // of dressage, for show
}

func newResult() *result {
	r := &result{}
	r.clear()
	return r
}

// clear makes r as new. Its lines and memory may have been given out: they are let go
// of, not written over.
func (r *result) clear() {
	z := whole(0)
	*r = result{value: z, shown: z, time: z, faults: z, sectB: z}
	r.parts = r.first[:0]
}

// add counts an amount with its line.
func (r *result) add(n number, line string) {
	r.count(n)
	r.lines = append(r.lines, line)
}

// count counts an amount whose line stands already.
func (r *result) count(n number) {
	r.value = r.value.plus(n)
	r.parts = append(r.parts, n)
}

// say adds a line that counts nothing.
func (r *result) say(line string) { r.lines = append(r.lines, line) }

// end notes an elimination; the first reason stands.
func (r *result) end(why, line string) {
	if r.out == "" {
		r.out = why
	}
	r.lines = append(r.lines, line)
}

// complete reports whether every expected sheet is there.
func (r *result) complete() bool { return r.have && len(r.missing) == 0 }
