package procedure

import (
	"strings"
	"testing"
	"time"
)

// Each bound of a plan is itself allowed.
func TestPlansAtTheirBounds(t *testing.T) {
	for name, c := range map[string]struct {
		set         func(p *Plan, d time.Duration)
		least, most time.Duration
	}{
		"soak":       {func(p *Plan, d time.Duration) { p.Soak = d }, 24 * time.Hour, 7 * 24 * time.Hour},
		"plain":      {func(p *Plan, d time.Duration) { p.Plain = d }, 30 * time.Minute, 4 * time.Hour},
		"wet":        {func(p *Plan, d time.Duration) { p.LongestWet = d }, time.Hour, 24 * time.Hour},
		"rest":       {func(p *Plan, d time.Duration) { p.Rest = d }, 2 * time.Hour, 48 * time.Hour},
		"water":      {func(p *Plan, d time.Duration) { p.WaterEvery = d }, time.Hour, 24 * time.Hour},
		"round":      {func(p *Plan, d time.Duration) { p.RoundEvery = d }, 10 * time.Minute, 12 * time.Hour},
		"night from": {func(p *Plan, d time.Duration) { p.NightFrom = int(d) }, 0, 23},
		"night to":   {func(p *Plan, d time.Duration) { p.NightTo = int(d) }, 0, 23},
	} {
		for d, ok := range map[time.Duration]bool{c.least - 1: false, c.least: true, c.most: true, c.most + 1: false} {
			p := UsualPlan()
			if c.set(&p, d); (p.check() == nil) != ok {
				t.Errorf("%s of %d: %v", name, d, p.check())
			}
		}
	}
	p := UsualPlan()
	if p.Soak != 144*time.Hour || p.Plain != 30*time.Minute || p.LongestWet != 24*time.Hour || p.Rest != 8*time.Hour ||
		p.WaterEvery != 12*time.Hour || p.RoundEvery != 6*time.Hour {
		t.Errorf("the usual plan: %+v", p)
	}
	answers := allNo()
	answers[Hatchling] = Yes
	if h := p.For(answers); h.LongestWet != 4*time.Hour || h.RoundEvery != 30*time.Minute || h.WaterEvery != 4*time.Hour || !h.AttendedOnly {
		t.Errorf("a hatchling's plan: %+v", h)
	}
}

// The hours of the night include its first and not its last, over midnight or
// not; a night of no length is none.
func TestHoursOfTheNight(t *testing.T) {
	for _, c := range []struct {
		from, to int
		hours    string // by day a dot, by night an n
	}{
		{22, 7, "nnnnnnn...............nn"},
		{1, 5, ".nnnn..................."},
		{6, 6, "........................"},
		{0, 23, "nnnnnnnnnnnnnnnnnnnnnnn."},
		{23, 0, ".......................n"},
	} {
		p := Plan{NightFrom: c.from, NightTo: c.to}
		for hour, letter := range c.hours {
			if p.Night(hour) != (letter == 'n') {
				t.Errorf("from %d to %d: hour %d is night %v", c.from, c.to, hour, p.Night(hour))
			}
		}
	}
}

// Every animal without a place is named, whatever stands before it in the list.
func TestEveryUnplacedAnimalIsNamed(t *testing.T) {
	wet, over, lost := tell(t).to(Soaking), tell(t).to(Stopped), tell(t).to(Filling)
	for _, list := range [][]*Case{{wet.c, lost.c}, {over.c, lost.c}, {{}, lost.c}, {lost.c, lost.c}} {
		want := 1
		if list[0] == lost.c {
			want = 2
		}
		if got := Unplaced(list); len(got) != want {
			t.Errorf("%d animals have no place, want %d", len(got), want)
		}
	}
}

func TestRoundOnWhichNothingWasDrained(t *testing.T) {
	if r := AllWell(); r.Mites != -1 {
		t.Errorf("%d mites were counted in water that nobody drained", r.Mites)
	}
	if Check(CheckCount).See() != Lid.See() {
		t.Error("a check past the last")
	}
}

func TestFurnishingsOfEveryWay(t *testing.T) {
	x := tell(t).to(OnPaper)
	x.refused(Request{Order: Furnish, Item: "hide", Way: wayCount})
	if _, err := x.c.Do(Request{Order: orderCount, Now: x.now, Way: HeatIt, Item: "hide"}); err == nil || !strings.Contains(err.Error(), "no such order") {
		t.Errorf("an order past the last: %v", err)
	}
	if wayCount.String() != ThrowAway.String() || orderCount.String() != Stop.String() {
		t.Error("a word past the last")
	}
	x.do(Request{Order: Furnish, Item: "hide", Way: HeatIt})
	x.do(Request{Order: Treat, Item: "hide", Record: "T-1", Passed: true})
	// Sealing asks for the record that is on the label, not for a record.
	x.refused(Request{Order: Seal, Item: "hide"})
	x.do(Request{Order: Seal, Item: "hide", Record: "T-1"})
}

// In the tub everything on the list is looked at, beside it all but the tub.
func TestWhatARoundMustLookAt(t *testing.T) {
	for c := range CheckCount {
		for _, at := range []Stage{Soaking, DryRest} {
			x := tell(t).to(at)
			r := AllWell()
			r.Seen[c] = Unanswered
			if at == DryRest && Check(c).See().AtTub {
				x.do(Request{Order: DoRound, Round: r}, TellPresent)
			} else {
				x.refused(Request{Order: DoRound, Round: r})
			}
		}
	}
}

