// Package cones drives a course of numbered cones: the line through every pair,
// the course's length and time allowed, the room each wheel has to spare, and the
// smallest change that cures a pair that is touched. It knows nothing of screens
// or files.
//
// # Two lines
//
// A course has one length: the line that its builder wheels, through the middle
// of every pair and square to it, by the shortest arcs and straights of
// measure_radius ([Measure], file dubins.go). It is the same for everyone, and
// the time allowed comes from it. What a turnout drives itself is another line
// and a second figure ([Drive]).
//
// # The driven line
//
//  1. Arcs and straights of about the turnout's own radius are laid from pair to
//     pair in number order, round other pairs and whatever stands about; a leg that
//     would need a whole circle turns tighter first (layout.go).
//  2. Package shape bends that into a line without jumps in its curvature. Beside
//     every cone it is asked for half the clearance. That puts each axle and the
//     horses into the middle of the pair, and bodies that go through the middle one
//     behind the other make the line square to it, as far as there is room.
//  3. Package drive tows the turnout along it, and room.go measures every wheel and
//     every line of feet against the two cones. Neither knows how the line was made.
//  4. Where that finds a cone touched or a turn too tight, the line is begun again
//     with less room asked for there, so that what room there is goes where it is
//     needed; the least radius is never given up for it (line.go).
//
// # At the ground
//
// A gap is set at the ground, from inner face to inner face, and a cone leans away
// from it: hubs, bodies and the horse's barrel pass above. So wheels (the outside
// of the tyres) and feet count between cones, and every part of the footprint
// beside things. Feet are taken to stand anywhere on two lines from under the nose
// to under the rump, feetShare of the horse's width apart (estimate).
//
// # Cures
//
// Widening, turning and moving a pair, or turning and moving the one before, are
// tried from small to large, driving the gates round about anew each time
// (cure.go). What is found is then driven in the whole course, until it does and
// four fifths of it do not. Smallest is measured by how far a cone is shifted.
//
// # While a pair is dragged
//
// [Live] keeps a turnout's line and bends the part near the dragged pair along
// with it, a few steps of the solver for each frame.
//
// Level, firm ground, forward driving. Metres, radians, bearings clockwise from
// north, curvature and angles positive to the right; centimetres and degrees in
// answers.
package cones
