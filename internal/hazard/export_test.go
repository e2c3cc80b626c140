package hazard

import "context"

// LegWays builds the tangent graph and lists every leg's strings, for the
// benchmark of that; it tells how many there are.
func LegWays(q Question) (n int, err error) {
	k, err := newTask(q)
	if err != nil {
		return 0, err
	}
	for _, l := range k.legs(k.scene(), usual) {
		n += len(l)
	}
	return n, nil
}

// First searches from a cold start until a route can be driven, and tells
// whether one was found.
func First(q Question) (bool, error) {
	k, err := newTask(q)
	if err != nil {
		return false, err
	}
	s, _ := k.newSearch(context.Background(), k.scene(), usual)
	if s == nil {
		return false, nil
	}
	s.first()
	return s.best.fault == "", nil
}
