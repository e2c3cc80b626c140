package turnouts

import (
	"fmt"
	"net/http"
	"net/url"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"terret/internal/fault"
	"terret/internal/plan"
	"terret/internal/turnout"
	"terret/internal/web/book"
)

// recordPage is a turnout's measurements as a form, with what is guessed, by whom
// it was measured and when.
type recordPage struct {
	book.Frame
	turnout.Saved
	System  system
	Form    map[string]string // by path in the file
	Guessed map[string]bool   // by path
	Marks   map[string]string // what is wrong, by path
	Groups  []groupView
	Rows    []rowsView
	Faults  fault.List // of no box
	Moved   string
	KeptNow bool
	Checks  []turnout.Check
	Broken  fault.List // the kept file cannot be read
	whole   map[string]any
}

// groupView and boxView are the form as the template walks through it.
type groupView struct {
	Name, Says string
	Open       bool
	Boxes      []boxView
}

type boxView struct {
	boxKind
	ID, Value, Other, Own string
	Guessed               bool
	Wrong                 string
}

type rowsView struct {
	Name, Says string
	Entries    []entryView
}

type entryView struct {
	Head  string
	Boxes []boxView
}

// Letter names the turnout's version.
func (p recordPage) Letter() string { return plan.VersionLetter(p.Version) }

// Value and Wrong are for the boxes that are written by hand in the template.
func (p recordPage) Value(key string) string { return p.Form[key] }

// Wrong is what is wrong with one box; "" is nothing.
func (p recordPage) Wrong(key string) string { return p.Marks[key] }

// Inches reports whether bare numbers are inches and pounds.
func (p recordPage) Inches() bool { return p.System == inches }

// Hitches and Sizes are what can be chosen.
func (p recordPage) Hitches() []book.Choice {
	return p.choices("hitch", "single", "single", "pair", "pair", "tandem", "tandem", "four", "four-in-hand")
}

// Sizes are the sizes of horse.
func (p recordPage) Sizes() []book.Choice {
	return p.choices("size", "vse", "VSE", "pony", "pony", "horse", "horse")
}

// Wheels are two or four.
func (p recordPage) Wheels() []book.Choice {
	return p.choices("vehicle.wheels", "2", "two wheels", "4", "four wheels")
}

func (p recordPage) choices(key string, pairs ...string) []book.Choice {
	var out []book.Choice
	for i := 0; i < len(pairs); i += 2 {
		out = append(out, book.Choice{Value: pairs[i], Label: pairs[i+1], On: p.Form[key] == pairs[i]})
	}
	return out
}

// Looks are the checks that want an eye, for the side of the page.
func (p recordPage) Looks() []turnout.Check {
	var out []turnout.Check
	for _, v := range []turnout.Verdict{turnout.No, turnout.Look} {
		for _, c := range p.Checks {
			if c.Verdict == v {
				out = append(out, c)
			}
		}
	}
	return out
}

// Unmeasured counts the checks without a number.
func (p recordPage) Unmeasured() int {
	n := 0
	for _, c := range p.Checks {
		if c.Verdict == turnout.NotMeasured {
			n++
		}
	}
	return n
}

// recordFor begins the page from the newest version.
func (s *server) recordFor(r *http.Request) (*recordPage, error) {
	saved, err := s.store.Turnout(r.Context(), r.PathValue("id"))
	if err != nil {
		return nil, err
	}
	v := &recordPage{Frame: s.Frame("turnouts", saved.Name), Saved: saved, System: metric, Form: map[string]string{}, Guessed: map[string]bool{}, Marks: map[string]string{}}
	v.whole, err = turnout.Whole(saved.ID, saved.Document)
	if v.Broken = book.FaultsOf(err); v.Broken == nil && err != nil {
		return nil, err
	}
	return v, nil
}

