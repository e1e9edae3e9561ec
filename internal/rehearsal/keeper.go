package rehearsal

import (
	"time"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
	"soakwarden/internal/config"
	"soakwarden/internal/loop"
	"soakwarden/sim/rig"
)

// What the keeper of a rehearsal does by habit.
const (
	looksIn     = 20 * time.Minute // on a station that may only heat attended
	handsIn     = 2 * time.Minute  // from unplugging to pouring
	changeTakes = 10 * time.Minute // from unplugging to plugging in
	body        = 29.0             // °C, of an animal that comes from its enclosure
	never       = 1<<63 - 1        // of an event that does not come
)

// Keeper plays the person: what a scenario says, and what any keeper does. It
// reaches the program only by acts, as people do.
type Keeper struct {
	Config *config.Config
	Bench  *rig.Bench
	Events []Event // in the order of their times
	// Submit hands an act to the program; false when nobody hears it.
	Submit func(loop.ActRequest) bool
	// Treat does what an event asks for at a chamber; false when it asks for
	// nothing there. May be nil.
	Treat func(Event) bool
	// Say tells what the keeper does; may be nil.
	Say func(now time.Duration, station, text string)

	tubs  []keptTub
	ownIn bool          // the events say when animals go in and out
	idle  bool          // there is nothing to do but wait
	due   time.Duration // of the next event
}

// keptTub is what the keeper knows of one station.
type keptTub struct {
	tub      bool // it is one
	visited  bool // it heats only while somebody looks in
	started  bool // told the program that the tub is filled and empty of animals
	proven   bool // saw it ready once
	in       bool
	looked   time.Duration
	pourAt   time.Duration
	water    float64 // °C to pour
	endAt    time.Duration
	attended bool
}

// act says something to the program; when none lives nobody hears it.
func (k *Keeper) act(i int, a controller.Act) bool {
	a.Place = controller.Board
	return k.Submit(loop.ActRequest{Station: k.Config.Stations[i].Name, Act: a, Who: "the keeper of the rehearsal"})
}

// Step does what is due at now, which is the bench's time.
func (k *Keeper) Step(now time.Duration) {
	if k.idle && now < k.due && !k.Bench.NuisanceChanges() {
		return
	}
	if k.tubs == nil {
		k.tubs = make([]keptTub, len(k.Config.Stations))
		for i := range k.tubs {
			st := &k.Config.Stations[i]
			k.tubs[i].tub, k.tubs[i].visited = st.Kind == controller.Tub, st.AttendedOnly
		}
		for _, e := range k.Events {
			k.ownIn = k.ownIn || e.Kind == AnimalIn || e.Kind == AnimalOut
		}
	}
	for len(k.Events) > 0 && k.Events[0].At <= now {
		if k.Treat == nil || !k.Treat(k.Events[0]) {
			k.do(now, k.Events[0])
		}
		k.Events = k.Events[1:]
	}
	k.idle, k.due = true, never
	if len(k.Events) > 0 {
		k.due = k.Events[0].At
	}
	for i := range k.tubs {
		t := &k.tubs[i]
		if !t.tub {
			continue
		}
		if !t.started {
			k.begin(i)
		}
		if !t.proven || t.visited {
			k.stay(now, i)
		}
		k.change(now, i)
		k.idle = k.idle && t.atRest()
	}
}

// atRest says that the keeper has nothing to do at a tub but to wait.
func (t *keptTub) atRest() bool { return t.started && t.proven && !t.visited && t.endAt == 0 }

// begin tells a fresh program what stands before it.
func (k *Keeper) begin(i int) {
	k.tubs[i].started = k.act(i, controller.Act{Kind: controller.ConfirmFill}) &&
		k.act(i, controller.Act{Kind: controller.AnimalOut}) &&
		k.act(i, controller.Act{Kind: controller.Presence})
}

// stay looks in, where that is needed.
func (k *Keeper) stay(now time.Duration, i int) {
	t := &k.tubs[i]
	if now-t.looked >= looksIn && k.act(i, controller.Act{Kind: controller.Presence}) {
		t.looked = now
	}
}

// Changing says whether the keeper works at station i.
func (k *Keeper) Changing(i int) bool { return k.tubs != nil && k.tubs[i].endAt != 0 }

// Hear listens for ready: then the animal goes in.
func (k *Keeper) Hear(res *loop.Result) {
	if k.tubs == nil {
		return
	}
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

func (k *Keeper) putIn(i int) {
	t := &k.tubs[i]
	if t.in {
		return
	}
	t.in = true
	if kg := k.Config.Stations[i].Tub.AnimalMass; kg > 0 {
		k.Bench.PutAnimal(i, kg, body)
	}
	k.act(i, controller.Act{Kind: controller.AnimalIn})
}

func (k *Keeper) takeOut(i int) {
	k.tubs[i].in = false
	k.Bench.TakeAnimal(i)
	k.act(i, controller.Act{Kind: controller.AnimalOut})
}

// change runs water changes: those of the nuisances, and begun ones to their end.
func (k *Keeper) change(now time.Duration, i int) {
	t := &k.tubs[i]
	if kelvin, yes := k.Bench.NuisanceChange(i); yes && t.endAt == 0 {
		k.unplug(now, i, celsius(k.Config.Stations[i].SetPoint)+kelvin)
	}
	if t.endAt == 0 {
		return
	}
	if t.pourAt != 0 && now >= t.pourAt {
		t.pourAt = 0
		k.Bench.ChangeWater(i, t.water)
		if t.attended {
			k.act(i, controller.Act{Kind: controller.WaterChanged, Value: fromCelsius(t.water)})
		}
	}
	if t.endAt != 0 && now >= t.endAt {
		t.endAt = 0
		k.Bench.OpenLid(i, false)
		if t.attended {
			k.act(i, controller.Act{Kind: controller.ConfirmFill})
			k.act(i, controller.Act{Kind: controller.EndAttended})
		}
	}
}

// unplug begins an announced water change.
func (k *Keeper) unplug(now time.Duration, i int, water float64) {
	t := &k.tubs[i]
	t.attended = k.act(i, controller.Act{Kind: controller.BeginAttended})
	t.water, t.pourAt, t.endAt = water, now+handsIn, now+changeTakes
	k.Bench.OpenLid(i, true)
	k.say(now, k.Config.Stations[i].Name, "the keeper changes the water")
}

// do carries out one event of the scenario.
func (k *Keeper) do(now time.Duration, e Event) {
	i := k.Config.Station(e.Target)
	k.say(now, e.Target, "event: "+string(e.Kind))
	switch e.Kind {
	case WaterChanged:
		water := e.Water
		if water == 0 {
			water = k.Config.Stations[i].SetPoint
		}
		if e.Attended {
			k.unplug(now, i, celsius(water))
			return
		}
		k.Bench.ChangeWater(i, celsius(water))
	case AnimalIn:
		k.putIn(i)
	case AnimalOut:
		k.takeOut(i)
	case RoundDone:
		k.act(i, controller.Act{Kind: controller.Presence})
	case LidOpened:
		k.Bench.OpenLid(i, true)
	case LidClosed:
		k.Bench.OpenLid(i, false)
	}
}

func (k *Keeper) say(now time.Duration, station, text string) {
	if k.Say != nil {
		k.Say(now, station, text)
	}
}

func celsius(t physic.Temperature) float64 { return t.Celsius() }

func fromCelsius(c float64) physic.Temperature {
	return physic.ZeroCelsius + physic.Temperature(c*1e9)
}

func kelvins(k float64) controller.Difference { return controller.Difference(k * 1e9) }
