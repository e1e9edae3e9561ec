package procedure

import (
	"strings"
	"testing"
	"time"

	"periph.io/x/conn/v3/physic"
)

// says wants a refusal that contains the words: the time that is still missing.
func (x *teller) says(r Request, words string) {
	x.t.Helper()
	if no := x.refused(r); !strings.Contains(no.Error(), words) {
		x.t.Errorf("%v does not say %q", no, words)
	}
}

// in is how long until something is due.
func (x *teller) in(verb string) time.Duration {
	x.t.Helper()
	for _, d := range x.c.Due(x.now, false) {
		if strings.HasPrefix(d.What, verb) {
			return d.In
		}
	}
	x.t.Fatalf("%q is not due in %s", verb, x.c.Stage())
	return 0
}

func TestRoundInTheFutureSaysByHowMuch(t *testing.T) {
	x := tell(t).to(Soaking)
	x.says(Request{Order: DoRound, Round: AllWell(), At: x.now.Add(25 * time.Minute)}, "be 25 min in the future")
	x.do(Request{Order: DoRound, Round: AllWell(), At: x.now}, TellPresent)
}

// A round makes the water due only when it is the tub's water that was soiled.
func TestOnlySoiledWaterInTheTubIsDue(t *testing.T) {
	soiled := AllWell()
	soiled.Seen[WaterClean] = No
	for _, c := range []struct {
		at    Stage
		round Round
		due   bool
	}{{Soaking, AllWell(), false}, {Soaking, soiled, true}, {Filling, soiled, false}} {
		x := tell(t).to(c.at)
		x.pass(time.Hour)
		before := x.c.View().Water
		x.do(Request{Order: DoRound, Round: c.round}, TellPresent)
		v := x.c.View()
		if due := v.Water >= v.Plan.WaterEvery; due != c.due || !c.due && v.Water != before {
			t.Errorf("%s: the water is %s old after the round, due %v", c.at, Clock(v.Water), due)
		}
	}
}

// The first mass is the one before the soak, and so is any that is taken before
// the first soak water; the others are after it.
func TestMassBeforeAndAfter(t *testing.T) {
	x := tell(t).to(Filling)
	weigh := func(g int, words string) { x.do(Request{Order: Weigh, Grams: g, Words: words}) }
	is := func(before, after int) {
		t.Helper()
		if a := x.c.View().Animal; a.Before != before || a.After != after {
			t.Errorf("masses %d and %d g, want %d and %d", a.Before, a.After, before, after)
		}
	}
	weigh(1200, "")
	is(1200, 0)
	weigh(1210, "lively")
	is(1210, 0)
	x.refused(Request{Order: Weigh, Grams: 200_001})
	x.refused(Request{Order: Weigh})
	weigh(200_000, "")
	weigh(1, "")
	is(1, 0)
	x = tell(t).to(DryRest)
	weigh(1190, "")
	is(1190, 0)
	weigh(1180, "")
	is(1190, 1180)
	if got := x.c.View().Animal.State; got != "" {
		t.Errorf("a condition that nobody named: %q", got)
	}
	// Filled again after a rest the soak is on, and a mass is one after.
	x.pass(8 * time.Hour)
	x.do(Request{Order: Fill}, TellInService, TellWaterChanged, TellFill, TellPresent)
	weigh(1170, "")
	is(1190, 1170)
	// In a case whose tub is filled for the first time it corrects the first.
	x = tell(t).to(Ready)
	weigh(1100, "")
	weigh(1090, "")
	is(1100, 1090)
}

func TestMitesThatCanBeCounted(t *testing.T) {
	x := tell(t).to(Watch)
	x.do(Request{Order: Look, Mites: 100_000})
	x.refused(Request{Order: Look, Mites: 100_001})
	x.do(Request{Order: Look, Mites: 0})
	x = tell(t).to(Soaking)
	for mites, taken := range map[int]bool{-2: false, -1: true, 0: true, 5: true} {
		r := AllWell()
		r.Mites = mites
		if taken {
			x.do(Request{Order: DoRound, Round: r}, TellPresent)
		} else {
			x.refused(Request{Order: DoRound, Round: r})
		}
	}
}

