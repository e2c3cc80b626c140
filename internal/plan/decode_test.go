package plan

import (
	"os"
	"reflect"
	"strings"
	"testing"
)

// contract is the example of docs/files.md, with the dots filled in.
const contract = `terret: plan/1
name: Lower field
ground: {outline: [[0,0],[60,0],[60,40],[0,40]]}        # closed by itself; drives stay inside
arena: {size: 20x30, at: [15,5], bearing: 0}              # optional dressage arena
things:
  - {id: p1, kind: post, at: [12.0, 9.5], radius: 0.06}
  - {id: t1, kind: tree, at: [30.0, 22.0], radius: 0.4}
  - {id: r1, kind: rail, path: [[20,10],[24,10]], width: 0.12}     # round ends
  - {id: w1, kind: water, outline: [[40,5],[46,5],[46,9],[40,9]], drivable: true}
hazards:
  - name: Hazard 1
    marker_radius: 0.06
    in:  {right: [5,18], left: [5,22]}
    out: {right: [5,22], left: [5,18]}                   # may be the same two posts swapped
    gates:
      - {letter: A, right: [14,10], left: [14,13]}
      - {letter: B, right: [34,10], left: [34,13], for: [VSE]}
courses:
  - name: Cones
    start:  {right: [2,4], left: [2,8]}
    finish: {right: [50,30], left: [50,34]}
    gates:
      - {number: 1, at: [10,6], bearing: 90}
      - {number: 2, part: a, at: [20,20], bearing: -12.3, gap: {fixed_cm: 210}}
      - {number: 2, part: b, at: [26,20], bearing: 33.3}
      - {number: 3, part: a, cone: [22,9], pass: right}
    cone_radius: 0.2
    gap: {clearance_cm: 30}
    speed_m_per_min: {default: 220, pair: 210, vse: 180}
    measure_radius: 5
`

func TestTheContractsExampleIsReadAndRoundTrips(t *testing.T) {
	p, warnings, err := Decode("field.yaml", []byte(contract))
	if err != nil {
		t.Fatal(err)
	}
	if len(warnings) != 0 {
		t.Errorf("warnings: %v", warnings)
	}
	for _, enc := range []func(*Plan) ([]byte, error){Encode, EncodeJSON} {
		text, err := enc(p)
		if err != nil {
			t.Fatal(err)
		}
		again, _, err := Decode("again", text)
		if err != nil || !reflect.DeepEqual(p, again) {
			t.Errorf("%v: %+v\nwant %+v\n%s", err, again, p, text)
		}
	}
	if p.Hazards[0].Gates[1].For[0] != "VSE" || p.Courses[0].Gates[3].Pass != "right" || p.Things[3].Outline[2].X != 46 {
		t.Errorf("read as %+v", p)
	}
}

// The block printed in docs/files.md, with its dots filled in: what people copy
// must be read.
func TestTheBlockInTheDocumentIsRead(t *testing.T) {
	page, err := os.ReadFile("../../docs/files.md")
	if err != nil {
		t.Fatal(err)
	}
	_, rest, _ := strings.Cut(string(page), "```yaml\nterret: plan/1")
	block, _, found := strings.Cut(rest, "```")
	if !found {
		t.Fatal("there is no plan in docs/files.md")
	}
	text := edit("terret: plan/1"+block,
		"start:  {right: [..], left: [..]}", "start:  {right: [2,4], left: [2,8]}",
		"finish: {right: [..], left: [..]}", "finish: {right: [50,30], left: [50,34]}",
		"{number: 5, part: a, at: [..], bearing: ..}", "{number: 2, at: [30,6], bearing: 90}\n      - {number: 3, at: [50,20], bearing: 0}\n      - {number: 4, at: [40,30], bearing: 270}\n      - {number: 5, at: [30,30], bearing: 270}")
	_, warnings, err := Decode("files.md", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	if len(warnings) != 1 || warnings[0].Rule != "arena-outside" { // 40 by 80 m from (5, 5) in 60 by 40 m
		t.Errorf("warnings: %v", warnings)
	}
}
