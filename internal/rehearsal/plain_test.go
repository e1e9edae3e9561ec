package rehearsal

import (
	"testing"

	"soakwarden/controller"
	"soakwarden/sensors"
	"soakwarden/sim/rig"
)

func TestPlainLimitTakesWhatHasARightChecksum(t *testing.T) {
	cycle := func(fault sensors.Fault, raw [9]byte, flaw controller.Flaw) *sensors.Cycle {
		return &sensors.Cycle{Fault: fault, Samples: []sensors.Sample{{Raw: raw, Reading: controller.Reading{Flaw: flaw}}}}
	}
	warm := [9]byte{0xD8, 0x01, 0x4B, 0x46, 0x7F, 0xFF, 0x0C, 0x10}    // +29.5 °C
	powerOn := [9]byte{0x50, 0x05, 0x4B, 0x46, 0x7F, 0xFF, 0x0C, 0x10} // +85 °C, data sheet DS18B20, table 1
	cold := [9]byte{0x5E, 0xFF, 0x4B, 0x46, 0x7F, 0xFF, 0x0C, 0x10}    // −10.125 °C, the same table
	for _, c := range []struct {
		name  string
		cycle *sensors.Cycle
		value float64
		ok    bool
	}{
		{"a good one", cycle(sensors.NoFault, warm, controller.NoFlaw), 29.5, true},
		{"below zero", cycle(sensors.NoFault, cold, controller.NoFlaw), -10.125, true},
		{"power-on", cycle(sensors.NoFault, powerOn, controller.PowerOnValue), 85, true},
		{"a shorted bus", cycle(sensors.BusShorted, [9]byte{}, controller.Shorted), 0, true},
		{"a shorted probe", cycle(sensors.NoFault, [9]byte{}, controller.Shorted), 0, true},
		{"a hung bus", cycle(sensors.BusHung, [9]byte{}, controller.Absent), 0, false},
		{"nobody", cycle(sensors.NoFault, [9]byte{}, controller.Absent), 0, false},
		{"wrong bits", cycle(sensors.NoFault, warm, controller.BadCRC), 0, false},
	} {
		if value, ok := plainReading(c.cycle); value != c.value || ok != c.ok {
			t.Errorf("%s: %g, %v", c.name, value, ok)
		}
	}
}

// The comparison is worth something only when the plain limit does its own job:
// it holds tubs without a fault, and notices what it can notice.
func TestPlainLimitHoldsATubAndRestsWithoutReadings(t *testing.T) {
	for kind, found := range map[rig.FaultKind]bool{rig.DaemonKilled: false, rig.ProbeSilent: true} {
		out, err := (&Campaign{Runs: 3, Seed: 2, Plain: true, Probes: TwoProbes, Fault: kind}).Run()
		if err != nil {
			t.Fatal(err)
		}
		row := out.Faults[0]
		if *row.WorstOver > 0.3 || (row.Found == 3) != found || len(out.Violations) != 0 {
			t.Errorf("%s: %.2f K over the set point, found %d, %d objections", kind, *row.WorstOver, row.Found, len(out.Violations))
		}
	}
}

// The same tubs with the same frozen probe: this is what the program is for.
func TestFrozenProbeIsWhereAPlainLimitFails(t *testing.T) {
	c := Campaign{Runs: 6, Seed: 5, Probes: TwoProbes, Fault: rig.ProbeFrozen}
	ours, err := c.Run()
	if err != nil {
		t.Fatal(err)
	}
	c.Plain = true
	plain, err := c.Run()
	if err != nil {
		t.Fatal(err)
	}
	a, b := ours.Faults[0], plain.Faults[0]
	if a.Found != a.Acted || len(ours.Violations) != 0 {
		t.Errorf("the program found %d of %d, %d objections", a.Found, a.Acted, len(ours.Violations))
	}
	if b.Found != 0 || *b.WorstOver < faultRise || len(plain.Violations) == 0 {
		t.Errorf("the plain limit found %d, %.2f K over the set point, %d objections", b.Found, *b.WorstOver, len(plain.Violations))
	}
}

func TestFaultsOfAnyProbeBefallTheOneOfAPlainLimit(t *testing.T) {
	list := []rig.Fault{{Target: "tub/floor"}, {Target: "tub"}, {Target: ""}, {Target: "pad"}}
	befallControl(list)
	for i, want := range []string{"tub/control", "tub", "", "pad"} {
		if list[i].Target != want {
			t.Errorf("%q, wanted %q", list[i].Target, want)
		}
	}
}
