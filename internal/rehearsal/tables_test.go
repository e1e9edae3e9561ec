package rehearsal

import (
	"encoding/json"
	"encoding/xml"
	"errors"
	"io"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"strings"
	"testing"

	"soakwarden/sim/rig"
)

// A campaign in two pieces adds up to the whole.
func TestPiecesOfACampaignAddUp(t *testing.T) {
	dir := t.TempDir()
	write := func(name string, c Campaign) *Campaigned {
		o, err := c.Run()
		if err != nil {
			t.Fatal(err)
		}
		data, err := json.Marshal(o)
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(dir, name), data, 0o644); err != nil {
			t.Fatal(err)
		}
		return o
	}
	write("part-a.json", Campaign{Runs: 2, Seed: 4, Probes: TwoProbes, Fault: rig.PadDead})
	write("part-b.json", Campaign{Runs: 3, Seed: 4, Probes: TwoProbes, Fault: rig.PadDead, First: 2})
	whole := write("whole.json", Campaign{Runs: 5, Seed: 4, Probes: TwoProbes, Fault: rig.PadDead})
	sum, err := LoadCampaigned(filepath.Join(dir, "part-*.json"))
	if err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(sum.Faults, whole.Faults) {
		t.Errorf("the pieces give\n%+v\nand the whole\n%+v", sum.Faults, whole.Faults)
	}
	if sum.Runs != 5 || len(sum.Violations) != len(whole.Violations) || strings.Count(sum.Command, "soakwarden campaign") != 2 {
		t.Errorf("%d runs by %q", sum.Runs, sum.Command)
	}
	for name, text := range map[string]string{"cut.json": `{"runs": 3`, "other.json": `{"results": []}`} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		if _, err := LoadCampaigned(filepath.Join(dir, name)); err == nil || !strings.Contains(err.Error(), name) {
			t.Errorf("%s was read: %v", name, err)
		}
	}
	if _, err := LoadCampaigned(filepath.Join(dir, "none-*.json")); err == nil {
		t.Error("a result that is not there was read")
	}
}

// A campaign that is cut short tells of what was run, and with that command the
// same comes out.
func TestCampaignThatIsCutShort(t *testing.T) {
	cut, err := (&Campaign{Runs: 1000, Seed: 4, Probes: TwoProbes, Longest: 1, Workers: 1}).Run()
	if err != nil {
		t.Fatal(err)
	}
	if cut.Runs != 1 || !strings.Contains(cut.Command, "--runs 1 ") {
		t.Fatalf("%d runs by %q", cut.Runs, cut.Command)
	}
	whole, err := (&Campaign{Runs: 1, Seed: 4, Probes: TwoProbes}).Run()
	if err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(cut.Faults, whole.Faults) || cut.TubYears != whole.TubYears {
		t.Error("the same runs gave something else")
	}
}

func row(fault string, probes ProbeSet, acted, found, missed int, times []float64, worst float64) FaultRow {
	r := FaultRow{Fault: fault, Probes: string(probes), Runs: acted, Acted: acted, Found: found, Missed: missed, TimesS: times, WorstOver: &worst}
	for _, s := range times {
		r.ExposedS = append(r.ExposedS, s/2)
	}
	if found > 0 {
		r.By = []FoundBy{{"unasked rise", found}}
	}
	return r
}

