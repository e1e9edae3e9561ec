package sensors

import (
	"errors"
	"math"
	"strings"
	"testing"
	"time"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
	"soakwarden/sim/num"
)

// realistic are the errors of eight real DS18B20s in one bath against a Pt100,
// as evaluated from a university course's public logs: offset in K, slope in
// K/K, noise in K. Their clones are among them.
var realistic = []struct{ offset, slope, noise float64 }{
	{-0.04, 0, 0.027}, {-0.01, -0.005, 0.029}, {0.01, -0.01, 0.031}, {0.03, -0.03, 0.033},
	{0.20, -0.02, 0.035}, {0.26, 0.005, 0.037}, {0.59, -0.03, 0.039}, {1.10, -0.015, 0.030},
}

// readings are what sensor i reads at a true temperature in °C: its error,
// noise, and whole codes.
func readings(noise *num.Noise, i, n int, celsius float64) []physic.Temperature {
	out := make([]physic.Temperature, n)
	for j := range out {
		s := realistic[i]
		read := celsius + s.offset + s.slope*celsius + s.noise*noise.Gauss()
		out[j] = fromCode(int16(math.Floor(read*16 + 0.5)))
	}
	return out
}

func mean(readings []physic.Temperature, c *Calibration) float64 {
	sum := 0.0
	for _, r := range readings {
		sum += c.Apply(r).Celsius()
	}
	return sum / float64(len(readings))
}

// Eight probes in one bath: uncalibrated they are more than a kelvin apart,
// calibrated less than 0.1 K, and every single corrected reading is within the
// budget's expanded uncertainty in at least 95 of 100 cases, anywhere in the
// range of use.
func TestCalibrationOfEightRealisticProbes(t *testing.T) {
	for _, method := range []struct {
		name string
		at   []float64
		use  []float64 // the range of use, and the bath in its middle
	}{
		{"one point in use", []float64{29.4}, []float64{26, 29.4, 33}},
		{"ice and warm", []float64{0, 40}, []float64{26, 29.4, 33}},
		{"ice and hot, for a heated chamber", []float64{0, 60}, []float64{45, 56, 62}},
		{"one point, for a heated chamber", []float64{56}, []float64{53, 56, 59}},
		{"ice and warm, for a freezer", []float64{0, 40}, []float64{-24, -18, 0}},
	} {
		noise := num.NewNoise(11, 1)
		var raw, fixed []float64
		inside, all := 0, 0
		for i := range realistic {
			var points []Point
			for _, at := range method.at {
				points = append(points, Point{degrees(at), IceUncertainty, readings(noise, i, 60, at)})
			}
			c, budget, err := Fit(points, Plan{From: degrees(method.use[0]), To: degrees(method.use[2])})
			if err != nil {
				t.Fatalf("%s, probe %d: %v", method.name, i, err)
			}
			bath := readings(noise, i, 600, method.use[1])
			raw = append(raw, mean(bath, &Calibration{}))
			fixed = append(fixed, mean(bath, &c))
			for _, at := range method.use {
				for _, r := range readings(noise, i, 200, at) {
					all++
					if off := c.Apply(r) - degrees(at); max(off, -off) <= physic.Temperature(c.Expanded()) {
						inside++
					}
				}
			}
			if c.Expanded() != budget.Expanded() || c.Expanded() < 100*milli || c.Expanded() > 400*milli {
				t.Errorf("%s, probe %d: U = %v", method.name, i, c.Expanded())
			}
		}
		if before, after := spread(raw), spread(fixed); before < 1 || after >= 0.1 {
			t.Errorf("%s: spread %.3f K before, %.3f K after", method.name, before, after)
		}
		if inside*100 < all*95 {
			t.Errorf("%s: %d of %d readings within U", method.name, inside, all)
		}
		t.Logf("%s: spread %.3f K before, %.3f K after, %d of %d readings within U", method.name, spread(raw), spread(fixed), inside, all)
	}
}

func spread(x []float64) float64 {
	low, high := x[0], x[0]
	for _, v := range x {
		low, high = min(low, v), max(high, v)
	}
	return high - low
}

// An ice point alone says little about 29 °C: at 0.03 K/K the budget has to be
// at least 0.9 K/√3 there, and more than a kelvin expanded.
func TestIcePointAloneIsNotEnoughForWarmWater(t *testing.T) {
	noise := num.NewNoise(3, 1)
	p := Point{IcePoint, IceUncertainty, readings(noise, 3, 30, 0)}
	c, budget, err := Fit([]Point{p}, Plan{From: degrees(26), To: degrees(33)})
	if err != nil {
		t.Fatal(err)
	}
	if c.Expanded() < controller.Kelvin {
		t.Errorf("U = %v", c.Expanded())
	}
	last := budget[4]
	if want := 0.03 * 33 / math.Sqrt(3); math.Abs(last.Standard-want) > 0.01 || last.Source != "away from the points" {
		t.Errorf("%+v, want about %.3f", last, want)
	}
}

// JCGM 100 5.1.2 and 6.2.1: root of the sum of squares, times k = 2. Three
// terms of 0.03, 0.04 and 0.12 K make 0.13 K.
func TestBudgetIsRootSumSquare(t *testing.T) {
	b := Budget{{Standard: 0.03}, {Standard: 0.04}, {Standard: 0.12}}
	if math.Abs(b.Combined()-0.13) > 1e-12 || b.Expanded() != 260*milli {
		t.Errorf("%v, %v", b.Combined(), b.Expanded())
	}
	if (Budget{{Standard: 0.0501}}).Expanded() != 101*milli {
		t.Error("not rounded up")
	}
}

