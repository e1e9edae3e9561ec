package treatment

import (
	"math"
	"testing"
	"time"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
)

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: %.9g, want %.9g within %g", what, got, want, tolerance)
	}
}

func TestPowerOfTenAgainstTheLibrary(t *testing.T) {
	for x := -300.0; x <= 300; x += 0.0371 {
		want := math.Pow(10, x)
		if got := powerOfTen(x); math.Abs(got-want) > 4e-15*want {
			t.Fatalf("10^%g = %g, want %g", x, got, want)
		}
	}
	for x, want := range map[float64]float64{0: 1, 1: 10, -1: 0.1, 301: math.Inf(1), -301: 0} {
		if got := powerOfTen(x); got != want && math.Abs(got-want) > 1e-15*want {
			t.Errorf("10^%g = %g, want %g", x, got, want)
		}
	}
	if !math.IsNaN(powerOfTen(math.NaN())) {
		t.Error("10^NaN is a number")
	}
}

// FAO's example of canned fish, readings every 5 min, 60 min at 121.1 °C: the
// sum of the lethal rates is 2.925, so F0 = 14.625 min (printed 14.6). Heating
// part: (0 + 0.776)/2 + 1.342 = 1.730, so 8.65 min (printed 8.6). Of the column
// of rates only these sums could be read; the trapezoid rule is linear, so any
// column with these sums gives the same.
// Source: FAO text in agroindustriindonesia.blogspot.com/2011/02/trapezoidal-integration.
func TestLethalityOfTheFAOTable(t *testing.T) {
	sum := func(rates []float64) (f float64) {
		for i := 1; i < len(rates); i++ {
			f += Trapezoid(rates[i-1], rates[i], 5*time.Minute)
		}
		return f
	}
	whole := []float64{0}
	for range 13 {
		whole = append(whole, 2.925/13)
	}
	near(t, "F0", sum(append(whole, 0)), 14.625, 1e-6)
	heating := []float64{0}
	for range 6 {
		heating = append(heating, 1.342/6)
	}
	near(t, "heating part", sum(append(heating, 0.776)), 8.65, 1e-6)
}

// F0 at its own reference and 10 K below, by the definition of z: L = 10^((T−Tr)/z),
// Tr = 121.1 °C, z = 10 K (dairyscience.info, technology/276).
func TestRateByDefinition(t *testing.T) {
	c := Constants{Reference: physic.ZeroCelsius + 121_100*physic.MilliKelvin, Below: 10 * controller.Kelvin, Above: 10 * controller.Kelvin}
	near(t, "at the reference", c.Rate(c.Reference), 1, 0)
	near(t, "10 K below", c.Rate(c.Reference-10*physic.Kelvin), 0.1, 1e-15)
	near(t, "10 K above", c.Rate(c.Reference+10*physic.Kelvin), 10, 1e-13)
	// 5 min at 60 °C are worth 0.5 min at 67 °C with z = 7 K (pasteurisation
	// units, Del Vecchio 1951: t·10^((T−60)/7)).
	pu := Constants{Reference: celsius(60), Below: 7 * controller.Kelvin, Above: 7 * controller.Kelvin}
	near(t, "pasteurisation units", pu.Add(celsius(67), celsius(67), 30*time.Second), pu.Add(celsius(60), celsius(60), 5*time.Minute), 1e-12)
	// LTime99 of bed bug eggs, 71.5 min at 48 °C (Kells and Goblirsch 2011),
	// scaled with z = 4 K: 0.715 min at 56 °C.
	near(t, "scaled", Usual().Rate(celsius(48))*71.5, 0.715, 1e-12)
	none := Constants{Reference: celsius(56)}
	if none.Rate(celsius(60)) != 0 || none.Rate(celsius(50)) != 0 {
		t.Error("a side without a z is credited")
	}
}

