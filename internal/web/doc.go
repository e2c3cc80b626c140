// Package web binds Terret's pages into one handler: server-rendered HTML, a small JSON
// API for the drawing, and the static files, all from one binary and without the
// internet.
//
//	book      what all pages share: frame, templates, static files, forms, faults,
//	          who may ask
//	ground    the Ground tab: plans, drawing and its API, setting out, papers
//	turnouts  the Turnouts tab: records, checks, trots
//	trials    the Scores and the Day tab
//
// No tab knows another; each declares what it needs of storage and is handed it by
// package main through [Config]: no package here knows a database. Here itself are the
// few pages of no tab (rules, copies, the way in) and the demo's seed, and the tests of
// all pages together: TestEveryPageRenders renders each with a full fixture.
package web
