package rehearsal

import (
	"fmt"
	"math"
	"strings"
	"time"

	"soakwarden/internal/config"
	"soakwarden/sim"
	"soakwarden/sim/num"
	"soakwarden/sim/rig"
)

// ProbeSet says which probes the tubs of a campaign have.
type ProbeSet string

// The sets of probes.
const (
	OneProbe   ProbeSet = "one"   // in the water; attended only
	TwoProbes  ProbeSet = "two"   // in the water
	FloorProbe ProbeSet = "floor" // two in the water, one on the floor over the pad
)

// The promised envelope: what campaigns draw from.
const (
	envelopeDepthLow  = 0.010 // m
	envelopeDepthHigh = 0.150
	envelopeWattsL    = 3.5  // W of pad a litre, at most
	envelopeCoast     = 0.35 // K, gain times coast, at most
	envelopeDutyLow   = 0.1  // share of the time that the pad needs to hold
	envelopeDutyHigh  = 0.8
	longestDraw       = 500 // tries until a tub lies in the envelope
)

// Drawn is one tub of a campaign: what the program is told, as the text of a
// configuration, and how the real one differs.
type Drawn struct {
	Text      string // a configuration
	Config    *config.Config
	Room      rig.Room
	PadShare  float64 // real over nominal
	DepthTo   float64
	Contact   float64 // W/m²K between pad and floor
	Lag       [3]time.Duration
	Noise     [3]float64
	Walk      [3]float64
	WalkTime  time.Duration
	Error     [3]float64 // K, what calibration left
	Nuisances rig.Nuisances
}

// drawTub draws a tub inside the envelope, the same for the same seed.
func drawTub(seed uint64, probes ProbeSet) (*Drawn, error) {
	if probes != OneProbe && probes != TwoProbes && probes != FloorProbe {
		return nil, fmt.Errorf("no set of probes %q: write one, two or floor", probes)
	}
	noise := num.NewNoise(seed, 0xD2A3)
	for range longestDraw {
		d, ok := tryTub(noise, probes)
		if !ok {
			continue
		}
		cfg, problems := config.Parse(fmt.Sprintf("drawn-%d.toml", seed), []byte(d.Text))
		if cfg == nil {
			return nil, fmt.Errorf("seed %d: the drawn configuration is refused: %+v", seed, problems)
		}
		d.Config = cfg
		return d, nil
	}
	return nil, fmt.Errorf("seed %d: no tub of the envelope in %d tries", seed, longestDraw)
}

// logBetween draws log-uniformly.
func logBetween(n *num.Noise, low, high float64) float64 {
	return num.Exp(n.Between(num.Log(low), num.Log(high)))
}

// tryTub draws one tub and says whether it lies in the envelope. Lengths are
// whole millimetres and powers whole watts, as a keeper measures them.
func tryTub(n *num.Noise, probes ProbeSet) (*Drawn, bool) {
	mm := func(m float64) float64 { return math.Floor(float64(m*1000)+0.5) / 1000 }
	depth := mm(logBetween(n, envelopeDepthLow, envelopeDepthHigh))
	volume := logBetween(n, 0.003, 0.025)
	area := volume / depth
	ratio := n.Between(1, 1.8)
	width := mm(math.Sqrt(area / ratio))
	length := mm(float64(width * ratio))
	watts := math.Floor(logBetween(n, 5, 85) + 0.5)
	lid := n.Uniform() < 0.7
	roomMean := math.Floor(float64(n.Between(12, 26)*10)) / 10
	d := &Drawn{
		Room:     rig.Room{Mean: roomMean, Swing: math.Floor(float64(n.Between(0.5, 3)*10)) / 10},
		PadShare: n.Between(0.9, 1.1), DepthTo: n.Between(0.9, 1.1), Contact: n.Between(40, 120),
		WalkTime: time.Duration(n.Between(60, 400)) * time.Second,
	}
	for i := range d.Lag {
		d.Lag[i] = time.Duration(n.Between(8, 30)) * time.Second
		d.Noise[i], d.Walk[i], d.Error[i] = n.Between(0.02, 0.05), n.Between(0.01, 0.04), n.Between(-0.1, 0.1)
	}
	floor := float64(length * width)
	padSide := math.Sqrt(min(0.9*floor, max(watts/400, 0.4*floor)) / floor)
	padLength, padWidth := mm(float64(length*padSide)), mm(float64(width*padSide))
	litres := 1000 * float64(floor*depth)
	flux := watts / float64(padLength*padWidth)
	if width < 0.15 || length > 1.4 || litres < 2.5 || watts > float64(envelopeWattsL*litres) || flux > 400 ||
		roomMean+d.Room.Swing > 28 {
		return nil, false
	}
	spec := sim.TubSpec{
		Length: length, Width: width, Depth: depth, Height: depth + 0.1, PadPower: watts,
		PadArea: float64(padLength * padWidth), Lid: lid,
	}
	gain := watts / float64(litres*4180)
	hold, coast, ok := holding(spec, roomMean)
	if !ok || hold < float64(envelopeDutyLow*watts) || hold > float64(envelopeDutyHigh*watts) || float64(gain*coast) > envelopeCoast {
		return nil, false
	}
	d.Text = drawnText(spec, padLength, padWidth, probes, d.Room)
	d.Nuisances = rig.Busy
	return d, true
}