// record is GET /turnouts/{id}?units=metric|inches.
func (s *server) record(w http.ResponseWriter, r *http.Request) error {
	v, err := s.recordFor(r)
	if err != nil {
		return err
	}
	if r.URL.Query().Get("units") == string(inches) {
		v.System = inches
	}
	v.KeptNow = r.URL.Query().Get("kept") != ""
	if v.Broken != nil {
		return s.Render(w, http.StatusOK, "turnout_record", v)
	}
	v.fill()
	if err := v.inspect(s.Now()); err != nil {
		return err
	}
	v.lay()
	return s.Render(w, http.StatusOK, "turnout_record", v)
}

// inspect makes the checks of what is kept.
func (p *recordPage) inspect(now time.Time) error {
	t, _, err := turnout.Decode(p.ID, p.Document)
	if err != nil {
		return err
	}
	p.Checks, err = turnout.Inspect(t, turnout.Conditions{Today: now})
	if f := book.FaultsOf(err); f != nil {
		p.Faults, err = append(p.Faults, f...), nil
	}
	return err
}

// listKey is a path into a list: horses[0].name.
var listKey = regexp.MustCompile(`^([a-z]+)\[(\d+)\]\.(.+)$`)

// at looks a path up in the file.
func at(m map[string]any, path string) any {
	if g := listKey.FindStringSubmatch(path); g != nil {
		l, _ := m[g[1]].([]any)
		i, err := strconv.Atoi(g[2])
		if err != nil || i >= len(l) {
			return nil
		}
		e, _ := l[i].(map[string]any)
		return at(e, g[3])
	}
	key, rest, deep := strings.Cut(path, ".")
	if !deep {
		return m[key]
	}
	below, _ := m[key].(map[string]any)
	return at(below, rest)
}

// put writes a value at a path; nil takes it away.
func put(m map[string]any, path string, x any) {
	if g := listKey.FindStringSubmatch(path); g != nil {
		l, _ := m[g[1]].([]any)
		i, err := strconv.Atoi(g[2])
		if err != nil || i > 500 {
			return
		}
		for len(l) <= i && x != nil {
			l = append(l, map[string]any{})
		}
		if i < len(l) {
			e, ok := l[i].(map[string]any)
			if !ok {
				e = map[string]any{}
				l[i] = e
			}
			put(e, g[3], x)
		}
		m[g[1]] = l
		return
	}
	key, rest, deep := strings.Cut(path, ".")
	if !deep {
		if x == nil {
			delete(m, key)
		} else {
			m[key] = x
		}
		return
	}
	below, ok := m[key].(map[string]any)
	if !ok {
		if x == nil {
			return
		}
		below = map[string]any{}
		m[key] = below
	}
	put(below, rest, x)
	if len(below) == 0 {
		delete(m, key)
	}
}

// every gives each box of the form with its path, in the order of the page.
func (p *recordPage) every(f func(b boxKind, path string)) {
	for _, g := range boxGroups(p.Form) {
		for _, b := range g.Boxes {
			f(b, b.Key)
		}
	}
	for _, k := range rowKinds(p.horses()) {
		for i := range p.rows(k) {
			for _, b := range k.Boxes {
				f(b, fmt.Sprintf("%s[%d].%s", k.Key, i, b.Key))
			}
		}
	}
}

// horses is how many the hitch that is chosen has.
func (p *recordPage) horses() int {
	return map[string]int{"pair": 2, "tandem": 2, "four": 4}[p.Form["hitch"]] + map[bool]int{true: 1}[p.Form["hitch"] == "single"]
}

// rows is how many entries of a list the form shows: those there are, and spare
// ones; as many horses as the hitch has.
func (p *recordPage) rows(k rowKind) int {
	l, _ := p.whole[k.Key].([]any)
	n := len(l)
	for i := 0; ; i++ { // and what was typed
		any := false
		for _, b := range k.Boxes {
			any = any || p.Form[fmt.Sprintf("%s[%d].%s", k.Key, i, b.Key)] != ""
		}
		if !any && i >= n {
			break
		}
		n = max(n, i+1)
	}
	if k.Key == "horses" {
		return max(n, k.Spare)
	}
	return min(n+k.Spare, 60)
}