// Three looks, the last on the day of the all-clear or after it, close a case.
func TestAllClearAtItsBounds(t *testing.T) {
	for _, c := range []struct {
		days    []int
		on      int
		cleared bool
	}{
		{[]int{4, 20, 40}, 40, true},
		{[]int{4, 20, 40}, 50, true},
		{[]int{4, 40}, 40, false},
		{[]int{4, 20, 39}, 40, false},
		{[]int{4, 20, 39}, 39, false},
		{[]int{0, 0, 40}, 40, true},
	} {
		x := tell(t).to(Watch)
		back := x.now
		for _, day := range c.days {
			x.now = back.AddDate(0, 0, day)
			x.do(Request{Order: Look})
		}
		x.now = back.AddDate(0, 0, c.on)
		if c.cleared {
			x.do(Request{Order: Clear})
		} else {
			x.refused(Request{Order: Clear})
		}
	}
}

// Time passes minute by minute for everything that it must pass for, and for
// nothing else.
func TestWhatTimePassesFor(t *testing.T) {
	for _, c := range []struct {
		at                                    Stage
		age, in, wet, soak, water, round, dry bool
	}{
		{at: Filling, age: true, in: true, water: true, round: true},
		{at: Drinking, age: true, in: true, wet: true, water: true, round: true, dry: true},
		{at: Soaking, age: true, in: true, wet: true, soak: true, water: true, round: true},
		{at: DryRest, age: true, in: true, soak: true, round: true},
		{at: OnPaper, age: true, in: true, round: true},
		{at: Cleared}, {at: Stopped},
	} {
		x := tell(t).to(c.at)
		before := x.c.View()
		for range 3 {
			x.c.Pass(10 * time.Minute)
			x.c.Pass(0)
			x.c.Pass(-time.Hour)
		}
		v := x.c.View()
		for name, m := range map[string]struct {
			passes bool
			d      time.Duration
		}{
			"age": {c.age, v.Age - before.Age}, "stage": {c.in, v.In - before.In}, "wet": {c.wet, v.Wet - before.Wet},
			"soak": {c.soak, v.Soak - before.Soak}, "water": {c.water, v.Water - before.Water},
			"round": {c.round, v.Round - before.Round}, "plain": {c.dry, v.Plain - before.Plain},
		} {
			if want := 30 * time.Minute; m.passes && m.d != want || !m.passes && m.d != 0 {
				t.Errorf("%s: %s grew by %s", c.at, name, m.d)
			}
		}
	}
}

func TestNamesOfEightyLetters(t *testing.T) {
	for n, ok := range map[int]bool{0: false, 1: true, 80: true, 81: false} {
		x := tell(t).to(Filling)
		r := Request{Order: Place, Words: strings.Repeat("ä", n)}
		if ok {
			x.do(r)
		} else {
			x.refused(r)
		}
	}
}

// What is due says how long it is until then.
func TestDueSaysHowLongUntilThen(t *testing.T) {
	x := tell(t).to(Drinking)
	x.pass(12 * time.Minute)
	if got := x.in("Make the soak water"); got != 18*time.Minute {
		t.Errorf("soak water in %s", got)
	}
	if got := x.in("Do the round"); got != 6*time.Hour-12*time.Minute {
		t.Errorf("round in %s", got)
	}
	if got := x.in("Lift the snake out"); got != 24*time.Hour-12*time.Minute {
		t.Errorf("dry rest in %s", got)
	}
	if got := x.in("Change the water"); got != 12*time.Hour-x.c.View().Water {
		t.Errorf("water in %s", got)
	}
	x = tell(t).to(Soaking)
	x.pass(5 * time.Hour)
	if got := x.in("End the soak"); got != 6*24*time.Hour-5*time.Hour {
		t.Errorf("rinse in %s", got)
	}
	x = tell(t).to(DryRest)
	x.pass(3 * time.Hour)
	if got := x.in("Fill the tub"); got != 5*time.Hour {
		t.Errorf("filling in %s", got)
	}
	x.pass(7 * time.Hour)
	if got := x.in("Fill the tub"); got != 0 {
		t.Errorf("filling overdue: in %s", got)
	}
	x = tell(t).to(Watch)
	if got := x.in("Look at"); got != 3*24*time.Hour {
		t.Errorf("first look in %s", got)
	}
}