// The first numbers past the last stage and the last pause are none.
func TestStatesPastTheLast(t *testing.T) {
	if stageCount.String() != Stopped.String() {
		t.Error("a stage past the last has a name of its own")
	}
	for name, spoil := range map[string]func(*state){
		"stage": func(s *state) { s.Stage = stageCount }, "pause": func(s *state) { s.Pause = pauseCount }, "way": func(s *state) { s.Items[0].Way = wayCount },
	} {
		x := tell(t).to(OnPaper)
		x.do(Request{Order: Furnish, Item: "hide", Way: HeatIt})
		s := x.c.s
		s.Items = append([]Item(nil), s.Items...)
		if s.check() != nil {
			t.Fatal(s.check())
		}
		if spoil(&s); s.check() == nil {
			t.Errorf("a %s that is none was taken", name)
		}
	}
}

// Every order that a keeper may give is listed once, in the order of a case, and
// found by its word.
func TestOrdersAreListed(t *testing.T) {
	all := Orders()
	if len(all) != int(orderCount)-1 || all[0] != Begin || all[len(all)-1] != Stop {
		t.Fatalf("%v", all)
	}
	for i, o := range all {
		if i > 0 && o != all[i-1]+1 || OrderOf(o.String()) != o {
			t.Errorf("order %d is %q", i, o)
		}
	}
	for _, s := range []Stage{NoStage, Filling, Ready, Drinking, Soaking, Attended, DryRest, Rinse, OnPaper, Watch, Cleared, Stopped} {
		if needs := s != NoStage && s <= 5; s.AtTub() != needs {
			t.Errorf("%s: a tub that holds water: %v", s, s.AtTub())
		}
	}
}

// What is due stands most urgent first, then soonest first, and what a paused
// case waits for before everything.
func TestWhatIsDueStandsMostUrgentFirst(t *testing.T) {
	x := tell(t).to(Soaking)
	for _, wet := range []time.Duration{time.Hour, 7 * time.Hour, 13 * time.Hour, 26 * time.Hour} {
		x.c.Pass(wet - x.c.View().Wet)
		all := x.c.Due(x.now, false)
		for i := 1; i < len(all); i++ {
			if a, b := all[i-1], all[i]; a.Priority < b.Priority || a.Priority == b.Priority && a.In > b.In {
				t.Errorf("%s in the water: %q before %q", Clock(wet), a.What, b.What)
			}
		}
	}
	before := x.c.Due(x.now, false)
	x.c.Resume(time.Hour)
	all := x.c.Due(x.now, false)
	if all[0].What != AskRest.Say() || len(all) != len(before)+1 {
		t.Fatalf("%+v", all)
	}
	seen := map[string]bool{}
	for _, d := range all {
		if seen[d.What] {
			t.Errorf("%q stands twice", d.What)
		}
		seen[d.What] = true
	}
}

func TestWashedWithoutARecordIsNotTreated(t *testing.T) {
	x := tell(t).to(OnPaper)
	x.do(Request{Order: Furnish, Item: "cloth", Way: WashIt})
	x.says(Request{Order: Treat, Item: "cloth"}, "no record is named")
	if strings.Contains(x.refused(Request{Order: Seal, Item: "cloth"}).Error(), "no record is named") {
		t.Error("sealing asks for the record of a treatment that was not")
	}
}

// What is said instead of an order names what is so.
func TestWhatIsSaidInstead(t *testing.T) {
	watch := tell(t).to(Watch)
	if !strings.Contains(watch.refused(Request{Order: Return, Value: degrees(27)}).Error(), "back already") {
		t.Error("a second return")
	}
	for o := Furnish; o <= Unseal; o++ {
		if no := watch.refused(Request{Order: o, Item: "hide"}); !strings.Contains(no.Error(), "furnishings are back") {
			t.Errorf("%s in the watch: %v", o, no)
		}
	}
	if no := tell(t).to(OnPaper).refused(Request{Order: Clear}); !strings.Contains(no.Error(), "in the stage back on paper") {
		t.Error(no)
	}
	var none Case
	if _, err := none.Do(Request{Order: Clear}); err == nil || strings.Contains(err.Error(), "in the stage") {
		t.Errorf("no case: %v", err)
	}
}

// A clock that learns that there was no outage at all answers too.
func TestOutageOfNoLengthIsLearned(t *testing.T) {
	for off, answered := range map[time.Duration]bool{-1: false, 0: true, time.Minute: true} {
		x := tell(t).to(Soaking)
		x.c.Resume(-1)
		if x.c.Learn(off) != answered || (x.c.View().Pause == NoPause) != answered {
			t.Errorf("%s: pause %d", off, x.c.View().Pause)
		}
	}
	if MatterOf("no such matter") != NoMatter || len(Matters()) != MatterCount-1 {
		t.Error("matters")
	}
}

// Airing one place airs that one alone, also when the animal is home again.
func TestAiringIsOfOnePlace(t *testing.T) {
	x := tell(t).to(OnPaper)
	for _, place := range []string{"room", "shelf"} {
		x.do(Request{Order: UseChemical, Item: place, Words: "a product", Who: "a keeper"})
	}
	x.do(Request{Order: Air, Item: "shelf", Words: "two days, no smell"})
	if k, open := x.c.unaired(false); !open || k.Where != "room" {
		t.Errorf("%+v", k)
	}
	x.do(Request{Order: Air, Item: "ROOM", Words: "a day, no smell"})
	if k, open := x.c.unaired(false); open {
		t.Errorf("%+v", k)
	}
	x.refused(Request{Order: Air, Item: "room", Words: "again"})
	y := tell(t).to(Watch)
	y.do(Request{Order: Place, Words: "in the carrier"})
	y.do(Request{Order: UseChemical, Item: "room", Words: "a product", Who: "a keeper"})
	y.c.s.Animal.Place = homePlace
	y.do(Request{Order: Air, Item: "room", Words: "a day, no smell"})
	y.refused(Request{Order: UseChemical, Item: "room", Words: "a product", Who: "a keeper"})
}