// fill puts the file's values into the boxes.
func (p *recordPage) fill() {
	for _, k := range []string{"name", "hitch", "size", "notes", "measured.by", "measured.on"} {
		p.Form[k] = textOf(at(p.whole, k))
	}
	p.Form["vehicle.wheels"] = textOf(at(p.whole, "vehicle.wheels"))
	for _, k := range []string{"spares", "dress"} {
		l, _ := p.whole[k].([]any)
		var lines []string
		for _, e := range l {
			lines = append(lines, textOf(e))
		}
		p.Form[k] = strings.Join(lines, "\n")
	}
	if x, ok := at(p.whole, "pace.lateral").(float64); ok { // one number for both hands
		put(p.whole, "pace.lateral", nil)
		put(p.whole, "pace.lateral.left", x)
		put(p.whole, "pace.lateral.right", x)
	}
	p.every(func(b boxKind, path string) {
		p.Form[path] = p.show(b, at(p.whole, path))
		p.Guessed[path] = b.Guess && isGuess(p.whole, path)
	})
}

// isGuess reports whether a path, or a part it stands in, is named as guessed.
func isGuess(m map[string]any, path string) bool {
	l, _ := m["guessed"].([]any)
	return slices.ContainsFunc(l, func(g any) bool {
		k := textOf(g)
		return k == path || k != "" && (strings.HasPrefix(path, k+".") || strings.HasPrefix(path, k+"["))
	})
}

// textOf is a plain value as a person types it.
func textOf(x any) string {
	switch x := x.(type) {
	case string:
		return x
	case float64:
		return trimmed(x, 6)
	case bool:
		if x {
			return "yes"
		}
		return "no"
	case nil:
		return ""
	}
	return fmt.Sprint(x)
}

// show is a value of the file in its box.
func (p *recordPage) show(b boxKind, x any) string {
	if f, ok := x.(float64); ok && own(b.Unit, p.System) != "" {
		return shown(f, b.Unit, p.System)
	}
	return textOf(x)
}

// lay makes the page's boxes.
func (p *recordPage) lay() {
	box := func(b boxKind, path string) boxView {
		v := boxView{boxKind: b, ID: strings.NewReplacer(".", "-", "[", "-", "]", "", " ", "-").Replace(path), Value: p.Form[path], Own: own(b.Unit, p.System), Guessed: p.Guessed[path], Wrong: p.Marks[path]}
		v.Key = path
		if v.Value != "" && v.Own != "" {
			if x, err := number(v.Value, b.Unit, p.System); err == nil {
				v.Other = other(x, b.Unit, p.System)
			}
		}
		return v
	}
	for _, g := range boxGroups(p.Form) {
		gv := groupView{Name: g.Name, Says: g.Says, Open: g.Open}
		for _, b := range g.Boxes {
			bv := box(b, b.Key)
			gv.Open = gv.Open || bv.Value != "" || bv.Wrong != ""
			gv.Boxes = append(gv.Boxes, bv)
		}
		p.Groups = append(p.Groups, gv)
	}
	for _, k := range rowKinds(p.horses()) {
		rv := rowsView{Name: k.Name, Says: k.Says}
		for i := range p.rows(k) {
			e := entryView{Head: fmt.Sprintf("%d", i+1)}
			for _, b := range k.Boxes {
				bv := box(b, fmt.Sprintf("%s[%d].%s", k.Key, i, b.Key))
				bv.Label = b.Label
				e.Boxes = append(e.Boxes, bv)
			}
			rv.Entries = append(rv.Entries, e)
		}
		p.Rows = append(p.Rows, rv)
	}
}

