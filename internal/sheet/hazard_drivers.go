package sheet

// drivers draws the course plan for drivers: gates, ground and a key. It draws
// no line and names no way: finding one is the driver's work.
func drivers(in *Input) ([]Scene, error) {
	class := in.classWords()
	key := in.key()
	set := in.set(in.near(nil), func(w float64, _ bool) float64 {
		return tall(class, 13, true, w) + tall(guide, body, true, w) + 4 + keyTall(key, w, keyColumnsFor(w)) + 1
	})
	s, _ := in.heading("Course plan for drivers").page(in.Paper, set.wide)
	in.draw(&s, set, false, false, nil, nil)
	r := s.paragraph(set.words, 13, true, class)
	r.Y, r.H = r.Y+2, r.H-2
	r = s.writeKey(r, key, keyColumnsFor(r.W))
	r.Y, r.H = r.Y+2, r.H-2
	s.paragraph(r, body, true, guide)
	return []Scene{s}, nil
}
