package sizing

import (
	"testing"
	"time"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
	"soakwarden/internal/config"
)

const freezer = `name = "freezer"
[journal]
path = "journal.db"
[[bus]]
name = "one"
kind = "simulated"
[[station]]
name = "freezer"
kind = "chamber"
set_point = "-20C"
room_coldest = "10C"
room_warmest = "27C"
chamber = { length = "600mm", width = "400mm", height = "500mm", freeze = true }
[[station.probe]]
role = "air"
bus = "one"
rom = "28-000000000001"
[[station.probe]]
role = "core"
bus = "one"
rom = "28-000000000002"
`

// A freezer is a station that the controller takes and never asks for heat.
func TestFreezerIsWatchedAndNeverHeated(t *testing.T) {
	cfg, problems := config.Parse("freezer.toml", []byte(freezer))
	if cfg == nil {
		t.Fatal(config.Text("freezer.toml", problems))
	}
	size, err := SizeOf(&cfg.Stations[0])
	if err != nil || size.Verdict != Fits || size.HoldPower != nil || len(size.Advice) != 1 || size.Text() == "" {
		t.Errorf("%+v, %v", size, err)
	}
	settings, err := Settings(cfg, 0)
	if err != nil {
		t.Fatal(err)
	}
	station, err := controller.New(settings)
	if err != nil {
		t.Fatal(err)
	}
	in := &controller.Input{Readings: make([]controller.Reading, 2)}
	in.Health.StoreProven, in.Health.Permit = true, true
	in.Treatment.Running = true
	for s := range 1200 {
		in.Now = time.Duration(s) * time.Second
		for i := range in.Readings {
			// Colder than the set point: what makes a heated chamber heat.
			in.Readings[i] = controller.Reading{Value: settings.SetPoint - 5*physic.Kelvin, At: in.Now, Quality: controller.Good}
		}
		if out := station.Step(in); out.Command.Pad || out.Command.Series {
			t.Fatalf("heat was asked for at %d s", s)
		}
	}
}