// recordKeep is POST /turnouts/{id}: the record as a new version. What is
// wrong is marked where it was typed, and nothing is kept.
func (s *server) recordKeep(w http.ResponseWriter, r *http.Request) error {
	if err := book.Posted(w, r, 512<<10); err != nil {
		return err
	}
	v, err := s.recordFor(r)
	if err != nil {
		return err
	}
	if v.Broken != nil {
		return v.Broken
	}
	f := r.PostForm
	if f.Get("units") == string(inches) {
		v.System = inches
	}
	v.fill()
	before := map[string]string{}
	for k, x := range v.Form {
		before[k] = x
	}
	v.take(f, before)
	if f.Get("do") == "lay" { // another hitch, other wheels or other units: only laid out anew
		v.lay()
		return s.Render(w, http.StatusOK, "turnout_record", v)
	}
	doc, t, err := v.write()
	if err != nil {
		return err
	}
	base, _ := strconv.Atoi(f.Get("version"))
	if len(v.Marks) > 0 || len(v.Faults) > 0 {
		v.lay()
		return s.Render(w, http.StatusUnprocessableEntity, "turnout_record", v)
	}
	_, err = s.store.SaveTurnout(r.Context(), v.ID, base, t.Name, doc, s.Now())
	if code, ok := fault.CodeOf(err); ok && code == fault.Conflict {
		v.Moved = fmt.Sprintf("Somebody kept version %s of this record while you typed. What you typed is here; keep it again to make it the next one.", v.Letter())
		v.lay()
		return s.Render(w, http.StatusConflict, "turnout_record", v)
	}
	if err != nil {
		return err
	}
	q := url.Values{"kept": {"1"}}
	if v.System == inches {
		q.Set("units", string(inches))
	}
	http.Redirect(w, r, "/turnouts/"+url.PathEscape(v.ID)+"?"+q.Encode(), http.StatusSeeOther)
	return nil
}

// take reads what was typed. A box that reads as before keeps its value to the
// last digit.
func (p *recordPage) take(f url.Values, before map[string]string) {
	trim := func(k string) string { return strings.TrimSpace(f.Get("v." + k)) }
	for _, k := range []string{"name", "hitch", "size", "vehicle.wheels", "notes", "measured.by", "measured.on", "spares", "dress"} {
		if f.Has("v." + k) {
			p.Form[k] = trim(k)
		}
	}
	text := func(k string) {
		if p.Form[k] == before[k] {
			return
		}
		if p.Form[k] == "" {
			put(p.whole, k, nil)
		} else {
			put(p.whole, k, p.Form[k])
		}
	}
	for _, k := range []string{"name", "hitch", "size", "notes", "measured.by", "measured.on"} {
		text(k)
	}
	if n, err := strconv.ParseFloat(p.Form["vehicle.wheels"], 64); err == nil {
		put(p.whole, "vehicle.wheels", n)
	}
	for _, k := range []string{"spares", "dress"} {
		if p.Form[k] == before[k] {
			continue
		}
		var l []any
		for line := range strings.Lines(p.Form[k]) {
			if line = strings.TrimSpace(line); line != "" {
				l = append(l, line)
			}
		}
		if l == nil {
			delete(p.whole, k)
		} else {
			p.whole[k] = l
		}
	}
	for key := range f { // what was typed in rows beyond those there were
		if path, ok := strings.CutPrefix(key, "v."); ok && listKey.MatchString(path) {
			p.Form[path] = trim(path)
		}
	}
	p.every(func(b boxKind, path string) {
		if !f.Has("v." + path) {
			return // not on the page that was sent: it stays
		}
		p.Form[path] = trim(path)
		p.Guessed[path] = f.Has("g." + path)
		if p.Form[path] == before[path] {
			return
		}
		p.set(b, path)
	})
	p.guesses()
}

// set puts one box's value into the file, or a mark at the box.
func (p *recordPage) set(b boxKind, path string) {
	text := p.Form[path]
	switch {
	case text == "":
		put(p.whole, path, nil)
	case b.Unit == asYesNo:
		put(p.whole, path, text == "yes")
	case b.Unit == asText:
		if strings.HasSuffix(path, ".shoed") && (text == "yes" || text == "no") {
			put(p.whole, path, text == "yes")
			return
		}
		put(p.whole, path, text)
	case b.Unit == asDay:
		if _, err := time.Parse(time.DateOnly, text); err != nil && !regexp.MustCompile(`^\d{4}(-\d{2})?$`).MatchString(text) {
			p.Marks[path] = fmt.Sprintf("%q is no day; such as 2026-05-14", text)
		}
		put(p.whole, path, text)
	default:
		x, err := number(text, b.Unit, p.System)
		if err != nil {
			p.Marks[path] = err.Error()
			return
		}
		put(p.whole, path, x)
	}
}

