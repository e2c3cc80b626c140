package rules

import (
	"maps"
	"slices"
	"strings"
)

// Phases a profile may cover. The keys of a phase begin with its name and a
// point, those of the hazards with "hazard.".
const (
	Dressage = "dressage"
	Sections = "sections" // the timed roads of a marathon
	Hazards  = "hazards"
	Cones    = "cones"
	Timed    = "timed"  // pleasure driving: faults are seconds
	Judged   = "judged" // pleasure driving: parts of a hundred
)

// Phases lists them in the order a day usually has them.
func Phases() []string { return []string{Dressage, Sections, Hazards, Cones, Timed, Judged} }

// Keys of the hazard that the judge reads.
const (
	// WhileCorrecting is what the gates are between an error and its correction:
	// neutral (nothing counts until the owed gate is driven) or live (each
	// further live gate driven wrongly is one more error).
	WhileCorrecting = "hazard.while_correcting"
	// InAgain is what passing In after the start is: free, an error, or the end
	// of the drive (eliminated).
	InAgain = "hazard.in_again"
	// CorrectedError is the penalties of one error that was put right.
	CorrectedError = "hazard.corrected_error"
	// UncorrectedError is what leaving with an error, or too early, leads to.
	UncorrectedError = "hazard.uncorrected_error"
	// ConesTimeRounding is how the time allowed of a cones course is brought to
	// whole seconds: up (a started second is given), nearest, or none.
	ConesTimeRounding = "cones.time_allowed_rounding"
)

// Keys of the whole score.
const (
	CountedIn         = "score.counted_in"          // penalties or seconds
	Decimals          = "score.decimals"            // of a result
	Rounding          = "score.rounding"            // half up, half even or down
	Rounded           = "score.rounded"             // where: each phase, or the total
	MarathonRounded   = "score.marathon"            // together or apart
	EliminatedInPhase = "score.eliminated_in_phase" // not placed, or substitute
	SubstituteAdded   = "score.substitute_added"    // over the worst of the class in that phase
)

// Words that a value may be.
const (
	Neutral    = "neutral"
	Live       = "live"
	Free       = "free"
	Error      = "error"
	Eliminated = "eliminated"

	RoundUp      = "up"
	RoundNearest = "nearest"
	RoundNot     = "none"

	Penalties = "penalties"
	Seconds   = "seconds"

	HalfUp   = "half up"
	HalfEven = "half even"
	Down     = "down"

	EachPhase = "each phase"
	TheTotal  = "the total"
	Together  = "together"
	Apart     = "apart"
	NotPlaced = "not placed"
	Subst     = "substitute"

	SumThenRound    = "sum, then hundredths"
	CommencedSecond = "commenced second"
	EachThenRound   = "each, then hundredths"
	Exact           = "exact"

	Always        = "always"
	Above160      = "above 160"
	Never         = "never"
	Maximum       = "maximum"
	MeanOfOthers  = "mean of the others"
	Refused       = "refused"
	AfterConverts = "after conversion"
	FromMarks     = "from marks"
	Shared        = "shared"

	Once         = "once"
	EachTime     = "each time"
	FaultsCount  = "faults"
	TimeCount    = "time"
	AsARefusal   = "as a refusal"
	AsStated     = "as the course states"
	RunsSum      = "sum"
	RunsBest     = "best"
	RunsLast     = "last"
	SectionB     = "section B"
	Marathon     = "marathon"
	BestTotals   = "best totals"
	BestPerPhase = "best per phase"
	BestPerHitch = "best of each hitch per phase"
	Places       = "places"
	Counts       = "counts"
	LikeOthers   = "like the others"
	FinalFirst   = "the final"
	// WatchOfficial and the others say which of two watches counts.
	WatchOfficial = "the official one"
	WatchMean     = "the mean"
	WatchSlower   = "the slower"

	Forbidden = "not in succession"
	Allowed   = "allowed"
)

// Kind is what a value may hold.
type Kind string

