// Package sheet draws the papers of a driving day: course plans for drivers and
// builders, a clinic plan with two ways through a hazard, the setting-out list, the
// gaps, the arena, the material count.
//
// # How it works
//
// A paper is made in two steps that know nothing of each other. First [Draw]
// turns a plan into pages: each page is a [Scene], a display list in
// millimetres. Then [PDF] or [SVG] replays the pages through a [Renderer] of
// four methods. A new output is a new Renderer, and must pass the contract test
// that both of these pass; a new paper is a file with a function that fills a
// Scene, and a line in [Kinds] that says what the paper has to be given.
//
//	pages, err := sheet.Draw("hazard-drivers", sheet.Input{Plan: p, Hazard: h, PrintedAt: now, Paper: sheet.A4})
//	err = sheet.PDF(w, pages, sheet.Meta{Title: p.Name, At: now}) // one file, all pages
//	err = sheet.SVG(w, pages...)                                  // one file, all pages under one another
//	err = sheet.SVG(w, pages[2])                                  // one page by itself
//
// A command that writes one file writes all pages with one call; a web page
// that shows a single page passes that page alone. Papers of a turnout have an
// input of their own: [Turnout]. So have the papers of people's jobs, [Rota], and those of a driving day, which a
// trial's file is drawn on: [Day]; blank they are forms for a wet pencil, filled
// they show what the sheets say with the working beside the number.
//
// A drawing with words ([Input]'s set and draw) is laid on the page the way that
// makes it largest: words below, words beside, or upright and across. Lists flow
// from page to page and repeat their heads.
//
// # Units and axes
//
// On paper: millimetres from the upper left corner, x to the right, y down;
// text sizes are points (1 pt = 25.4/72 mm). On the ground: metres, x east and
// y north, as in package plan. The type view is the only place that turns one
// into the other. North is always up. The scale is a round number, so that a
// ruler works: at 1:250, 10 m are 40 mm.
//
// # Signs
//
// Red marker, driver's right: a solid square standing on its corner, with R.
// White marker, driver's left: a white circle with a black rim, with L. Both
// stand on the side of the gate that its driver comes from where a post is red
// for one gate and white for another. An arrow through the gate shows the way
// and carries the letter. The red of the marker is the only colour: every paper
// reads the same from a black and white printer.
//
// # Same input, same bytes
//
// Nothing here asks for the time, walks a map in its own order or uses a
// machine's fonts for measuring. The Go fonts are used for measuring and are
// put into PDF files; an SVG file names fonts that look alike, and gives each
// text the width that was measured, so that nothing runs into its neighbour.
// The Go fonts hold Latin, Greek and Cyrillic letters: in a PDF any other
// letter is printed as "?", in an SVG it is left to the reader's fonts.
//
// # What it does not do
//
// It does not plan, judge or check anything: an answer of package hazard and a
// list of package survey are drawn as they are, and a course's length and time are
// those of package cones. It never calls a place or a line safe.
package sheet
