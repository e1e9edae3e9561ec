package procedure

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"
	"time"
)

func TestOutages(t *testing.T) {
	for _, c := range []struct {
		at    Stage
		off   time.Duration // −1: unknown
		stage Stage
		pause Pause
	}{
		{Soaking, 5 * time.Minute, Soaking, NoPause},
		{Soaking, 5 * time.Hour, Soaking, AskRound},
		{Soaking, 48 * time.Hour, Soaking, AskRest},
		{Soaking, -1, Soaking, AskOutage},
		{Drinking, 5 * time.Hour, Drinking, AskRound},
		{Attended, 5 * time.Hour, Attended, AskRound},
		{Attended, 48 * time.Hour, Attended, AskRest},
		{Ready, 5 * time.Minute, Ready, NoPause},
		{Ready, 5 * time.Hour, Filling, NoPause},
		{Filling, 48 * time.Hour, Filling, NoPause},
		{Filling, -1, Filling, AskOutage},
		{DryRest, 5 * time.Minute, DryRest, NoPause},
		{DryRest, 5 * time.Hour, DryRest, AskBox},
		{DryRest, 48 * time.Hour, DryRest, AskBox},
		{DryRest, -1, DryRest, AskOutage},
		{Rinse, 48 * time.Hour, Rinse, NoPause},
		{OnPaper, -1, OnPaper, NoPause},
		{Watch, 48 * time.Hour, Watch, NoPause},
		{Watch, -1, Watch, NoPause},
	} {
		x := tell(t).to(c.at)
		before := x.c.View()
		x.c.Resume(c.off)
		x.again()
		v := x.c.View()
		if v.Stage != c.stage || v.Pause != c.pause {
			t.Errorf("%s, off for %s: %s, pause %d", c.at, Clock(c.off), v.Stage, v.Pause)
		}
		if c.off > 0 && v.Age != before.Age+c.off {
			t.Errorf("%s: the case is %s older after %s", c.at, Clock(v.Age-before.Age), Clock(c.off))
		}
		if v.Pause != NoPause && v.Pause.Say() == "" {
			t.Errorf("pause %d says nothing", v.Pause)
		}
	}
	if Pause(0).Say() != "" {
		t.Error("no pause says something")
	}
}

func TestPauseIsAnswered(t *testing.T) {
	x := tell(t).to(Soaking)
	x.c.Resume(5 * time.Hour)
	soaked := x.c.View().Soak
	x.pass(time.Hour)
	if v := x.c.View(); v.Soak != soaked || v.Wet < 6*time.Hour {
		t.Errorf("paused: soaked %s, wet %s", Clock(v.Soak), Clock(v.Wet))
	}
	if x.c.See(Station{}) {
		t.Error("a paused case follows its station")
	}
	x.refused(Request{Order: DoRinse, Words: "x"})
	x.do(Request{Order: DoRound, Round: AllWell()}, TellPresent)
	if x.c.View().Pause != NoPause {
		t.Error("the round does not end the pause")
	}

	// Two days: only out of the water.
	x.c.Resume(48 * time.Hour)
	no := x.refused(Request{Order: DoRound, Round: AllWell()})
	if !strings.Contains(no.Instead, "Lift the snake out. Dry box.") {
		t.Error(no)
	}
	x.do(Request{Order: LiftOut, Value: degrees(27)}, TellOut, TellOutOfService)
	x.at(DryRest)
	x.c.Resume(5 * time.Hour)
	x.refused(Request{Order: Fill})
	x.do(Request{Order: Box, Value: degrees(26)})
	x.pass(4 * time.Hour)
	x.do(Request{Order: Fill}, TellInService, TellWaterChanged, TellFill, TellPresent)
}

func TestUnknownOutageAsks(t *testing.T) {
	x := tell(t).to(Soaking)
	x.c.Resume(-1)
	x.refused(Request{Order: DoRound, Round: AllWell()})
	x.refused(Request{Order: Outage})
	x.refused(Request{Order: Outage, Off: 61 * day})
	x.do(Request{Order: Outage, Off: 10 * time.Minute}, TellPresent)
	if v := x.c.View(); v.Pause != NoPause {
		t.Errorf("%+v", v.Pause)
	}
	x.c.Resume(-1)
	x.do(Request{Order: Outage, Unknown: true}, TellPresent)
	v := x.c.View()
	if v.Pause != AskRest || v.Wet < v.Plan.LongestWet || v.Water < v.Plan.WaterEvery || v.Round < v.Plan.RoundEvery {
		t.Errorf("nobody knows: %+v", v)
	}
	y := tell(t).to(DryRest)
	y.c.Resume(-1)
	y.do(Request{Order: Outage, Unknown: true}, TellPresent)
	if y.c.View().Pause != AskBox {
		t.Error("the dry box is not asked about")
	}
}

