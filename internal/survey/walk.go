package survey

import "terret/internal/geom"

// shortest is an order in which to walk from start through all points, as short
// as can be found: the nearest next, then stretches turned about (2-opt) and
// moved elsewhere (Or-opt) while that shortens the way. The end is free.
// Croes, "A method for solving traveling-salesman problems" (1958); Or, thesis
// (1976), both from memory.
func shortest(start geom.Vec, points []geom.Vec) []int {
	n := len(points)
	order := make([]int, 0, n)
	used := make([]bool, n)
	at := start
	for range n {
		best := -1
		for i := range points {
			if !used[i] && (best < 0 || at.Sub(points[i]).Len2() < at.Sub(points[best]).Len2()) {
				best = i
			}
		}
		used[best] = true
		order = append(order, best)
		at = points[best]
	}
	// p is the place of the i-th stop; −1 is the start.
	p := func(i int) geom.Vec {
		if i < 0 {
			return start
		}
		return points[order[i]]
	}
	const less = 1e-9
	for sweep := 0; sweep < 40; sweep++ {
		better := false
		for i := 0; i < n-1; i++ {
			for k := i + 1; k < n; k++ {
				// Turn stops i … k about.
				gain := p(i-1).Dist(p(i)) - p(i-1).Dist(p(k))
				if k+1 < n {
					gain += p(k).Dist(p(k+1)) - p(i).Dist(p(k+1))
				}
				if gain > less {
					for a, b := i, k; a < b; a, b = a+1, b-1 {
						order[a], order[b] = order[b], order[a]
					}
					better = true
				}
			}
		}
		for length := 1; length <= 3; length++ {
			for i := 0; i+length <= n; i++ {
				if move(order, i, length, p) {
					better = true
				}
			}
		}
		if !better {
			break
		}
	}
	return order
}

// move takes the stretch of stops from i on out and puts it where the way
// becomes shortest, if that is shorter than now.
func move(order []int, i, length int, p func(int) geom.Vec) bool {
	n, j := len(order), i+length // stops i … j−1
	saved := p(i - 1).Dist(p(i))
	if j < n {
		saved += p(j-1).Dist(p(j)) - p(i-1).Dist(p(j))
	}
	best, to, turned := 1e-9, -2, false
	for k := -1; k < n; k++ { // behind stop k
		if k >= i-1 && k < j {
			continue
		}
		for _, turn := range []bool{false, true} {
			a, b := p(i), p(j-1)
			if turn {
				a, b = b, a
			}
			cost := p(k).Dist(a)
			if k+1 < n {
				cost += b.Dist(p(k+1)) - p(k).Dist(p(k+1))
			}
			if saved-cost > best {
				best, to, turned = saved-cost, k, turn
			}
		}
	}
	if to == -2 {
		return false
	}
	piece := append([]int{}, order[i:j]...)
	if turned {
		for a, b := 0, len(piece)-1; a < b; a, b = a+1, b-1 {
			piece[a], piece[b] = piece[b], piece[a]
		}
	}
	if to < i {
		copy(order[to+1+length:j], order[to+1:i])
		copy(order[to+1:], piece)
	} else {
		copy(order[i:], order[j:to+1])
		copy(order[to+1-length:], piece)
	}
	return true
}
