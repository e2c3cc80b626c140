package rota

import "slices"

// CardKeys are the parts of a job's card, in its order, each with its heading.
func CardKeys() [][2]string {
	return [][2]string{
		{"stand", "Where you stand"}, {"keep_out", "Where you never stand"}, {"watch", "What you watch"},
		{"write", "What you write"}, {"example", "For example"}, {"carry", "What you carry"}, {"hands", "Who gets it"},
	}
}

// card is what is said of a kind of job where the file says nothing. All of it is
// common practice, to be changed by the organiser.
type card struct {
	kind                                                 string
	stand, keepOut, watch, write, example, carry, handed string
}

const outside = "Inside the course, or where a wide turn could reach: fours and tandems swing far outside."

// cards are the kinds of jobs that have a card of their own (common practice).
func cards() []card {
	return []card{
		{"observer", "Where you see every gate, clear of every line that can be driven. Chair away from the posts.", outside,
			"Which gate, in which order, which way. Red marker on the driver's right. Whether a groom or driver gets down, a piece falls, somebody helps.",
			"Each letter as it is passed, wrong ones too. Do not look down while the horse is between gates: say it aloud, your assistant ticks.",
			"No. 7 drove A, then C, came back for B, then C: write A C B C. A piece down: 1. Time 52.08.",
			"Plan of the hazard, a sheet for each entry, spares, short pencils, a bag against rain.", "The runner. A sheet with anything odd has a sticker and goes by hand."},
		{"timer", "On the line, so that you look along it.", "In front of In or behind Out on the driven side.",
			"The nose of the first horse: start as it passes In, stop as it passes Out. Stay on the watch until Out is truly passed.",
			"Entry number and time, minutes, seconds and hundredths. Both watches. Read every digit back to the observer.",
			"No. 7: watch 1 shows 0:52.08, watch 2 shows 0:52.21. Write both.", "Two watches started together in the morning, list, pencil.", "The observer, aloud; the back-up list goes to the scorer in the evening."},
		{"hold", "On the track before the hazard, where a driver sees you early and can pull up.", "On the line itself; never run at a horse.",
			"Whether the hazard is clear before the next one comes. Shout “horse coming”.",
			"Number, held from, how long: in whole or half minutes. Count ten seconds down to the restart.",
			"No. 12 held 13:04:10, 1 min 30 s.", "Flag, watch, list.", "The observer."},
		{"scribe", "Beside the judge, with the arena in view only when you need not write.", "Between the judge and the arena.",
			"The number in the arena before the halt: is it the number on your sheet?",
			"What the judge says and nothing more: a mark in each box, halves as 6.5. Ask about an empty box at once.",
			"Judge says “six and a half, hollow”: write 6.5, hollow.", "Order of go, sheets in that order, pens and pencils.", "The runner, signed by the judge."},
		{"setter", "By your own pairs, still, until the turnout is past.", "In the horse's sight while it comes; across the course.",
			"Your balls. If one falls raise the stick until the judge has seen it.",
			"Nothing: you signal. Set the gap that is called, read it back first.",
			"Called “one six eight”: answer “one six eight”, set, measure, stick up.", "Gap stick or bar, spare balls.", "The cones steward."},
		{"judge", "Where you see every pair, with the bell in your hand.", outside,
			"Balls, the order of the numbers, stops and run-outs, who gets down. Stop the course for anybody in danger.",
			"Say it aloud for the scribe. Look over each sheet before you sign.",
			"“Ball left at three; refusal at seven; bell at eight.”", "Bell or horn, plan with the order, rules in force today.", "The scribe writes, the runner fetches."},
		{"steward", "At the gate of the ring, to the side.", "In the gateway while a turnout comes through.",
			"Who is next and next but one, that the warm-up is quiet, that the gate is shut when a horse is loose.",
			"Real starting times, scratches, changes of order. Strike through, never rub out.",
			"10:25 no. 3 started 10:27. No. 9 scratched, told the judge.", "Order of go, radio.", "The judge, the scorer."},
		{"safety", "At the horse's shoulder, a header at its head.", "In front of wheels; behind a horse.",
			"The check card, in its order, before the turnout goes to work.",
			"On the card: looked at, fix and show again, or not today, with the reason.",
			"Near trace on its last hole: F, shown again 08:52.", "Check cards, knife, whistle, emergency card, radio.", "The secretary; a refusal goes to the organiser."},
		{"starter", "Beside the start line, where the driver hears you.", "In front of the horse.",
			"The time on the list and the master clock.", "Real start or finish, hours, minutes and seconds, on your list and the driver's card.",
			"No. 8 off at 12:54:00; no. 12 at 13:03:30, late.", "Master clock, order of go, cards.", "The runner; the driver keeps the card."},
		{"runner", "On the path between hazards, rings and the scorer.", "Across a course while a horse is on it.",
			"That every sheet you were given arrives. Fetch after every three or four entries.",
			"Which numbers you took, where and when.", "Orchard, 3 to 12, seven sheets, 13:20.", "Bag against rain, receipt list, water for the teams.", "The scorer, by hand, counted."},
		{"scorer", "Indoors, in quiet, with a second person.", "",
			"That each sheet is whole and signed before it is entered; which are missing.",
			"Each number once; the second person reads it back from the paper.", "16 of 20 in; missing 7, 12, 13, 20.", "Sheets, rules in force today, pencils, ink.", "The notice board within ten minutes, and the announcer."},
		{"header", "At the head of the horse, to one side, rope in hand.", "In front of the horse; between it and a wheel.",
			"The horse, not the telephone.", "Nothing.", "", "Halter and rope, knife.", ""},
		{"announcer", "Where you see the board and are heard.", "",
			"Order, times, results; what must be said to all at once.", "Nothing.", "“Number five to the gate, number six get ready.”", "Order of go, results, emergency card.", ""},
		{"helper", "Where you were told; ask.", outside, "What you were told.", "", "", "", ""},
	}
}

// Kinds are the kinds of jobs with a card of their own.
func Kinds() []string {
	var all []string
	for _, c := range cards() {
		all = append(all, c.kind)
	}
	return all
}

// CardOf is what the card of a job says, part by part of CardKeys: the file's own
// words, else what is common practice for its kind, else "".
func CardOf(j *Job) map[string]string {
	all := map[string]string{}
	if i := slices.IndexFunc(cards(), func(c card) bool { return c.kind == j.Kind }); i >= 0 {
		c := cards()[i]
		for k, v := range map[string]string{"stand": c.stand, "keep_out": c.keepOut, "watch": c.watch, "write": c.write, "example": c.example, "carry": c.carry, "hands": c.handed} {
			all[k] = v
		}
	}
	for k, v := range j.Card {
		all[k] = v
	}
	return all
}
