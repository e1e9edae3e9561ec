package rehearsal

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"soakwarden/sim/rig"
)

func campaignJSON(t *testing.T, c Campaign) string {
	t.Helper()
	out, err := c.Run()
	if err != nil {
		t.Fatal(err)
	}
	out.WallSeconds = 0
	b, err := json.Marshal(out)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

func TestAnyNumberOfWorkersFindsTheSame(t *testing.T) {
	one := campaignJSON(t, Campaign{Runs: 8, Seed: 5, Workers: 1})
	four := campaignJSON(t, Campaign{Runs: 8, Seed: 5, Workers: 4})
	if one != four {
		t.Errorf("one worker and four differ:\n%s\n%s", one, four)
	}
}

// The canary: with both relays welded nobody can take the heat away, and a
// judge that did not object would be no judge.
func TestCampaignWithoutProtectionIsFoundViolating(t *testing.T) {
	c := Campaign{Runs: 6, Seed: 3, Unprotected: true, NoFaults: false, Fault: rig.RelayWelded}
	out, err := c.Run()
	if err != nil {
		t.Fatal(err)
	}
	if len(out.Violations) == 0 || !out.Bad() {
		t.Error("no judge objects to two welded relays")
	}
}

func TestFailingRunIsWrittenAsAScenarioThatFails(t *testing.T) {
	c := Campaign{Runs: 8, Seed: 3, Unprotected: true, Fault: rig.RelayWelded, Probes: TwoProbes}
	out, err := c.Run()
	if err != nil {
		t.Fatal(err)
	}
	if len(out.Violations) == 0 {
		t.Fatal("nothing to shrink")
	}
	dir := t.TempDir()
	if err := c.WriteFailing(dir, out.Violations[0]); err != nil {
		t.Fatal(err)
	}
	files, err := filepath.Glob(filepath.Join(dir, "failing-*.toml"))
	if err != nil || len(files) != 2 {
		t.Fatalf("wrote %v, %v", files, err)
	}
	for _, f := range files {
		if strings.HasSuffix(f, "-config.toml") {
			continue
		}
		s, err := LoadScenario(f)
		if err != nil {
			text, _ := os.ReadFile(f)
			t.Fatalf("%v\n%s", err, text)
		}
		again, err := s.Run(Options{})
		if err != nil {
			t.Fatal(err)
		}
		if again.Held() {
			t.Error("the written scenario keeps every promise")
		}
	}
}

func TestSettingsOfACampaignAreChecked(t *testing.T) {
	for _, c := range []Campaign{
		{Runs: 0}, {Runs: 1, Probes: "three"}, {Runs: 1, Fault: "pad on fire"},
		{Runs: 1, NoFaults: true, Pairs: true}, {Runs: 1, NoFaults: true, Fault: rig.PadDead},
	} {
		if err := c.Check(); err == nil {
			t.Errorf("%+v was taken", c)
		}
	}
}

// Drawn tubs lie in the envelope that the promises speak of.
func TestDrawnTubsLieInTheEnvelope(t *testing.T) {
	for seed := range uint64(60) {
		d, err := drawTub(seed, FloorProbe)
		if err != nil {
			t.Fatal(err)
		}
		tub := d.Config.Stations[0].Tub
		if tub.Depth < envelopeDepthLow || tub.Depth > envelopeDepthHigh {
			t.Errorf("seed %d: depth %g m", seed, tub.Depth)
		}
		if perLitre := tub.PadPower / (1000 * tub.Volume()); perLitre > envelopeWattsL {
			t.Errorf("seed %d: %.2f W a litre", seed, perLitre)
		}
	}
}