// Usual credits with the small z below the reference and with the large one
// above: both err on the safe side against either z alone.
func TestUsualIsConservativeOnBothSides(t *testing.T) {
	u := Usual()
	for milli := int64(20_000); milli < 70_000; milli += 250 {
		at := physic.ZeroCelsius + physic.Temperature(milli)*physic.MilliKelvin
		for _, z := range []controller.Difference{u.Below, u.Above} {
			if one := (Constants{Reference: u.Reference, Below: z, Above: z}); u.Rate(at) > one.Rate(at) {
				t.Fatalf("at %d m°C it credits %g, z = %d alone %g", milli, u.Rate(at), z, one.Rate(at))
			}
		}
	}
}

// ramp is F of a line from t1 to t2 at r K/min: z/(r·ln 10)·(10^((t2−Tr)/z) −
// 10^((t1−Tr)/z)), by calculus.
func ramp(t1, t2, r, z float64) float64 {
	const tr = 56
	return z / (r * math.Ln10) * (math.Pow(10, (t2-tr)/z) - math.Pow(10, (t1-tr)/z))
}

// integrate runs a curve in °C over minutes through a Judge, a reading each
// tenth of a second.
func integrate(t *testing.T, z controller.Difference, minutes float64, curve func(minute float64) float64) float64 {
	t.Helper()
	s := Schedule{Target: celsius(90), Hold: time.Hour}
	j := judge(t, Rules{
		Schedule: s, Probes: []Probe{{Name: "p"}}, Required: 1, LongestGap: time.Minute,
		Lethality: Constants{Reference: celsius(56), Below: z, Above: z},
	})
	for n := 0; n <= int(minutes*600); n++ {
		v := physic.ZeroCelsius + physic.Temperature(math.Round(curve(float64(n)/600)*1e9))
		at := time.Duration(n) * 100 * time.Millisecond
		j.Take(at, []Reading{{At: at, Value: v, Good: true}})
	}
	return j.Probes[0].Lethality
}

// Lines, a plateau between two lines and an exponential approach, against
// calculus to 1e-6 min.
func TestLethalityOfRamps(t *testing.T) {
	for _, z := range []int64{4, 7, 10} {
		zf, zd := float64(z), controller.Difference(z)*controller.Kelvin
		printed := map[int64][4]float64{4: {1.7372, 3.4744, 33.4744, 200.19}, 7: {3.0400, 6.0801, 36.0801, 119.99}, 10: {4.3419, 8.6837, 38.6837, 102.81}}[z]

		up := integrate(t, zd, 36, func(m float64) float64 { return 20 + m })
		near(t, "1 K/min", up, ramp(20, 56, 1, zf), 1e-6)
		near(t, "1 K/min, printed", up, printed[0], 5e-5)

		slow := integrate(t, zd, 72, func(m float64) float64 { return 20 + m/2 })
		near(t, "0.5 K/min", slow, ramp(20, 56, 0.5, zf), 1e-6)
		near(t, "0.5 K/min, printed", slow, printed[1], 5e-5)

		whole := integrate(t, zd, 102, func(m float64) float64 { return min(20+m, 56, 20+102-m) })
		near(t, "up, 30 min, down", whole, 30+2*ramp(20, 56, 1, zf), 1e-6)
		near(t, "up, 30 min, down, printed", whole, printed[2], 5e-5)

		curve := func(m float64) float64 { return 60 - 40*math.Exp(-m/30) }
		got := integrate(t, zd, 120, curve)
		// Simpson's rule on a step of a hundredth of a minute is right to 1e-12 here.
		want, h := 0.0, 0.01
		for k := range 12000 {
			f := func(m float64) float64 { return math.Pow(10, (curve(m)-56)/zf) }
			a := float64(k) * h
			want += h / 6 * (f(a) + 4*f(a+h/2) + f(a+h))
		}
		near(t, "exponential", got, want, 1e-6*want)
		near(t, "exponential, printed", got, printed[3], 6e-3)
	}
}