func TestWhatIsDue(t *testing.T) {
	priority := func(x *teller, verb string, night bool) Priority {
		t.Helper()
		for _, d := range x.c.Due(x.now, night) {
			if strings.HasPrefix(d.What, verb) {
				return d.Priority
			}
		}
		t.Fatalf("%q is not due in %s: %+v", verb, x.c.Stage(), x.c.Due(x.now, night))
		return NoPriority
	}
	x := tell(t).to(Soaking)
	if priority(x, "Do the round", false) != NoPriority {
		t.Error("due at once")
	}
	x.pass(5*time.Hour + 40*time.Minute)
	if priority(x, "Do the round", false) != Low || priority(x, "Do the round", true) != NoPriority {
		t.Error("overdue is low by day and nothing at night")
	}
	x.pass(time.Hour)
	if priority(x, "Do the round", false) != Medium || priority(x, "Do the round", true) != Medium {
		t.Error("long overdue is medium, by day and by night")
	}
	soiled := AllWell()
	soiled.Seen[WaterClean] = No
	x.do(Request{Order: DoRound, Round: soiled}, TellPresent)
	if priority(x, "Change the water", false) != Low {
		t.Error("soiled water is not due now")
	}
	x.pass(17 * time.Hour)
	if priority(x, "Lift the snake out", true) != Medium {
		t.Error("past the longest time in water is not told at night")
	}
	x.c.Resume(time.Hour)
	if d := x.c.Due(x.now, true); d[0].Priority != Medium || d[0].What != AskRest.Say() {
		t.Errorf("a pause is not first: %+v", d[0])
	}
	for s, verb := range map[Stage]string{
		Ready: "Put the animal in", Drinking: "Make the soak water", Soaking: "End the soak", DryRest: "Fill the tub",
		Rinse: "Put the animal on paper", OnPaper: "Treat the furnishings", Watch: "Look at animal",
	} {
		priority(tell(t).to(s), verb, false)
	}
	y := tell(t).to(OnPaper)
	y.do(Request{Order: Furnish, Item: "box", Enclosure: true, Way: WashIt})
	y.do(Request{Order: Treat, Item: "box", Record: "washed"})
	priority(y, "Return furnishings", false)
	z := tell(t).to(DryRest)
	z.pass(6 * day)
	priority(z, "Rinse", false)
	if got := Priority(9).String() + Low.String() + NoPriority.String(); got != "mediumlownone" {
		t.Error(got)
	}
}

func TestLooksAreDueByDate(t *testing.T) {
	x := tell(t).to(Watch)
	at := func(days int, night bool) Due { return x.c.Due(x.now.Add(time.Duration(days)*day), night)[0] }
	for _, c := range []struct {
		days  int
		night bool
		want  Priority
	}{{0, false, NoPriority}, {3, false, Low}, {3, true, NoPriority}, {4, false, Medium}, {4, true, NoPriority}} {
		if d := at(c.days, c.night); d.Priority != c.want || d.Matter != LookLate || d.Quiet != (c.night && c.days >= 3) || !strings.Contains(d.What, "day 3") {
			t.Errorf("day %d, night %v: %+v", c.days, c.night, d)
		}
	}
	x.now = x.now.Add(45 * day)
	x.do(Request{Order: Look})
	if d := at(0, false); !strings.HasPrefix(d.What, "Close the case") {
		t.Errorf("%+v", d)
	}
}

