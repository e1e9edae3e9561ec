package treat

import (
	"math"
	"os"
	"testing"
	"time"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
	"soakwarden/internal/config"
	"soakwarden/internal/journal"
	"soakwarden/internal/loop"
	"soakwarden/internal/sizing"
	"soakwarden/sim"
)

// world is a chamber of the model under a desk, with a thermostat in the place
// of the station and probes that read the truth in sixteenths of a degree.
type world struct {
	t       *testing.T
	cfg     *config.Config
	st      *config.Station
	desk    *Desk
	record  *journal.Memory
	chamber *sim.Chamber
	now     time.Duration // of the loop
	clock   time.Duration // of the wall
	step    time.Duration
	room    float64
	trusted bool
	look    loop.Looked // what the next ticks show beside readings
	spoil   func(readings []controller.Reading)
	last    loop.Drive
	heat    bool
	told    []error
	mute    bool // the buzzer takes no order
	frozen  bool // the model stands still, for long holds
}

// begin is an invented day.
var begin = time.Date(2025, time.November, 3, 18, 0, 0, 0, time.UTC)

const code = "1234"

func newWorld(t *testing.T, name string, change ...func(*config.Station)) *world {
	t.Helper()
	text, err := os.ReadFile("../../testdata/treatments/" + name + ".toml")
	if err != nil {
		t.Fatal(err)
	}
	cfg, problems := config.Parse(name+".toml", text)
	if cfg == nil {
		t.Fatal(problems)
	}
	for _, c := range change {
		c(&cfg.Stations[0])
	}
	w := &world{
		t: t, cfg: cfg, st: &cfg.Stations[0], step: 5 * time.Second, room: 19, trusted: true,
		record: journal.NewMemory(journal.Options{NoTicks: true, Boot: "a test", Version: "test", Clock: func() journal.Moment { return journal.Moment{Wall: begin} }}),
	}
	w.look.Health.AirflowSeen, w.look.Last.Fan = true, true
	if w.chamber, err = sim.NewChamber(sizing.ChamberSpec(w.st), w.room); err != nil {
		t.Fatal(err)
	}
	w.open(nil)
	w.tick()
	return w
}

// open begins a life of the program.
func (w *world) open(saved map[string][]byte) {
	w.desk = NewDesk(Options{
		Config: w.cfg, Record: w.record, Version: "test", Saved: saved,
		Tell: func(_ string, err error) { w.told = append(w.told, err) }, Code: func() string { return code },
	})
}

// restart is a power cut of that length; the loop's clock begins anew.
func (w *world) restart(dark time.Duration) {
	w.t.Helper()
	saved, err := w.record.LoadStates()
	if err != nil {
		w.t.Fatal(err)
	}
	for range int(dark / time.Second) {
		w.chamber.Step(sim.ChamberDrive{Room: w.room})
	}
	w.clock += dark
	w.now, w.last = 0, loop.Drive{}
	w.open(saved)
	w.tick()
}

// tick lets one step pass and asks the driver.
func (w *world) tick() loop.Drive {
	for range int(w.step / time.Second) {
		w.second()
	}
	w.now += w.step
	w.clock += w.step
	l := w.look
	l.Now, l.Wall, l.Trusted = w.now, begin.Add(w.clock), w.trusted
	l.Warned = w.last.Buzzer && !w.mute
	for k := range w.st.Probes {
		v := math.Round(w.chamber.At(sizing.Inner(w.st, &w.st.Probes[k]))*16) / 16
		l.Readings = append(l.Readings, controller.Reading{
			Value: physic.ZeroCelsius + physic.Temperature(v*1e9), At: w.now - time.Second, Quality: controller.Good,
		})
	}
	if w.spoil != nil {
		w.spoil(l.Readings)
	}
	w.last = w.desk.Driver(w.st.Name).Drive(l)
	return w.last
}

func (w *world) second() {
	if w.frozen {
		return
	}
	d := sim.ChamberDrive{Fan: true, Room: w.room, Heat: 1}
	if !w.st.Chamber.Freeze {
		air, target := w.chamber.Truth().Air, w.last.Treatment.Target.Celsius()
		switch {
		case !w.last.Treatment.Running || air >= target+0.5:
			w.heat = false
		case air <= target-0.5:
			w.heat = true
		}
		if d.Heat = 0; w.heat {
			d.Heat = 1
		}
	}
	w.chamber.Step(d)
}

// pass lets time pass.
func (w *world) pass(d time.Duration) {
	for until := w.now + d; w.now < until; {
		w.tick()
	}
}

// until lets time pass until a stage, at most for most.
func (w *world) until(stage string, most time.Duration) {
	w.t.Helper()
	for end := w.now + most; w.now < end; {
		w.tick()
		if v := w.view(); v != nil && v.Stage == stage {
			return
		}
	}
	w.t.Fatalf("not %q after %s: %+v", stage, most, w.view())
}

func (w *world) view() *loop.TreatmentView { return w.desk.Driver(w.st.Name).View() }

func (w *world) order(schedule string) Order {
	return Order{
		Station: w.st.Name, Schedule: schedule, Operator: "Ada Example",
		Residents: []Resident{{"corn snake", "tub south"}}, Load: "as configured (invented)",
	}
}

// start announces and starts.
func (w *world) start(schedule string) *Challenge {
	w.t.Helper()
	ch, err := w.desk.Announce(w.order(schedule))
	if err != nil {
		w.t.Fatal(err)
	}
	if _, _, err := w.desk.Start(w.st.Name, ch.Type); err != nil {
		w.t.Fatal(err)
	}
	return ch
}
