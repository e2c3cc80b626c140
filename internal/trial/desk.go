package trial

// What the scorer's desk reads out of the ledger besides scores: which sheets a
// second reader has seen, which queries are open, which placings are up.

// Ticks lists who has read the sheet of a mark a second time, in the order they
// did; ticks that were undone do not count.
func (l *Ledger) Ticks(id string) []Mark {
	var all []Mark
	for _, i := range l.ticks[id] {
		if l.inForce(i) {
			all = append(all, *l.marks[i].clone())
		}
	}
	return all
}

// Starts lists the starts of a phase that are in force, in the order they came.
func (l *Ledger) Starts(phase string) []Mark {
	var all []Mark
	for i := range l.marks {
		if s := l.marks[i].Start; s != nil && s.Phase == phase && l.inForce(i) {
			all = append(all, *l.marks[i].clone())
		}
	}
	return all
}

// Asked is a query with what was decided.
type Asked struct {
	Mark  Mark  // of the query
	Reply *Mark // nil: the query is open
}

// Queries lists the queries that count, in the order they came.
func (l *Ledger) Queries() []Asked {
	var all []Asked
	for _, i := range l.queries {
		if !l.counts(i) {
			continue
		}
		a := Asked{Mark: *l.marks[i].clone()}
		for _, r := range l.replies[a.Mark.ID] {
			if l.counts(r) {
				a.Reply = l.marks[r].clone() // the last one decides
			}
		}
		all = append(all, a)
	}
	return all
}

// Posted is the mark that put up the placings of a class, the last in force; nil
// when they are not up. Postings need not replace one another: the later counts.
func (l *Ledger) Posted(class string) *Mark {
	all := l.postings[class]
	for k := len(all) - 1; k >= 0; k-- {
		if l.counts(all[k]) {
			return l.marks[all[k]].clone()
		}
	}
	return nil
}

// Stand is how a class's placings stand at a moment.
type Stand struct {
	State string // "": not posted; Provisional; Final
	Until int64  // provisional: until when queries are heard, UTC milliseconds
	Over  bool   // provisional, and that time is past: they can be signed once nothing is open
	Open  []string
	Stale bool // sheets or statuses of the class came after the posting counted
	Mark  *Mark
}

// Stands is how the placings of a class stand at a time, UTC milliseconds. Placings
// become final by a posting that says so: a clock alone signs nothing.
func (l *Ledger) Stands(t *Trial, class string, now int64) Stand {
	of := map[int]bool{}
	for i := range t.Entries {
		if t.Entries[i].Class == class {
			of[t.Entries[i].Number] = true
		}
	}
	var s Stand
	for _, q := range l.Queries() {
		if q.Reply == nil && of[q.Mark.Query.Entry] {
			s.Open = append(s.Open, q.Mark.ID)
		}
	}
	if s.Mark = l.Posted(class); s.Mark == nil {
		return s
	}
	p := s.Mark.Posting
	s.State, s.Until = p.State, p.Until
	s.Over = s.State == Provisional && now > p.Until
	for i := min(p.Counted, len(l.marks)); i < len(l.marks); i++ {
		if n := l.touches(i); n > 0 && of[n] {
			s.Stale = true
		}
	}
	return s
}

// touches is the entry whose score a mark may change; 0 none.
func (l *Ledger) touches(i int) int {
	for {
		m := &l.marks[i]
		switch {
		case m.Sheet != nil:
			return m.Sheet.Entry
		case m.Status != nil:
			return m.Status.Entry
		case m.Undoes == "":
			return 0
		}
		i = l.byID[m.Undoes]
	}
}
