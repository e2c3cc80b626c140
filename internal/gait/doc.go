// Package gait reads what a horse left behind or shook: hoof prints taped along
// a raked strip, taps on the beat, the motion log of a phone. From them it says
// what trot it was, how long and how quick the strides were, and how sure that
// is.
//
// # Hoof prints
//
// Positions are metres along the line of travel, read at the toe edge of every
// print. The over-track of a hind print is how far it lies ahead of the fore
// print of its own side (negative: it fell short):
//
//	travel →
//	         LH  LF                 LH  LF        hind short of the fore: slow
//	   ───────▽──▼───────────────────▽──▼──
//	   over-track −, stride = LF to the next LF
//
// In a trot the legs go by diagonal pairs. With the stride SL and the distance D
// from a hind print forward to the fore print of its diagonal, geometry gives
//
//	over-track = SL/2 − D
//
// exactly for even strides; what the measured means miss it by is reported, for
// it shows a fore step that is not half a stride or a print that was misread.
//
// A trot is named only when the 95 % interval of the mean over-track lies wholly
// short of the fore print (slow), in it (working) or beyond it (strong), where
// "in" has a width: half a print, by the size of the horse. Anything else is
// [CannotTell], with how many more strides would settle it. The interval is
// Student's, t·s/√n. It takes strides as independent; strides of one pass are a
// little alike, so several passes are worth more than one long one.
//
// That the hind foot touches in the fore print in a working trot is one breed
// rulebook's definition; that short is slow and beyond is strong is common
// practice. How the collected, working, medium and extended trots of published
// measurements map to these three is an estimate. Frequency does not help: it
// moves 8 % from collected to extended (Clayton 1994) while one horse varies by
// 2 % (Drevemo 1980), so from taps or a motion log alone no trot is named.
//
// A difference between left and right is told as a measurement. What makes it
// is for a vet, a farrier or a trainer to find.
//
// # Motion logs
//
// A trotting animal shakes a phone twice a stride, about equally; a cantering
// one once; a walking one twice, softly. The log may lie any way up and need not
// be evenly timed. See signal.go for how it is taken apart.
//
// # What it does not do
//
// It does not diagnose, and does not say that a horse may work.
package gait
