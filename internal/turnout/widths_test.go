package turnout

import (
	"strings"
	"testing"

	"terret/internal/rules"
)

// TestMinimumsAreTheRulebooks against the published tables: Luxembourg rules of
// 2000, article 904 (FEI-style) and the Dutch rules, article 440 (track in
// dressage and cones, marathon track, marathon weight; cm, kg).
func TestMinimumsAreTheRulebooks(t *testing.T) {
	for _, row := range []struct {
		profile, hitch, size string
		track, marathon, kg  float64
	}{
		{"", Single, Pony, 138, 125, 90}, {"", PairH, Pony, 138, 125, 225}, {"", Tandem, Pony, 138, 125, 90}, {"", Four, Pony, 138, 125, 300},
		{"", Single, HorseSize, 138, 125, 150}, {"", PairH, HorseSize, 148, 125, 350}, {"", Tandem, HorseSize, 148, 125, 150}, {"", Four, HorseSize, 158, 125, 600},
		{"three-phase-dutch", PairH, Pony, 125, 125, 175}, {"three-phase-dutch", Four, HorseSize, 125, 125, 600}, {"three-phase-dutch", Single, Pony, 125, 125, 90},
		{"three-phase-2000", PairH, Pony, 138, 120, 225}, {"three-phase-2000", Four, Pony, 138, 120, 300}, {"three-phase-2000", Four, HorseSize, 158, 125, 600},
		{"clinic", Single, HorseSize, 138, 125, 150},
	} {
		p, err := rules.Load(row.profile)
		if err != nil {
			t.Fatal(err)
		}
		m, ok := minimumOf(p, row.hitch, row.size)
		if !ok || m.track.value != row.track || m.marathonTrack.value != row.marathon || m.marathonWeight.value != row.kg {
			t.Errorf("%s, %s %s: %+v", p.Name, row.hitch, row.size, m)
		}
		if m.track.source == "" || !strings.Contains(m.track.source, p.Name) {
			t.Errorf("%s, %s %s has no source: %q", p.Name, row.hitch, row.size, m.track.source)
		}
	}
	if _, ok := minimumOf(nil, Single, VSE); ok {
		t.Error("a least width for very small equines came from nowhere")
	}
	m, _ := minimumOf(nil, PairH, Pony)
	if m.track.others != "three-phase-dutch 125" || m.marathonTrack.others != "three-phase-2000 120" || m.marathonWeight.others != "three-phase-dutch 175" {
		t.Errorf("where profiles differ: %+v", m)
	}
}