// A look on the day of a mark answers that mark and no later one.
func TestALookAnswersItsDay(t *testing.T) {
	x := tell(t).to(Watch)
	back := x.now
	f, err := Follow(x.c.View().Room)
	if err != nil {
		t.Fatal(err)
	}
	next := func() string { return x.c.Due(x.now, false)[0].What }
	x.do(Request{Order: Look}) // on the day of the return
	for i := 1; i < len(f.Days)-1; i++ {
		day := f.Days[i].Day
		x.now = back.AddDate(0, 0, day-1)
		x.do(Request{Order: Look})
		if want := "day " + itoa(day) + " "; !strings.Contains(next(), want) {
			t.Errorf("a look a day early: %q, want %q", next(), want)
		}
		x.now = back.AddDate(0, 0, day)
		x.do(Request{Order: Look})
		if want := "day " + itoa(f.Days[i+1].Day) + " "; !strings.Contains(next(), want) {
			t.Errorf("a look on its day: %q, want %q", next(), want)
		}
	}
}

func itoa(n int) string { return strings.TrimSuffix(Clock(time.Duration(n)*time.Hour*24), " days") }

// The bounds of a room, of the snake mite's favourable range (75 °F) and of a
// box are themselves allowed.
func TestRoomsAndBoxesAtTheirBounds(t *testing.T) {
	for room, ok := range map[physic.Temperature]bool{degrees(5): true, degrees(5) - 1: false, degrees(40): true, degrees(40) + 1: false} {
		if _, err := Follow(room); (err == nil) != ok {
			t.Errorf("a room of %s: %v", room, err)
		}
	}
	const f75 = physic.ZeroFahrenheit + 75*physic.Fahrenheit
	for room, day := range map[physic.Temperature]int{f75: 40, f75 - 1: 59} {
		f, err := Follow(room)
		if err != nil || f.On(AllClear) != day || f.Cool() != (day == 59) {
			t.Errorf("%s: all-clear on day %d, cool %v, %v", room, f.On(AllClear), f.Cool(), err)
		}
	}
	for box, ok := range map[physic.Temperature]bool{degrees(25): true, degrees(25) - 1: false, degrees(34): true, degrees(34) + 1: false} {
		x := tell(t).to(DryRest)
		if r := (Request{Order: Box, Value: box}); ok {
			x.do(r)
		} else {
			x.refused(r)
		}
	}
}

// A zone is one only with its upper end over its lower, within 20 to 36 °C.
func TestZonesThatNoAnimalHas(t *testing.T) {
	for _, c := range []struct {
		lower, upper physic.Temperature
		ok           bool
	}{
		{degrees(20), degrees(36), true},
		{degrees(20) - 1, degrees(36), false},
		{degrees(20), degrees(36) + 1, false},
		{degrees(30), degrees(30), false},
		{degrees(30), degrees(30) + 1, true},
		{degrees(31), degrees(30), false},
	} {
		r := beginning()
		r.Animal.Lower, r.Animal.Upper = c.lower, c.upper
		if x := tell(t); c.ok {
			x.do(r, TellInService, TellFill, TellOut, TellPresent)
		} else {
			x.refused(r)
		}
	}
}