// Two exact points must come out exactly, and between them the budget of a line
// is smaller than beyond.
func TestTwoPointsAreTakenExactly(t *testing.T) {
	flat := func(c float64) (r []physic.Temperature) {
		for range FewestReadings {
			r = append(r, degrees(c))
		}
		return r
	}
	points := []Point{{IcePoint, 20 * milli, flat(0.25)}, {degrees(40), 20 * milli, flat(39.5)}}
	c, inner, err := Fit(points, Plan{From: degrees(15), To: degrees(25), Method: "bath"})
	if err != nil {
		t.Fatal(err)
	}
	if c.Apply(degrees(0.25)) != IcePoint || c.Apply(degrees(39.5)) != degrees(40) {
		t.Errorf("%s, %s", c.Apply(degrees(0.25)), c.Apply(degrees(39.5)))
	}
	_, outer, err := Fit(points, Plan{From: degrees(15), To: degrees(60)})
	if err != nil || outer.Expanded() <= inner.Expanded() {
		t.Errorf("%v beyond the points, %v between, %v", outer.Expanded(), inner.Expanded(), err)
	}
	want := "offset = \"-0.250K\"\noffset_at = \"0.000C\"\nsecond_offset = \"+0.500K\"\nsecond_at = \"40.000C\"\n"
	if got := c.TOML(); !strings.HasPrefix(got, want) || !strings.Contains(got, "method = \"bath\"\n") {
		t.Errorf("%s", got)
	}
}

func TestTOMLCarriesTheDates(t *testing.T) {
	c := Offset(-120600*controller.Difference(1000), 123400*controller.Difference(1000))
	c.Corrections[0].At = degrees(-18)
	c.Date = time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC)
	want := "offset = \"-0.121K\"\noffset_at = \"-18.121C\"\nuncertainty = \"0.124K\"\ncalibrated = 2026-03-01\ndue = 2027-03-01\n"
	if got := c.TOML(); got != want {
		t.Errorf("%s", got)
	}
}

func TestFitRefuses(t *testing.T) {
	noise := num.NewNoise(5, 1)
	good := Point{IcePoint, IceUncertainty, readings(noise, 0, 20, 0)}
	warm := Point{degrees(40), IceUncertainty, readings(noise, 0, 20, 40)}
	use := Plan{From: degrees(20), To: degrees(35)}
	moving := Point{IcePoint, IceUncertainty, append(readings(noise, 0, 10, 0), readings(noise, 0, 10, 0.5)...)}
	scattered := Point{IcePoint, IceUncertainty, nil}
	for i := range 20 {
		scattered.Readings = append(scattered.Readings, degrees(float64(i%2)))
	}
	far := good
	far.Reference = degrees(4)
	unsure := good
	unsure.Uncertainty = 0
	near := Point{degrees(3), IceUncertainty, readings(noise, 0, 20, 3)}
	for _, c := range []struct {
		want    string
		points  []Point
		plan    Plan
		replace bool
	}{
		{"0 points", nil, use, false},
		{"3 points", []Point{good, good, good}, use, false},
		{"must rise", []Point{good}, Plan{From: degrees(35), To: degrees(20)}, false},
		{"drift is negative", []Point{good}, Plan{From: degrees(20), To: degrees(35), Drift: -1}, false},
		{"too few", []Point{{IcePoint, IceUncertainty, good.Readings[:9]}}, use, false},
		{"moved by", []Point{moving}, use, false},
		{"scatter", []Point{scattered}, use, false},
		{"no uncertainty", []Point{unsure}, use, false},
		{"apart", []Point{good, near}, use, false},
		{"must rise", []Point{warm, good}, use, false},
		{"more than 3K", []Point{far}, use, true},
	} {
		cal, budget, err := Fit(c.points, c.plan)
		if err == nil || !strings.Contains(err.Error(), c.want) || errors.Is(err, ErrReplace) != c.replace {
			t.Errorf("%v, want %q", err, c.want)
		}
		if cal.Points != 0 || budget != nil {
			t.Errorf("%s: %+v beside an error", c.want, cal)
		}
	}
}

func TestReadColumn(t *testing.T) {
	const two = "time,28-0316a2795cff [C],room (°F)\n2026-03-01T10:00:00Z,0.0625,68\n2026-03-01T10:00:01Z, -0.125,69.8\n"
	for _, c := range []struct {
		name string
		want []float64
	}{{"28-0316A2795CFF", []float64{0.0625, -0.125}}, {"room", []float64{20, 21}}} {
		got, err := ReadColumn(strings.NewReader(two), c.name)
		if err != nil || len(got) != 2 || got[0] != degrees(c.want[0]) || got[1] != degrees(c.want[1]) {
			t.Errorf("%s: %v, %v", c.name, got, err)
		}
	}
	for want, text := range map[string]string{
		"no header":    "",
		"has no unit":  "time,north\n",
		"no column":    "time,a [C],b [C]\n",
		"two columns":  "time,x1 [C],x2 [C]\n",
		"line 3":       "time,x [C]\n2026-03-01T10:00:00Z,1\nyesterday,1\n",
		"line 2":       "time,x [C]\n2026-03-01T10:00:00Z,warm\n",
		"between":      "time,x [C]\n2026-03-01T10:00:00Z,126\n",
		"wrong number": "time,x [C]\n2026-03-01T10:00:00Z\n",
	} {
		if _, err := ReadColumn(strings.NewReader(text), "x"); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %q", text, err, want)
		}
	}
}
