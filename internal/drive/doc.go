// Package drive takes a turnout along a line: it tows the vehicle behind the
// lead point, finds the quickest speeds, and measures how near every part of
// the footprint comes to what stands on the ground.
//
// It judges; it does not plan. What makes lines (package shape) shares with it
// nothing but plane geometry, so that a line that passes here was not merely
// agreed with itself.
//
// Metres, seconds, radians; curvature is positive to the right.
package drive