// holding is the power that holds 29.4 °C in a room, and the coast in seconds.
func holding(spec sim.TubSpec, room float64) (watts, coast float64, ok bool) {
	still := sim.Drive{Room: room}
	watts, _, err := sim.HoldPower(spec, 29.4, still)
	if err != nil {
		return 0, 0, false
	}
	lag, err := sim.Lags(spec, 29.4, still)
	if err != nil {
		return 0, 0, false
	}
	return watts, lag.Coast, true
}

// drawnText writes the configuration that the program is given.
func drawnText(spec sim.TubSpec, padLength, padWidth float64, probes ProbeSet, room rig.Room) string {
	var b strings.Builder
	line := func(format string, args ...any) { fmt.Fprintf(&b, format+"\n", args...) }
	millimetres := func(m float64) string { return fmt.Sprintf("%.0fmm", m*1000) }
	line("# Drawn by a campaign. Invented.")
	line("name = \"drawn\"\ninvented = true\nstate = \"/var/lib/soakwarden\"\n")
	line("[journal]\npath = \"/var/lib/soakwarden/journal.db\"\n")
	line("[page]\nlisten = \"127.0.0.1:8460\"\n")
	line("[[bus]]\nname = \"bus\"\nkind = \"simulated\"\n")
	line("[[relay]]\nname = \"pad\"\npin = \"GPIO5\"\non_when = \"low\"\n")
	line("[[relay]]\nname = \"series\"\npin = \"GPIO6\"\non_when = \"low\"\n")
	line("[[station]]\nname = \"tub\"\nkind = \"tub\"\nspecies = \"python\"")
	line("set_point = \"29.4C\"\ndifferential = \"0.28K\"\ntoo_cold = \"26.7C\"\ncutoff = \"31.7C\"")
	line("pad_relay = \"pad\"\nseries_relay = \"series\"\ncutout = \"35C\"")
	line("room_coldest = \"%.1fC\"\nroom_warmest = \"%.1fC\"", room.Mean-room.Swing-5, room.Mean+room.Swing)
	if probes == OneProbe {
		line("attended_only = true")
	}
	line("\n  [station.tub]\n  length = %q\n  width = %q\n  depth = %q\n  height = %q\n  lid = %t\n  pad = \"%.0fW\"\n  pad_length = %q\n  pad_width = %q",
		millimetres(spec.Length), millimetres(spec.Width), millimetres(spec.Depth), millimetres(spec.Height), spec.Lid, spec.PadPower,
		millimetres(padLength), millimetres(padWidth))
	roles := []string{"control", "guard", "floor"}[:map[ProbeSet]int{OneProbe: 1, TwoProbes: 2, FloorProbe: 3}[probes]]
	for i, role := range roles {
		line("\n  [[station.probe]]\n  role = %q\n  bus = \"bus\"\n  rom = \"28-0000a1f0000%d\"", role, i+1)
		switch role {
		case "control":
			line("  height = %q", millimetres(spec.Depth*0.3))
		case "guard":
			line("  height = %q", millimetres(spec.Depth*0.7))
		}
		line("  offset = \"0K\"\n  uncertainty = \"0.2K\"\n  calibrated = 2025-09-01\n  method = \"ice point\"\n  due = 2027-09-01")
	}
	return b.String()
}

// Scenario makes the drawn tub's scenario, without faults or events.
func (d *Drawn) Scenario(name string, seed uint64, duration time.Duration) *Scenario {
	return &Scenario{
		Name: name, Config: d.Config, Duration: duration, Seed: seed,
		Room: fromCelsius(d.Room.Mean), RoomSwing: kelvins(d.Room.Swing),
	}
}

// Wire makes the bench the real one: off the nominal values.
func (d *Drawn) Wire(w *rig.Wiring) {
	w.Nuisances = d.Nuisances
	s := &w.Stations[0]
	nominal := &d.Config.Stations[0].Tub
	spec := *s.Tub
	spec.PadPower = float64(nominal.PadPower * d.PadShare)
	spec.Depth = min(max(float64(nominal.Depth*d.DepthTo), envelopeDepthLow), envelopeDepthHigh)
	spec.PadContact = d.Contact
	s.Tub = &spec
	// The keeper fills with water from a warm tap.
	s.Start.Water = celsius(d.Config.Stations[0].SetPoint) - 1
	for i := range s.Probes {
		p := &s.Probes[i].Spec
		p.TimeConstant, p.Noise, p.Local, p.LocalTime, p.Offset = d.Lag[i], d.Noise[i], d.Walk[i], d.WalkTime, d.Error[i]
	}
}
