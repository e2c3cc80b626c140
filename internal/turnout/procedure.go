package turnout

import (
	"fmt"
	"slices"
	"strings"

	"terret/internal/fault"
)

// Step is one step of putting to or taking out.
type Step struct {
	Key  string `json:"key"` // stable name, such as "traces"
	Text string `json:"text"`
}

// The joints between horse and vehicle, whose order schools set for themselves.
const (
	Tugs       = "tugs"       // shafts through the tugs
	Traces     = "traces"     //
	Holdbacks  = "holdbacks"  // breeching
	Bellyband  = "bellyband"  //
	PoleStraps = "polestraps" //
)

// Fixed steps, whose places no school may change: bridle and reins on before the
// vehicle comes and off after it is away; the driver first in and last out, reins
// in hand; somebody at the head until the driver has the reins.
const (
	AtHead      = "head"
	BridleOn    = "bridle on"
	VehicleUp   = "vehicle up"
	LeadersOn   = "leaders on"
	DriverIn    = "driver in"
	OthersIn    = "others in"
	HeadLeft    = "head left"
	OthersOut   = "others out"
	DriverOut   = "driver out"
	LeadersOff  = "leaders off"
	VehicleAway = "vehicle away"
	BridleOff   = "bridle off"
)

// Joints are the joints of a hitch in the order taken where no school has said:
// traces first on and last off by one school, the others are common practice.
func (t *Turnout) Joints() []string {
	if t.Abreast() {
		return []string{PoleStraps, Traces}
	}
	return []string{Tugs, Traces, Holdbacks, Bellyband}
}

func jointText(key string, on bool) string {
	if on {
		return map[string]string{
			Tugs: "Shafts into the tugs, both sides, against the tug stops.", Traces: "Traces on, both sides, equal, not twisted.",
			Holdbacks: "Holdbacks (breeching straps) through the footman's loops, wrapped, both sides alike.", Bellyband: "Bellyband done up.",
			PoleStraps: "Pole straps on, loose enough to hook the traces, then even, with no slap.",
		}[key]
	}
	return map[string]string{
		Tugs: "Shafts out of the tugs, held up clear.", Traces: "Traces off, both sides, and tied up.", Holdbacks: "Holdbacks off, both sides.",
		Bellyband: "Bellyband undone.", PoleStraps: "Pole straps off.",
	}[key]
}

// PuttingTo and TakingOut are the two halves of one order: joints is the
// school's, all of Joints once each, or nil for the usual one. Taking out undoes
// them in reverse. The error is a fault when joints are not those of this hitch.
func (t *Turnout) PuttingTo(joints []string) ([]Step, error) {
	joints, err := t.order(joints)
	if err != nil {
		return nil, err
	}
	animals := "horse stands"
	if t.horses() > 1 {
		animals = "horses stand"
	}
	steps := []Step{
		{AtHead, "Level ground. Somebody is at the head, and stays there until the driver has the reins" + map[bool]string{true: "; one person for each head is better.", false: "."}[t.horses() > 1]},
		{BridleOn, "Bridle and reins are on, and looked at, before the vehicle comes near; the whole harness is on and the " + animals + "."},
		{VehicleUp, "Bring the vehicle up from behind, quietly and straight; nobody is in it, nobody between a wheel and the horse."},
	}
	for _, j := range joints {
		steps = append(steps, Step{j, jointText(j, true)})
	}
	if t.HasLeaders() {
		steps = append(steps, Step{LeadersOn, "Now the leaders, each with somebody at the head: reins first, then their traces."})
	}
	return append(steps,
		Step{DriverIn, "The driver takes the reins, gets in first, sits, takes the whip."},
		Step{OthersIn, "Then the groom and passengers, one by one."},
		Step{HeadLeft, "The head is left only when the driver says so; step aside, not in front."},
	), nil
}

// TakingOut undoes PuttingTo.
func (t *Turnout) TakingOut(joints []string) ([]Step, error) {
	joints, err := t.order(joints)
	if err != nil {
		return nil, err
	}
	steps := []Step{
		{AtHead, "Stand on level ground. Somebody comes to the head, or the groom gets down and goes there; the driver keeps reins and seat."},
		{OthersOut, "Passengers get down."},
		{DriverOut, "The driver gets down last, reins in hand, and keeps them."},
	}
	if t.HasLeaders() {
		steps = append(steps, Step{LeadersOff, "The leaders first: traces off, and away from the pole or shafts, each with somebody at the head; then their reins."})
	}
	for _, j := range slices.Backward(joints) {
		steps = append(steps, Step{j, jointText(j, false)})
	}
	return append(steps,
		Step{VehicleAway, "Draw the vehicle away from the horse, or lead the horse straight out of it with the bridle on."},
		Step{BridleOff, "Only now, with the vehicle away, reins and bridle come off and the halter goes on."},
	), nil
}

func (t *Turnout) order(joints []string) ([]string, error) {
	want := t.Joints()
	if joints == nil {
		return want, nil
	}
	got := make([]string, len(joints))
	for i, j := range joints {
		got[i] = strings.ToLower(strings.ReplaceAll(strings.TrimSpace(j), " ", ""))
	}
	a, b := slices.Clone(got), slices.Clone(want)
	slices.Sort(a)
	slices.Sort(b)
	if !slices.Equal(a, b) {
		return nil, &fault.Fault{Code: fault.Usage, Rule: "order", Place: "order", Message: fmt.Sprintf("%q are not the joints of a %s", strings.Join(joints, ","), t.Hitch), Hint: "each of " + strings.Join(want, ", ") + " once, in your school's order; bridle, vehicle and people keep their places"}
	}
	return got, nil
}