// The kinds.
const (
	KindNumber Kind = "number" // a plain decimal: at most 5 digits before the point, 4 behind it
	KindWord   Kind = "word"   // one of a few words
	KindEither Kind = "number or word"
	// KindLadder is what the first, second, third … of a fault cost, parted by
	// commas: "5, 10, eliminated". The last step counts for all that follow, so
	// "20" is 20 each time and "5, 0" is 5 once.
	KindLadder Kind = "ladder"
	KindOrder  Kind = "order" // words in the order they are asked: "marathon, dressage"
	KindSplit  Kind = "split" // parts of a hundred: "performance 70, attire 30"
)

// Key says what one key may hold.
type Key struct {
	Kind  Kind
	Units []string // one of these; words have none
	Words []string // of KindWord, KindEither and KindOrder; of KindLadder besides numbers and "eliminated"
	Says  string   // what it is, for the table of `terret rules show`
	Fault string   // for a ladder: the name that score sheets give the fault
}

// KeyTable is every key there is. The map is made anew at each call.
func KeyTable() map[string]Key {
	table := map[string]Key{}
	number := func(key, unit, says string) { table[key] = Key{Kind: KindNumber, Units: []string{unit}, Says: says} }
	word := func(key, says string, words ...string) { table[key] = Key{Kind: KindWord, Words: words, Says: says} }
	either := func(key, unit, says string, words ...string) {
		table[key] = Key{Kind: KindEither, Units: []string{unit}, Words: words, Says: says}
	}
	factor := func(key, says string) {
		table[key] = Key{Kind: KindNumber, Units: []string{"penalties per second", "seconds per second"}, Says: says}
	}
	ladder := func(key, says string, words ...string) {
		table[key] = Key{Kind: KindLadder, Units: []string{"penalties each", "seconds each"}, Words: words, Says: says, Fault: key[strings.IndexByte(key, '.')+1:]}
	}
	order := func(key, says string, words ...string) {
		table[key] = Key{Kind: KindOrder, Words: words, Says: says}
	}
	split := func(key, says string) {
		table[key] = Key{Kind: KindSplit, Units: []string{"% of the mark"}, Says: says}
	}

	number("dressage.mark_most", "marks", "the best mark of a movement")
	number("dressage.mark_step", "marks", "marks are given in steps of this")
	word("dressage.missing_mark", "a mark the judge forgot", MeanOfOthers, Refused)
	word("dressage.coefficient", "when the printed coefficient is applied", Always, Above160, Never)
	either("dressage.from", "penalties", "what the marks are taken from", Maximum)
	number("dressage.factor", "times", "what remains is multiplied by this")
	word("dressage.faults", "where errors are taken off", AfterConverts, FromMarks)
	word("dressage.errors_shared", "course errors and people getting down: one list, or each its own", Apart, Shared)
	number("dressage.start_within_s", "s", "time to enter after the bell")
	ladder("dressage.course_error", "error of course")
	ladder("dressage.groom_down", "groom gets down")
	ladder("dressage.driver_down", "driver gets down")
	ladder("dressage.whip", "no whip, too short, dropped or put down")
	ladder("dressage.groom_on_reins", "groom handles reins, whip or brake")
	ladder("dressage.groom_speaks", "groom speaks or signals")
	ladder("dressage.boots", "boots or bandages worn")
	ladder("dressage.incomplete", "dress or vehicle incomplete")
	ladder("dressage.late_entry", "enters too early or too late")
	ladder("dressage.left_arena", "whole turnout leaves the arena")
	ladder("dressage.lame", "lame horse")
	ladder("dressage.overturn", "carriage overturns")
	ladder("dressage.outside_help", "help from outside")

	factor("sections.over_factor", "over the time allowed")
	factor("sections.under_factor", "under the least time")
	word("sections.time_rounding", "how section times are counted", SumThenRound, CommencedSecond)
	either("sections.limit_factor", "times the time allowed", "time limit of a section that does not state its own", AsStated)
	number("sections.minimum_a_less_s", "s", "least time of section A: allowed less this (for whoever sets the times)")
	number("sections.minimum_b_less_s", "s", "least time of section B: allowed less this (for whoever sets the times)")
	number("sections.final_stretch_m", "m", "the last stretch, where stopping and leaving the track cost")
	ladder("sections.final_stretch", "stops, circles or leaves the track in the last stretch")
	ladder("sections.canter", "breaks pace in the last stretch, each 5 s not put right")
	ladder("sections.stopped", "stops without cause, each started 10 s")
	ladder("sections.groom_down", "groom gets down while moving")
	ladder("sections.driver_down", "driver gets down while moving")
	ladder("sections.groom_not_aboard", "groom not aboard at start, finish or turning flag")
	ladder("sections.driver_not_aboard", "driver not aboard at start, finish or turning flag")
	ladder("sections.time_sheet", "time sheet lost")
	ladder("sections.shorts", "shorts worn, each person")
	ladder("sections.late_entry", "a minute late at the start of a section")
	ladder("sections.turning_flag", "turning flag missed and not put right")
	ladder("sections.overturn", "carriage overturns")
	ladder("sections.outside_help", "help from outside")

	word(WhileCorrecting, "gates between an error and its correction", Neutral, Live)
	word(InAgain, "passing In after the start", Free, Error, Eliminated)
	table[CorrectedError] = Key{Kind: KindNumber, Units: []string{"penalties each", "seconds each"}, Says: "error of course that was put right"}
	word(UncorrectedError, "leaving with a gate still owed", Eliminated)
	factor("hazard.seconds_factor", "each second in a hazard")
	word("hazard.time_rounding", "how hazard times are counted", SumThenRound, CommencedSecond, EachThenRound)
	number("hazard.time_limit_s", "s", "time limit of one hazard")
	word("hazard.over_limit", "over the time limit", Eliminated)
	ladder("hazard.dislodged", "dislodgeable piece down")
	ladder("hazard.held_from_falling", "piece kept from falling")
	ladder("hazard.groom_down", "groom gets down")
	ladder("hazard.driver_down", "driver gets down")
	ladder("hazard.not_remounted", "groom not up again at the mark after the hazard")
	ladder("hazard.harness_loose", "trace, pole strap or rein loose, broken or missing")
	ladder("hazard.groom_on_reins", "groom handles reins or whip")
	ladder("hazard.whip", "whip put down or not on the vehicle")
	ladder("hazard.canter", "breaks pace where the pace is given")
	ladder("hazard.overturn", "carriage overturns")
	ladder("hazard.outside_help", "help from outside")
	ladder("hazard.climbed", "groom climbs over horse, shafts or pole, or onto the hazard")
	ladder("hazard.unhitched", "horse taken out and led through")
	ladder("hazard.helmet", "helmet or body protector missing")
	ladder("hazard.under_weight", "vehicle under weight or track width")
	ladder("hazard.wrong_order", "hazards driven in the wrong order")
	number("hazard.gates_most", "gates", "lettered gates")
	number("hazard.gate_width_least_m", "m", "least width of a gate")
	number("hazard.route_most_m", "m", "longest shortest way from In to Out")
	number("hazard.last_to_finish_most_m", "m", "last hazard to the finish, at most")

	ladder("cones.ball", "ball or balls of one obstacle down")
	word("cones.same_gate_again", "a second ball of the same obstacle", Once, EachTime)
	number("cones.rebuilt_s", "s", "added to the time for each obstacle still to come that is rebuilt")
	factor("cones.over_time_factor", "over the time allowed")
	factor("cones.under_time_factor", "under the time allowed")
	word("cones.over_time_rounding", "how time over (and under) is counted", Exact, CommencedSecond)
	word("cones.competition", "what counts: faults, or time with faults as seconds", FaultsCount, TimeCount)
	number("cones.seconds_per_penalty", "s per penalty", "in a competition by time")
	word(ConesTimeRounding, "time allowed brought to whole seconds", RoundUp, RoundNearest, RoundNot)
	number("cones.time_limit_factor", "times the time allowed", "time limit")
	number("cones.allowed_corrected_after", "starters", "a wrong time allowed may be put right until so many have started")
	ladder("cones.refusal", "refusal, run-out, stop or step back")
	ladder("cones.course_error", "wrong course, completely driven")
	ladder("cones.groom_down", "groom gets down")
	ladder("cones.driver_down", "driver gets down")
	ladder("cones.groom_on_reins", "groom handles reins, whip or brake")
	ladder("cones.not_seated", "groom not seated")
	ladder("cones.whip", "no whip, or too short")
	ladder("cones.early_start", "starts before the bell, or tries an obstacle")
	ladder("cones.late_entry", "starts too late after the bell")
	ladder("cones.harness_loose", "harness broken", AsARefusal)
	ladder("cones.canter", "breaks pace where the pace is given")
	ladder("cones.incomplete", "dress or vehicle incomplete")
	ladder("cones.yellow_gate", "drives a gate meant for another class")
	ladder("cones.overturn", "carriage overturns")
	ladder("cones.outside_help", "help from outside")
	ladder("cones.helmet", "helmet missing")
	number("cones.obstacles_most", "obstacles", "obstacles on a course")
	number("cones.length_least_m", "m", "shortest course")
	number("cones.length_most_m", "m", "longest course")
	number("cones.line_least_m", "m", "start line to the first, last to the finish line, at least")
	number("cones.line_most_m", "m", "start line to the first, last to the finish line, at most")
	number("cones.multiples_most", "multiples", "multiples on a course")
	number("cones.multiple_length_most_m", "m", "longest multiple")
	number("cones.parts_most", "parts", "parts of a multiple")
	number("cones.apart_least_m", "m", "between obstacles, singles and pairs")
	number("cones.apart_least_four_m", "m", "between obstacles, fours")
	number("cones.clearance_least_cm", "cm", "gap over the track, at least")
	number("cones.clearance_most_cm", "cm", "gap over the track, at most")
	for _, size := range []string{"pony", "horse"} {
		for _, hitch := range []string{"single", "pair", "tandem", "four"} {
			number("cones.speed_"+hitch+"_"+size, "m/min", "speed, "+hitch+" "+size)
		}
	}
	number("cones.speed_vse", "m/min", "speed, very small equines")

	for _, size := range []string{"pony", "horse"} {
		for _, hitch := range []string{"single", "pair", "tandem", "four"} {
			number("vehicle.track_"+hitch+"_"+size, "cm", "least track in dressage and cones, "+hitch+" "+size)
			number("vehicle.marathon_track_"+hitch+"_"+size, "cm", "least track in the marathon, "+hitch+" "+size)
			number("vehicle.marathon_weight_"+hitch+"_"+size, "kg", "least weight of the empty vehicle in the marathon, "+hitch+" "+size)
		}
	}

	ladder("timed.knocked", "obstacle knocked down")
	ladder("timed.refusal", "disobedience")
	ladder("timed.canter", "breaks pace")
	ladder("timed.groom_down", "groom gets down")
	ladder("timed.driver_down", "driver gets down")
	ladder("timed.groom_on_reins", "anyone but the driver handles reins, whip or brake")
	ladder("timed.overturn", "carriage overturns")
	ladder("timed.course_error", "off course and not put right")
	ladder("timed.outside_help", "help from outside")
	word("timed.two_runs", "a class of two runs counts", RunsSum, RunsBest, RunsLast)
	number("timed.obstacles_most", "obstacles", "obstacles of a timed course")
	number("timed.free_order_gap_cm", "cm", "gap where the driver chooses the way")
	number("timed.fault_and_out_points", "points each", "each obstacle clear, until the first fault")
	number("timed.fault_and_out_extra", "points", "the one obstacle more after the bell, clear")
	number("timed.fault_and_out_obstacles_most", "obstacles", "obstacles of such a course")
	number("timed.fault_and_out_time_s", "s", "time of such a round")
	number("timed.choice_each_most", "times", "each obstacle counts so often where the driver chooses by points")
	word("timed.choice_again", "the same obstacle twice running", Forbidden, Allowed)
	number("timed.choice_time_s", "s", "time of such a round")

	split("judged.working", "working class")
	split("judged.turnout", "turnout class")
	split("judged.reinsmanship", "reinsmanship class")

	word(CountedIn, "everything is counted in", Penalties, Seconds)
	number(Decimals, "places", "places behind the point of a result")
	word(Rounding, "how a result is rounded", HalfUp, HalfEven, Down)
	word(Rounded, "where rounding happens", EachPhase, TheTotal)
	word(MarathonRounded, "sections and hazards", Together, Apart)
	word(EliminatedInPhase, "eliminated in one phase", NotPlaced, Subst)
	number(SubstituteAdded, "over the worst of the class", "the score put in the place of an elimination")
	word("score.watches", "of two watches on one line", WatchOfficial, WatchMean, WatchSlower)
	number("score.watches_apart_s", "s", "two watches further apart than this want a reason")
	number("score.query_window_min", "min", "time for queries after a class is posted")
	order("ties.total", "equal totals", Marathon, Hazards, Cones, Dressage, Shared)
	order("ties.dressage", "equal dressage", Shared)
	order("ties.marathon", "equal marathon", SectionB, TimeCount, Shared)
	order("ties.hazards", "equal hazards", TimeCount, Shared)
	order("ties.cones", "equal cones", TimeCount, Shared)
	order("ties.timed", "equal timed classes", TimeCount, FaultsCount, Shared)
	order("ties.judged", "equal judged classes", Shared)
	word("team.method", "a team's score", BestTotals, BestPerPhase, BestPerHitch)
	number("team.counting", "members", "so many count")
	word("series.points", "points of one day", Places)
	number("series.best", "days", "so many days count besides a final that always does")
	word("series.final", "the final", Counts, LikeOthers)
	order("series.tie", "equal series", FinalFirst, Shared)

	for _, level := range Levels() {
		letters := make([]string, 26)
		for i := range letters {
			letters[i] = string(rune('A' + i))
		}
		word("level."+level+".through", "last letter of the "+level+" level", letters...)
		word("level."+level+".pace", "pace in a hazard at the "+level+" level", "walk", "slow trot", "working trot", "trot", "free")
	}
	return table
}

