// Package hazardtest judges the hazard planner. It is imported by tests only.
//
// It holds a second, slower and plainer implementation of everything that
// decides whether a drive through a hazard is good: towing, footprint,
// clearance, the speed limits and which gate may be driven when. It shares
// with the planner package geom, the plan and turnout data and the shape of
// the answer, and not one line of solving.
//
//   - [Check] and [CheckAnswer] judge finished routes from their samples alone.
//   - [Random], [H1] and [H2] make hazards; [Turnouts] names the test turnouts.
//   - [Oracle] searches a hazard on a lattice, slowly, and says what can be
//     driven and how fast.
//
// Axes and signs are those of package geom: x east, y north, bearings
// clockwise from north, turning and curvature positive to the right. Inside
// the package bearings are plain radians that run on past a full turn.
package hazardtest
