package sim

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"
)

// referenceSpec is the tub of testdata/reference/tub_reference.py.
var referenceSpec = TubSpec{Length: 0.40, Width: 0.28, Depth: 0.06, PadPower: 20, Lid: true}

// input is one row of tub_inputs.csv.
type input struct {
	at    int
	drive Drive
	event string
	a, b  float64
}

func readCSV(t testing.TB, name string) [][]string {
	t.Helper()
	f, err := os.Open("../testdata/reference/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	return rows[1:]
}

func number(t testing.TB, s string) float64 {
	t.Helper()
	if s == "" {
		return 0
	}
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func readInputs(t testing.TB) []input {
	var in []input
	for _, r := range readCSV(t, "tub_inputs.csv") {
		v := make([]float64, len(r))
		for i, s := range r {
			if i != 9 {
				v[i] = number(t, s)
			}
		}
		in = append(in, input{at: int(v[0]), event: r[9], a: v[10], b: v[11], drive: Drive{
			Pad: v[1], Room: v[2], Sun: v[3], LidOff: v[4] == 1, Draught: v[5], Stir: v[6], Leak: v[7], Film: v[8]}})
	}
	return in
}

// replay runs the reference's inputs through a tub and hands every state at a
// whole second to see, 0 excepted.
func replay(tub *Tub, in []input, end int, see func(s int, tub *Tub)) {
	steps := int(math.Round(1 / tub.step))
	next := 0
	var d Drive
	for s := range end {
		for next < len(in) && in[next].at == s {
			d = in[next].drive
			switch in[next].event {
			case "animal":
				tub.PutAnimal(in[next].a, 0.4, in[next].b)
			case "change":
				tub.ChangeWater(in[next].a, in[next].b)
			}
			next++
		}
		for range steps {
			tub.Step(d)
		}
		see(s+1, tub)
	}
}

// worst returns the largest difference between the tub and the reference over
// the nodes, K, with the second and the node it is at.
func worst(t testing.TB, hours int, step float64, tight float64, longest int) (size float64, at, node int, water float64) {
	tub, err := newTub(referenceSpec, Start{Water: 29.4, Room: 21}, step)
	if err != nil {
		t.Fatal(err)
	}
	if tight > 0 {
		tub.tight, tub.longest = tight, longest
	}
	golden := readCSV(t, "tub_reference.csv")
	row := 0
	replay(tub, readInputs(t), hours*3600, func(s int, tub *Tub) {
		if row == len(golden) || golden[row][0] != strconv.Itoa(s) {
			return
		}
		for i := range nodes {
			if d := math.Abs(tub.t[i] - number(t, golden[row][1+i])); d > size {
				size, at, node = d, s, i
			}
		}
		water = math.Abs(tub.Balance().Water - number(t, golden[row][1+nodes]))
		row++
	})
	if row < 12*hours || (hours == 48 && row != len(golden)) {
		t.Fatalf("compared %d of %d rows", row, len(golden))
	}
	return size, at, node, water
}

// Source: testdata/reference/tub_reference.py, the same network integrated by
// scipy's Radau with nothing made linear; 48 h of switching, open lids, draught,
// sun, stirring, a leak, an animal in and out, a water change.
func TestTubAgainstTheReferenceIntegrator(t *testing.T) {
	size, at, node, water := worst(t, 48, 1, 0, 0)
	t.Logf("largest difference %.3f mK in node %d at %d s; water %.3f mg", size*1e3, node, at, water*1e6)
	if size > 1e-3 {
		t.Errorf("largest difference %.3f mK in node %d at %d s, want at most 1 mK", size*1e3, node, at)
	}
	if water > 3e-6 {
		t.Errorf("water differs by %g kg, want at most 3 mg", water)
	}
}

// The order of the step, linear pieces made afresh each step: halving the step
// of a second-order method leaves a quarter of the error. Source: as above, with
// the same inputs; the smallest steps reach the reference's own tolerance, so the
// first two halvings are looked at.
func TestHalvingTheStepQuartersTheError(t *testing.T) {
	var size [3]float64
	for i, step := range []float64{1, 0.5, 0.25} {
		size[i], _, _, _ = worst(t, 12, step, 1e-9, 1)
	}
	t.Logf("largest difference at 1, 1/2, 1/4 s: %.4f, %.4f, %.4f mK", size[0]*1e3, size[1]*1e3, size[2]*1e3)
	for i := range 2 {
		if ratio := size[i] / size[i+1]; ratio < 2.8 || ratio > 5.5 {
			t.Errorf("halving the step divides the error by %.2f, want about 4", ratio)
		}
	}
}