// Levels are the levels of training that a class may name.
func Levels() []string { return []string{"training", "preliminary", "intermediate", "advanced"} }

// PhaseOf is the phase a key belongs to; "" for what belongs to all.
func PhaseOf(key string) string {
	group, rest, _ := strings.Cut(key, ".")
	if group == "ties" && rest != "total" {
		group = rest
	}
	switch group {
	case "hazard", Hazards:
		return Hazards
	case Marathon:
		return Sections
	case Dressage, Sections, Cones, Timed, Judged:
		return group
	}
	return ""
}

// KeyOf is the key that prices a fault, by the name score sheets give it.
func KeyOf(phase, faultName string) string {
	if phase == Hazards {
		phase = "hazard"
	}
	if phase == Cones && faultName == "knocked" {
		faultName = "ball"
	}
	return phase + "." + faultName
}

// FaultNames lists the faults a profile prices in a phase, by the names score
// sheets give them.
func FaultNames(phase string) []string {
	var names []string
	table := KeyTable()
	for _, k := range slices.Sorted(maps.Keys(table)) {
		if table[k].Kind != KindLadder || PhaseOf(k) != phase {
			continue
		}
		if k == "cones.ball" {
			names = append(names, "knocked")
			continue
		}
		names = append(names, table[k].Fault)
	}
	switch phase {
	case Cones:
		names = append(names, "rebuilt") // seconds, not a price of its own
	case Hazards:
		names = append(names, "course_error")
	}
	return names
}