func TestFurnishings(t *testing.T) {
	x := tell(t).to(Soaking)
	for _, r := range []Request{
		{Order: Furnish, Way: HeatIt},
		{Order: Furnish, Item: "hide"},
		{Order: Furnish, Item: "hide", Way: 99},
		{Order: Furnish, Item: "hide", Way: ThrowAway, Enclosure: true},
		{Order: Treat, Item: "hide", Record: "T-1", Passed: true},
	} {
		x.refused(r)
	}
	x.do(Request{Order: Furnish, Item: "hide", Way: HeatIt})
	x.refused(Request{Order: Furnish, Item: "hide", Way: HeatIt})
	x.refused(Request{Order: Seal, Item: "hide", Record: "T-1"})
	x.refused(Request{Order: Treat, Item: "hide"})
	x.refused(Request{Order: Treat, Item: "hide", Record: "T-1"})
	x.do(Request{Order: Treat, Item: "hide", Record: "T-1", Passed: true})
	x.refused(Request{Order: Seal, Item: "hide", Record: "T-2"})
	x.do(Request{Order: Seal, Item: "hide", Record: "T-1"})
	x.do(Request{Order: Unseal, Item: "hide"})
	if got := x.c.mayReturn(); !strings.Contains(got, "not treated: heat it") {
		t.Error(got)
	}
	x.do(Request{Order: Treat, Item: "hide", Record: "T-3", Passed: true})
	if got := x.c.mayReturn(); !strings.Contains(got, "opened or unlabelled") {
		t.Error(got)
	}
	x.do(Request{Order: Seal, Item: "hide", Record: "T-3"})
	if got := x.c.mayReturn(); !strings.Contains(got, "enclosure is not in the list") {
		t.Error(got)
	}
	x.do(Request{Order: Furnish, Item: "bark", Way: ThrowAway})
	x.refused(Request{Order: Treat, Item: "bark", Record: "T-3", Passed: true})
	x.do(Request{Order: Furnish, Item: "enclosure", Way: HeatIt, Enclosure: true})
	x.do(Request{Order: Treat, Item: "enclosure", Record: "T-4", Passed: true})
	x.do(Request{Order: Unseal, Item: "enclosure"})
	if got := x.c.mayReturn(); got != "" {
		t.Error(got)
	}
	for i := len(x.c.View().Items); i < mostItems; i++ {
		x.do(Request{Order: Furnish, Item: fmt.Sprint("stone ", i), Way: WashIt})
	}
	x.refused(Request{Order: Furnish, Item: "one stone more", Way: WashIt})
	for w := HeatIt; w < wayCount; w++ {
		if got, ok := WayOf(w.String()); !ok || got != w {
			t.Error(w)
		}
	}
	if _, ok := WayOf("spray"); ok {
		t.Error("a way that is none")
	}
}

func TestRoundAdvice(t *testing.T) {
	r := AllWell()
	if len(r.Advice()) != 0 {
		t.Error("advice for what is well")
	}
	for c := range CheckCount {
		r := AllWell()
		r.Seen[c] = No
		a := r.Advice()
		if len(a) != 1 || a[0] != Check(c).See().Advice {
			t.Errorf("%v", a)
		}
		if got, ok := CheckOf(Check(c).See().Word); !ok || got != Check(c) {
			t.Errorf("%s is not found", Check(c).See().Word)
		}
	}
	if OrderOf("dance") != NoOrder {
		t.Error("an order that is none")
	}
	if _, ok := CheckOf("tail"); ok {
		t.Error("a check that is none")
	}
	// In a dry rest neither depth nor lid nor water is looked at.
	x := tell(t).to(DryRest)
	dry := Round{Seen: [CheckCount]Answer{HeadFree: Yes, Eyes: Yes, Pits: Yes, Chin: Yes, Vent: Yes}, Mites: -1}
	x.do(Request{Order: DoRound, Round: dry}, TellPresent)
	if got := TopUp(0.48, 12, 10, 0); got != 0.2 {
		t.Errorf("%g L", got)
	}
	if got := TopUp(0.48, 12, 10, 0.1); got != 1 {
		t.Errorf("%g L", got)
	}
}

func TestOrderOfWork(t *testing.T) {
	got := Work([]Neighbour{
		{"newest infested", true, 1, false}, {"quarantine new", false, 2, false}, {"old infested", true, 30, false},
		{"b settled", false, 0, true}, {"quarantine old", false, 20, false}, {"a settled", false, 0, true},
	})
	var names []string
	for _, n := range got {
		names = append(names, n.Name)
	}
	want := "a settled, b settled, quarantine old, quarantine new, old infested, newest infested"
	if s := strings.Join(names, ", "); s != want {
		t.Errorf("%s\nwant %s", s, want)
	}
	for _, a := range RoomAdvice() {
		if a.What == "" || a.How == "" || strings.Contains(a.How, "ml per") {
			t.Errorf("%+v", a)
		}
	}
}