// Soak water waits for the whole time in plain water, a filling for the whole
// rest, a rinse without a reason for the whole soak.
func TestWaitsAreWhole(t *testing.T) {
	x := tell(t).to(Drinking)
	x.pass(10 * time.Minute)
	x.do(Request{Order: Open}, TellAttended)
	x.says(Request{Order: Detergent, Seen: good}, "20 min")
	x.do(Request{Order: Close}, TellDone)
	x.pass(19 * time.Minute)
	x.do(Request{Order: Open}, TellAttended)
	x.refused(Request{Order: Detergent, Seen: good})
	x.do(Request{Order: Close}, TellDone)
	x.pass(time.Minute)
	x.do(Request{Order: Open}, TellAttended)
	x.do(Request{Order: Detergent})

	x = tell(t).to(DryRest)
	x.pass(3 * time.Hour)
	x.says(Request{Order: Fill}, "another 5 h")
	x.pass(5*time.Hour - time.Minute)
	x.refused(Request{Order: Fill})
	x.pass(time.Minute)
	x.do(Request{Order: Fill}, TellInService, TellWaterChanged, TellFill, TellPresent)

	for _, c := range []struct {
		soaked time.Duration
		taken  bool
	}{{6*24*time.Hour - time.Minute, false}, {6 * 24 * time.Hour, true}} {
		x = tell(t).to(DryRest)
		x.c.Pass(c.soaked - x.c.View().Soak)
		if c.taken {
			if what := x.c.Due(x.now, false); !strings.HasPrefix(what[len(what)-1].What, "Rinse") {
				t.Errorf("%+v", what)
			}
			x.do(Request{Order: DoRinse})
		} else {
			x.refused(Request{Order: DoRinse})
		}
	}
}

// Fifteen minutes without the program are nothing, a minute more is an outage;
// an outage of unknown length has none, and sixty days are the most that a
// person can name.
func TestOutagesAtTheirBounds(t *testing.T) {
	for off, pause := range map[time.Duration]Pause{15 * time.Minute: NoPause, 15*time.Minute + 1: AskRound, 0: NoPause, -1: AskOutage} {
		x := tell(t).to(Soaking)
		before := x.c.View().Age
		if x.c.Resume(off); x.c.View().Pause != pause {
			t.Errorf("after %s: pause %d, want %d", off, x.c.View().Pause, pause)
		}
		if got := x.c.View().Age - before; got != max(off, 0) {
			t.Errorf("after %s the case is %s older", off, got)
		}
	}
	for off, taken := range map[time.Duration]bool{60 * 24 * time.Hour: true, 60*24*time.Hour + 1: false, 0: false, 1: true} {
		x := tell(t).to(Soaking)
		x.c.Resume(-1)
		if r := (Request{Order: Outage, Off: off}); taken {
			x.do(r, TellPresent)
		} else {
			x.refused(r)
		}
	}
	for _, s := range []Stage{Cleared, Stopped} {
		x := tell(t).to(s)
		if x.c.Resume(-1); x.c.View().Pause != NoPause {
			t.Errorf("a case that is %s asks about an outage", s)
		}
		before := x.c.View().Age
		if x.c.Resume(48 * time.Hour); x.c.View().Pause != NoPause || x.c.View().Age != before {
			t.Errorf("a case that is %s grows older", s)
		}
	}
	var none Case
	if none.Resume(-1); none.View().Pause != NoPause {
		t.Error("no case asks about an outage")
	}
	// Wet for exactly the longest time: out.
	x := tell(t).to(Soaking)
	if x.c.Resume(24*time.Hour - x.c.View().Wet); x.c.View().Pause != AskRest {
		t.Errorf("a day in the water: pause %d", x.c.View().Pause)
	}
	x = tell(t).to(Soaking)
	if x.c.Resume(24*time.Hour - x.c.View().Wet - 1); x.c.View().Pause != AskRound {
		t.Errorf("a hair less than a day in the water: pause %d", x.c.View().Pause)
	}
}