func TestTablesSayWhatWasFoundAndWhatWasNot(t *testing.T) {
	ours := &Campaigned{Command: "soakwarden campaign --runs 40", Runs: 40, Faults: []FaultRow{
		row("relay welded", TwoProbes, 20, 19, 1, []float64{90, 100, 200}, 0.25),
		row("relay welded", FloorProbe, 20, 20, 0, []float64{60, 61, 62}, 0.2),
		row("probe frozen", TwoProbes, 4, 0, 4, nil, 1.75),
	}, Violations: []Violation{{Run: 3, Fault: "probe frozen", Probes: "two"}, {Run: 3, Fault: "probe frozen", Probes: "two"}}}
	ours.settle()
	plain := &Campaigned{Command: "soakwarden campaign --runs 40 --plain", Runs: 40, Faults: []FaultRow{
		row("relay welded", TwoProbes, 20, 2, 18, []float64{7300, 9000}, 8.5),
		row("probe frozen", TwoProbes, 4, 0, 4, nil, 5),
	}}
	plain.settle()
	for _, want := range []string{
		"| relay welded | two | 20 | 95 % | 100 s | 3 min | 50 s | 100 s | unasked rise (19) | 0.25 K | 1: a floor probe |",
		"| relay welded | two and floor | 20 | 100 % | 61 s | 62 s | 30 s | 31 s | unasked rise (20) | 0.20 K | — |",
		"| probe frozen | two | 4 | 0 % | — | — | — | — | — | 1.75 K | 4: a floor probe **A judge objects in 1 runs.** |",
		"| probe offset | one | | never | | | | | nothing |", "soakwarden campaign --runs 40",
	} {
		if !strings.Contains(ours.SinglesTable(), want) {
			t.Errorf("nothing of %q in\n%s", want, ours.SinglesTable())
		}
	}
	if want := "| relay welded | 0.25 K | 8.50 K | 95 % in 100 s | 10 % in 2.0 h |"; !strings.Contains(ours.AgainstTable(plain), want) {
		t.Errorf("nothing of %q in\n%s", want, ours.AgainstTable(plain))
	}
	pairs := &Campaigned{Runs: 3, Faults: []FaultRow{row("pad dead + bus hung", OneProbe, 1, 1, 0, nil, 0.1), row("relay welded + series relay welded", TwoProbes, 2, 2, 0, nil, 6)}}
	for _, want := range []string{"| one | 1 | 1 | 0.10 K | 0 |", "| relay welded + series relay welded | two | 6.00 K | content", "both contacts are welded"} {
		if !strings.Contains(pairs.PairsTable(), want) {
			t.Errorf("nothing of %q in\n%s", want, pairs.PairsTable())
		}
	}
	free := &Campaigned{Runs: 2, TubYears: 1, FalseTrips: 1, Outside: []FalseTrip{{Run: 7}}, AlarmsADay: 0.5, LowAtNight: 1, Alarms: []AlarmRate{
		{"no rise", string(OneProbe), 0.4}, {"too cold", string(FloorProbe), 0.2},
	}}
	// A campaign three times as long weighs three times as much.
	free.add(&Campaigned{Runs: 6, TubYears: 3, Alarms: []AlarmRate{{"no rise", string(OneProbe), 0.8}, {"no rise", string(TwoProbes), 1}}})
	for _, want := range []string{
		"| 1 | 1 | 1 of 8 |", "| no rise | 0.700 | 0.750 | 0.000 |", "| too cold | 0.000 | 0.000 | 0.050 |", "| all | 0.70 | 0.75 | 0.05 |",
	} {
		if !strings.Contains(free.FreeTable(), want) {
			t.Errorf("nothing of %q in\n%s", want, free.FreeTable())
		}
	}
	figure(t, ours, plain)
}

// figure holds the drawing to be XML, in greys only, with a mark for each value.
func figure(t *testing.T, ours, plain *Campaigned) {
	t.Helper()
	drawn := string(ours.Figure(plain))
	for d := xml.NewDecoder(strings.NewReader(drawn)); ; {
		_, err := d.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	for _, colour := range regexp.MustCompile(`#[0-9a-f]{6}`).FindAllString(drawn, -1) {
		if colour[1:3] != colour[3:5] || colour[3:5] != colour[5:7] {
			t.Errorf("%s is no grey", colour)
		}
	}
	// Two rows: a disc and a square each for the warmth, a disc for the one time
	// that is known, and one of either in the legend.
	if n := strings.Count(drawn, "<circle"); n != 4 {
		t.Errorf("%d discs", n)
	}
	if n := strings.Count(drawn, `width="9"`); n != 3 {
		t.Errorf("%d squares", n)
	}
	if !strings.Contains(drawn, ">8 K<") {
		t.Error("a value beyond the axis has no number")
	}
}