func TestUnplacedAnimals(t *testing.T) {
	x, y := tell(t).to(Filling), tell(t).to(Soaking)
	if got := Unplaced([]*Case{x.c, y.c, {}, tell(t).to(Stopped).c}); len(got) != 1 || got[0] != "carpet python" {
		t.Error(got)
	}
	x.do(Request{Order: Place, Words: "in the carrier"})
	if got := Unplaced([]*Case{x.c}); len(got) != 0 {
		t.Error(got)
	}
}

func TestClockAndNight(t *testing.T) {
	for d, want := range map[time.Duration]string{
		0: "0 min", 45 * time.Minute: "45 min", 5 * time.Hour: "5 h", 310 * time.Minute: "5 h 10 min",
		48 * time.Hour: "2 days", 51 * time.Hour: "2 days 3 h", -time.Hour: "-1 h",
	} {
		if got := Clock(d); got != want {
			t.Errorf("%v: %q, want %q", d, got, want)
		}
	}
	p := UsualPlan()
	q := Plan{NightFrom: 1, NightTo: 5}
	if !p.Night(23) || !p.Night(3) || p.Night(7) || p.Night(21) || !q.Night(2) || q.Night(5) || q.Night(0) {
		t.Error("night is at the wrong time")
	}
}

func TestRestoreRefusesWhatWasNotSaved(t *testing.T) {
	saved := string(tell(t).to(Soaking).c.Save())
	watch := string(tell(t).to(Watch).c.Save())
	swap := func(s, old, new string) string {
		if !strings.Contains(s, old) {
			t.Fatalf("no %s in %s", old, s)
		}
		return strings.Replace(s, old, new, 1)
	}
	for name, b := range map[string]string{
		"nothing": "", "not JSON": "{", "another value after it": saved + "{}", "spaces": " " + saved,
		"unknown key": swap(saved, `"age":`, `"agee":`), "stage 99": swap(saved, `"stage":4`, `"stage":99`),
		"pause 99": swap(saved, `"pause":0`, `"pause":99`), "negative time": swap(saved, `"in":0`, `"in":-1`),
		"in water and not": swap(saved, `"in_tub":true`, `"in_tub":false`), "goes back": swap(saved, `"back":0`, `"back":3`),
		"answer 9": swap(saved, `"answers":[1`, `"answers":[9`), "no plan": swap(saved, `"soak":518400000000000`, `"soak":1`),
		"way 9": swap(watch, `"way":3`, `"way":9`), "no date": swap(watch, `"treated":"2028`, `"treated":"20x8`),
		"no room": swap(watch, `"room":300150000000`, `"room":0`), "no case with a state": swap(saved, `"stage":4`, `"stage":0`),
	} {
		var c Case
		if err := c.Restore([]byte(b)); err == nil {
			t.Errorf("%s was taken", name)
		} else if c.Stage() != NoStage {
			t.Errorf("%s: an error and a change", name)
		}
	}
}

