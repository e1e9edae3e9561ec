package rehearsal

import (
	"time"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
	"soakwarden/internal/loop"
)

// What the keeper of a rehearsal does by habit.
const (
	looksIn     = 20 * time.Minute // on a station that may only heat attended
	handsIn     = 2 * time.Minute  // from unplugging to pouring
	changeTakes = 10 * time.Minute // from unplugging to plugging in
	body        = 29.0             // °C, of an animal that comes from its enclosure
)

// keeper plays the person: what the scenario says, and what any keeper does.
type keeper struct {
	run    *Run
	events []Event
	tubs   []keptTub
	ownIn  bool // the scenario says itself when animals go in and out
}

// keptTub is what the keeper knows of one station.
type keptTub struct {
	started  bool // told the program that the tub is filled and empty of animals
	proven   bool // saw it ready once
	in       bool
	looked   time.Duration
	pourAt   time.Duration
	water    float64 // °C to pour
	endAt    time.Duration
	attended bool
}

func newKeeper(r *Run) *keeper {
	k := &keeper{run: r, events: r.scenario.Events, tubs: make([]keptTub, len(r.scenario.Config.Stations))}
	for _, e := range r.scenario.Events {
		k.ownIn = k.ownIn || e.Kind == AnimalIn || e.Kind == AnimalOut
	}
	return k
}

// programStarts is called when a life of the program begins; the keeper need
// not say anything again, the program remembers.
func (k *keeper) programStarts() {}

// act says something to the program; when none lives nobody hears it.
func (k *keeper) act(i int, a controller.Act) bool {
	if k.run.loop == nil {
		return false
	}
	a.Place = controller.Board
	_, ok := k.run.loop.Submit(loop.ActRequest{Station: k.run.scenario.Config.Stations[i].Name, Act: a, Who: "the keeper of the rehearsal"})
	return ok
}

// step does what is due at now.
func (k *keeper) step(now time.Duration) {
	for len(k.events) > 0 && k.events[0].At <= now {
		k.do(now, k.events[0])
		k.events = k.events[1:]
	}
	for i := range k.tubs {
		if k.run.scenario.Config.Stations[i].Kind != controller.Tub {
			continue
		}
		k.begin(i)
		k.stay(now, i)
		k.change(now, i)
	}
}

// begin tells a fresh program what stands before it.
func (k *keeper) begin(i int) {
	t := &k.tubs[i]
	if t.started || k.run.loop == nil {
		return
	}
	t.started = k.act(i, controller.Act{Kind: controller.ConfirmFill}) &&
		k.act(i, controller.Act{Kind: controller.AnimalOut}) &&
		k.act(i, controller.Act{Kind: controller.Presence})
}

// stay looks in while that is needed.
func (k *keeper) stay(now time.Duration, i int) {
	t := &k.tubs[i]
	needed := !t.proven || k.run.scenario.Config.Stations[i].AttendedOnly
	if needed && now-t.looked >= looksIn && k.act(i, controller.Act{Kind: controller.Presence}) {
		t.looked = now
	}
}

// hear listens for ready: then the animal goes in.
func (k *keeper) hear(res *loop.Result) {
	for i := range res.Stations {
		for _, e := range res.Stations[i].Output.Events {
			if e.Kind != controller.Ready || k.tubs[i].proven {
				continue
			}
			k.tubs[i].proven = true
			if !k.ownIn {
				k.putIn(i)
			}
		}
	}
}

func (k *keeper) putIn(i int) {
	t := &k.tubs[i]
	if t.in {
		return
	}
	t.in = true
	if kg := k.run.scenario.Config.Stations[i].Tub.AnimalMass; kg > 0 {
		k.run.bench.PutAnimal(i, kg, body)
	}
	k.act(i, controller.Act{Kind: controller.AnimalIn})
}

func (k *keeper) takeOut(i int) {
	k.tubs[i].in = false
	k.run.bench.TakeAnimal(i)
	k.act(i, controller.Act{Kind: controller.AnimalOut})
}

// change runs water changes: those of the nuisances, and begun ones to their end.
func (k *keeper) change(now time.Duration, i int) {
	t := &k.tubs[i]
	if kelvin, yes := k.run.bench.NuisanceChange(i); yes && t.endAt == 0 {
		k.unplug(now, i, celsius(k.run.scenario.Config.Stations[i].SetPoint)+kelvin)
	}
	if t.pourAt != 0 && now >= t.pourAt {
		t.pourAt = 0
		k.run.bench.ChangeWater(i, t.water)
		if t.attended {
			k.act(i, controller.Act{Kind: controller.WaterChanged, Value: fromCelsius(t.water)})
		}
	}
	if t.endAt != 0 && now >= t.endAt {
		t.endAt = 0
		k.run.bench.OpenLid(i, false)
		if t.attended {
			k.act(i, controller.Act{Kind: controller.ConfirmFill})
			k.act(i, controller.Act{Kind: controller.EndAttended})
		}
	}
}

// unplug begins an announced water change.
func (k *keeper) unplug(now time.Duration, i int, water float64) {
	t := &k.tubs[i]
	t.attended = k.act(i, controller.Act{Kind: controller.BeginAttended})
	t.water, t.pourAt, t.endAt = water, now+handsIn, now+changeTakes
	k.run.bench.OpenLid(i, true)
	k.run.narrator.say(now, k.run.scenario.Config.Stations[i].Name, "the keeper changes the water")
}

// do carries out one event of the scenario.
func (k *keeper) do(now time.Duration, e Event) {
	i := k.run.stationIndex(e.Target)
	k.run.narrator.say(now, e.Target, "event: %s", e.Kind)
	switch e.Kind {
	case WaterChanged:
		water := e.Water
		if water == 0 {
			water = k.run.scenario.Config.Stations[i].SetPoint
		}
		if e.Attended {
			k.unplug(now, i, celsius(water))
			return
		}
		k.run.bench.ChangeWater(i, celsius(water))
	case AnimalIn:
		k.putIn(i)
	case AnimalOut:
		k.takeOut(i)
	case RoundDone:
		k.act(i, controller.Act{Kind: controller.Presence})
	case LidOpened:
		k.run.bench.OpenLid(i, true)
	case LidClosed:
		k.run.bench.OpenLid(i, false)
	}
}

func celsius(t physic.Temperature) float64 { return t.Celsius() }

func fromCelsius(c float64) physic.Temperature {
	return physic.ZeroCelsius + physic.Temperature(c*1e9)
}