// guesses writes the list of what is guessed: a whole part where all of it is, and
// what the form does not show as it was.
func (p *recordPage) guesses() {
	shown := map[string]bool{}
	parts := map[string][]string{}
	p.every(func(b boxKind, path string) {
		if b.Guess {
			shown[path] = true
			part, _, _ := strings.Cut(path, ".")
			if at(p.whole, path) != nil {
				parts[part] = append(parts[part], path)
			}
		}
	})
	var list []any
	old, _ := p.whole["guessed"].([]any)
	for _, g := range old {
		k := textOf(g)
		covers := shown[k]
		for path := range shown {
			covers = covers || strings.HasPrefix(path, k+".") || strings.HasPrefix(path, k+"[")
		}
		if !covers {
			list = append(list, k)
		}
	}
	done := map[string]bool{}
	p.every(func(b boxKind, path string) {
		part, _, deep := strings.Cut(path, ".")
		if !p.Guessed[path] || at(p.whole, path) == nil || done[path] {
			return
		}
		if deep && len(parts[part]) > 1 && !slices.ContainsFunc(parts[part], func(q string) bool { return !p.Guessed[q] }) {
			for _, q := range parts[part] {
				done[q] = true
			}
			list = append(list, part)
			return
		}
		list = append(list, path)
	})
	if list == nil {
		delete(p.whole, "guessed")
		return
	}
	p.whole["guessed"] = list
}

// write makes the file and reads it back strictly; faults are marked at their
// boxes.
func (p *recordPage) write() ([]byte, *turnout.Turnout, error) {
	for _, k := range rowKinds(p.horses()) { // empty rows are none
		l, _ := p.whole[k.Key].([]any)
		kept := []any{}
		for _, e := range l {
			if m, ok := e.(map[string]any); !ok || len(m) > 0 {
				kept = append(kept, e)
			}
		}
		if len(kept) == 0 {
			delete(p.whole, k.Key)
		} else {
			p.whole[k.Key] = kept
		}
	}
	if l, ok := at(p.whole, "pace.lateral.left").(float64); ok && at(p.whole, "pace.lateral.right") == l {
		put(p.whole, "pace.lateral", l)
	}
	doc, err := turnout.EncodeWhole(p.whole)
	if err != nil {
		return nil, nil, err
	}
	t, _, err := turnout.Decode("record", doc)
	if err == nil {
		_, err = turnout.Inspect(t, turnout.Conditions{})
	}
	if list := book.FaultsOf(err); list != nil {
		p.mark(list)
		return doc, t, nil
	}
	return doc, t, err
}

// faultPath is the key at the end of a fault's place.
var faultPath = regexp.MustCompile(`^(?:record(?::\d+)?(?:: |$))?(.*)$`)

// missingKey is how package strict says that a key is not there.
var missingKey = regexp.MustCompile(`^the key "([^"]+)" is missing`)

// mark puts faults at their boxes; those of no box are told at the top.
func (p *recordPage) mark(list fault.List) {
	known := map[string]bool{"name": true, "hitch": true, "size": true, "vehicle.wheels": true, "measured.on": true, "measured.by": true}
	p.every(func(_ boxKind, path string) { known[path] = true })
	for _, f := range list {
		path := faultPath.FindStringSubmatch(f.Place)[1]
		if path == "pace.lateral" {
			path = "pace.lateral.left"
		}
		if !known[path] { // a key that is missing is told of the part it belongs to
			if g := missingKey.FindStringSubmatch(f.Message); g != nil && known[strings.TrimPrefix(path+"."+g[1], ".")] {
				path = strings.TrimPrefix(path+"."+g[1], ".")
			}
		}
		switch {
		case !known[path]:
			p.Faults = append(p.Faults, &fault.Fault{Code: f.Code, Rule: f.Rule, Place: path, Message: f.Message, Hint: f.Hint})
		case p.Marks[path] == "":
			p.Marks[path] = f.Message + "; " + f.Hint
		}
	}
}
