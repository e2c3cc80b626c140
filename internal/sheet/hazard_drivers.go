package sheet

// drivers draws the course plan for drivers: gates, ground and a key. It draws
// no line and names no way: finding one is the driver's work.
func drivers(in *HazardInput) []Scene {
	const rule = "This plan is a guide; the course on the ground rules."
	class := in.classWords()
	key := in.key()
	columns := func(wide bool) int {
		if wide {
			return 1
		}
		return 2
	}
	set := in.set(in.near(nil), func(w float64, wide bool) float64 {
		return tall(class, 13, true, w) + tall(rule, body, true, w) + 4 + keyTall(key, w, columns(wide)) + 1
	})
	s, _ := in.heading("Course plan for drivers").page(in.Paper, set.wide)
	in.draw(&s, set, false, false, nil, nil)
	r := s.paragraph(set.words, 13, true, class)
	r.Y, r.H = r.Y+2, r.H-2
	r = s.writeKey(r, key, columns(set.wide))
	r.Y, r.H = r.Y+2, r.H-2
	s.paragraph(r, body, true, rule)
	return []Scene{s}
}
