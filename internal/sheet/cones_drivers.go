package sheet

import "fmt"

// guide stands on every plan that drivers walk with.
const guide = "This plan is a guide; the course on the ground rules."

// conesDrivers draws the course plan for drivers: numbered gates, length and
// time, no line. Where the drawing comes out much larger by itself, the words go
// on the next page; multiples are drawn large behind it.
func conesDrivers(in *Input) ([]Scene, error) {
	const title = "Course plan for drivers"
	c := in.Course
	length := in.measured().Length
	rows := in.timeRows(length)
	first := fmt.Sprintf("%sCourse %.0f m, wheeled round %g m.", in.groundSize(), length, c.MeasureRadius)
	gap := gapWords(c)
	const walk = "Walk from ________ to ________. Warm-up ______________. Way in ______________."
	key := in.key()
	tallWords := func(w float64, withKey bool) float64 {
		h := tall(first, 13, true, w) + timesTall(rows, w) + tall(gap, body, false, w) + tall(guide, body, true, w) + 5
		if withKey {
			h += keyTall(key, w, keyColumnsFor(w)) + tall(walk, body, false, w)
		}
		return h
	}
	one := in.set(in.near(nil), func(w float64, _ bool) float64 { return tallWords(w, true) })
	under := fmt.Sprintf("Course %.0f m; times on page 2. %s", length, guide)
	two := in.set(in.near(nil), func(w float64, _ bool) float64 { return tall(under, body, true, w) + 1 })
	if one.scale < worthwhile*two.scale {
		s, _ := in.heading(title).page(in.Paper, one.wide)
		in.draw(&s, one, false, false, nil, nil)
		r := s.paragraph(one.words, 13, true, first)
		r = s.times(r, rows)
		r = s.paragraph(r, body, false, gap)
		r.Y, r.H = r.Y+2, r.H-2
		r = s.writeKey(r, key, keyColumnsFor(r.W))
		r = s.paragraph(r, body, false, walk)
		s.paragraph(r, body, true, guide)
		return append([]Scene{s}, in.multiplePages(title)...), nil
	}
	s, _ := in.heading(title).page(in.Paper, two.wide)
	in.draw(&s, two, false, false, nil, nil)
	s.paragraph(two.words, body, true, under)
	f := &flow{in: in, title: title}
	f.words(15, true, fmt.Sprintf("%sCourse %.0f m, as the builder wheels it round %g m, the same for everyone.", in.groundSize(), length, c.MeasureRadius))
	f.big("Time by class (rules: "+in.Rules.Name+")", timeColumns, rows, 15)
	f.words(body, false, gap)
	f.words(body, false, walk)
	f.key(key)
	f.words(body, true, guide)
	pages := append([]Scene{s}, f.pages...)
	return append(pages, in.multiplePages(title)...), nil
}

// timeWords is a line of the times where there is no room for columns.
func timeWords(row []string) string {
	return fmt.Sprintf("%s, %s m/min: allowed %s s, limit %s s", capital(row[0]), row[1], row[2], row[3])
}

// columnsOfTimes is the least width that holds the times in columns, mm.
const columnsOfTimes = 165.0

func timesTall(rows [][]string, w float64) (h float64) {
	for _, row := range rows {
		if w >= columnsOfTimes {
			h += lineStep(13)
		} else {
			h += tall(timeWords(row), 13, true, w)
		}
	}
	return h
}

// times writes the times by class, where a table has no room.
func (s *Scene) times(r Rect, rows [][]string) Rect {
	for _, row := range rows {
		if r.W < columnsOfTimes {
			r = s.paragraph(r, 13, true, timeWords(row))
			continue
		}
		if r.H < lineStep(13) {
			break
		}
		y := r.Y + capHeight(13) + 0.6
		s.add(Text{At: Pt{r.X, y}, Size: 13, Bold: true, Ink: Black, Words: fit(capital(row[0]), 13, true, 42)})
		for i, words := range []string{row[1] + " m/min", "allowed " + row[2] + " s", "limit " + row[3] + " s"} {
			s.add(Text{At: Pt{r.X + 70 + 46*float64(i), y}, Size: 13, Bold: i == 1, Anchor: End, Ink: Black, Words: words})
		}
		r.Y, r.H = r.Y+lineStep(13), r.H-lineStep(13)
	}
	return r
}