// Random orders at random times: whatever is taken keeps what the package
// promises, and a restart at any moment changes nothing.
func TestRandomWalksKeepThePromises(t *testing.T) {
	seen := map[Stage]bool{}
	for seed := range uint64(24) {
		rng := rand.New(rand.NewPCG(seed, 7))
		x := tell(t)
		for range 400 {
			r := Request{
				Order: Order(rng.IntN(int(orderCount))), Now: x.now, Seen: Station{Ready: rng.IntN(8) > 0, Tripped: rng.IntN(12) == 0},
				ID: "walk", Station: "north", Animal: python(), Plan: UsualPlan(), Answers: allNo(), Verdict: "fits",
				Value: degrees(27), Grams: 900, Who: "a keeper", Words: "words", Item: "box", Way: WashIt, Enclosure: true, Record: "R", Passed: true,
				Round: AllWell(), Off: time.Hour, Unknown: rng.IntN(2) == 0,
			}
			// Mostly what the stage takes: the rest is refused sooner or later.
			for rng.IntN(8) > 0 && (r.Order == NoOrder || !x.c.allowed(r.Order)) {
				r.Order = Order(rng.IntN(int(orderCount)))
			}
			if (r.Order == UseChemical || r.Order == Air) && rng.IntN(2) == 0 {
				r.Item = "tub"
			}
			before := x.c.View()
			if (r.Order == Stop || r.Order == Again || r.Order == DoRinse) && rng.IntN(6) > 0 {
				r.Order = DoRound
			}
			if r.Order == Detergent && rng.IntN(2) > 0 {
				x.pass(31 * time.Minute)
				before = x.c.View()
			}
			_, err := x.c.Do(r)
			x.c.See(r.Seen)
			v := x.c.View()
			seen[v.Stage] = true
			if err == nil && r.Order == PutIn && (before.Stage != Ready || !r.Seen.Ready || r.Seen.Tripped) {
				t.Fatalf("seed %d: an animal went into a tub that was %s", seed, before.Stage)
			}
			for _, k := range before.Chemicals {
				if err == nil && k.Aired == "" && (r.Order == Return || r.Order == Clear || r.Order == PutIn && k.Where == "tub") {
					t.Fatalf("seed %d: %s with %+v", seed, r.Order, k)
				}
			}
			if v.Stage == Soaking && before.Stage != Soaking && before.Back != Soaking && before.Plain < before.Plan.Plain {
				t.Fatalf("seed %d: soak water after %s of plain water", seed, Clock(before.Plain))
			}
			if v.InTub && (v.Stage == DryRest || v.Stage > Attended) {
				t.Fatalf("seed %d: in the tub in %s", seed, v.Stage)
			}
			overdue := false
			for _, d := range x.c.Due(x.now, true) {
				overdue = overdue || d.Priority == Medium
			}
			if v.InTub && v.Wet >= v.Plan.LongestWet && !overdue {
				t.Fatalf("seed %d: in water for %s and nobody is told", seed, Clock(v.Wet))
			}
			switch rng.IntN(12) {
			case 0:
				if rng.IntN(4) == 0 {
					x.c.Resume(-1)
				}
			case 1:
				x.c.Resume(time.Duration(rng.IntN(50)) * time.Hour)
			default:
				x.c.Pass(time.Duration(rng.IntN(10*60)) * time.Minute)
			}
			x.again()
			x.now = x.now.Add(time.Duration(rng.IntN(72)) * time.Hour)
		}
	}
	for s := Filling; s < stageCount; s++ {
		if !seen[s] {
			t.Errorf("no walk reached %s", s)
		}
	}
}

// Source: WikiVet, "Preferred optimum temperature zone", as a secondary source.
func TestZonesArePublishedOnes(t *testing.T) {
	for group, c := range map[string]float64{"python": 25, "boa": 28, "corn snake": 25, "rat snake": 25, "kingsnake": 25, "garter snake": 21} {
		if got, ok := LowerOf(group); !ok || got != degrees(c) {
			t.Errorf("%s from %v", group, got)
		}
	}
	if _, ok := LowerOf("dragon"); ok {
		t.Error("a group that is none")
	}
}

func TestMattersHaveNamesOfTheirOwn(t *testing.T) {
	seen := map[string]bool{}
	for _, m := range Matters() {
		if seen[m.String()] || m.String() == "" || MatterOf(m.String()) != m {
			t.Errorf("matter %d is called %q", m, m)
		}
		seen[m.String()] = true
	}
	if MatterOf("") != NoMatter || MatterOf("over the cutoff") != NoMatter || Matter(99).String() != DaysUncounted.String() {
		t.Error("a name that is none")
	}
}

func TestCaseIsKnownByNumberAndTub(t *testing.T) {
	c := tell(t).to(Filling).c
	if v := c.View(); c.ID() != "2028-1" || c.Tub() != "north" || v.ID != c.ID() || v.Station != c.Tub() {
		t.Errorf("%q at %q", c.ID(), c.Tub())
	}
}

func TestClockAnswersInAPersonsPlace(t *testing.T) {
	x := tell(t).to(Soaking)
	if x.c.Learn(time.Hour) {
		t.Error("nothing is asked")
	}
	x.c.Resume(-1)
	if x.c.Learn(-time.Minute) || x.c.View().Pause != AskOutage {
		t.Error("a clock that ran backward answers")
	}
	before := x.c.View()
	if !x.c.Learn(10*time.Minute) || x.c.View().Pause != NoPause || x.c.View().Wet != before.Wet+10*time.Minute {
		t.Errorf("ten minutes: %+v", x.c.View())
	}
	x.c.Resume(-1)
	if !x.c.Learn(5*time.Hour) || x.c.View().Pause != AskRound {
		t.Errorf("five hours: %+v", x.c.View())
	}
}
