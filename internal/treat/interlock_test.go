package treat

import (
	"strings"
	"testing"
	"time"

	"soakwarden/controller"
)

// What keeps a treatment from being announced.
func TestAnnouncementsThatAreRefused(t *testing.T) {
	t.Parallel()
	for words, c := range map[string]struct {
		order func(*Order)
		world func(*world)
	}{
		"the operator's name is missing":           {order: func(o *Order) { o.Operator = "  " }},
		"who lives in cabinet?":                    {order: func(o *Order) { o.Residents = nil }},
		"say one of the two":                       {order: func(o *Order) { o.NoResidents = true }},
		"an animal's name is missing":              {order: func(o *Order) { o.Residents[0].Name = "" }},
		"where corn snake is now is missing":       {order: func(o *Order) { o.Residents[0].Now = " " }},
		"corn snake is said to be in \"behind the": {order: func(o *Order) { o.Residents[0].Now = "behind the Cabinet" }},
		"has a control character":                  {order: func(o *Order) { o.Load = "a\nb" }},
		"at most 500 characters":                   {order: func(o *Order) { o.Mapping = strings.Repeat("x", 501) }},
		"51 animals are named":                     {order: func(o *Order) { o.Residents = make([]Resident, 51) }},
		"there is no chamber \"oven\"":             {order: func(o *Order) { o.Station = "oven" }},
		"there is no schedule \"quick\"":           {order: func(o *Order) { o.Schedule = "quick" }},
		"is refused: it is a floor and no":         {order: func(o *Order) { o.Schedule = "heat-110F" }},
		"core-56-30min stands alone":               {order: func(o *Order) { o.Hold = "1h" }},
		"which schedule?":                          {order: func(o *Order) { o.Schedule = "" }},
		"target: \"56\" has no unit":               {order: func(o *Order) { o.Schedule, o.Target, o.Hold = "", "56", "1h" }},
		"hold: \"1\" has no unit":                  {order: func(o *Order) { o.Schedule, o.Target, o.Hold = "", "56C", "1" }},
		"it heats to less than 45 °C":              {order: func(o *Order) { o.Schedule, o.Target, o.Hold = "", "110F", "100h" }},
		"longest gap: \"5\" has no unit":           {order: func(o *Order) { o.LongestGap = "5" }},
		"write one from 10s to 1h":                 {order: func(o *Order) { o.LongestGap = "1s" }},
		"cabinet does the other":                   {order: func(o *Order) { o.Schedule = "freeze-18-14d" }},
		"the plan does not fit":                    {order: func(o *Order) { o.Schedule, o.Target, o.Hold = "", "64C", "1h" }},
		"the door of cabinet is open":              {world: func(w *world) { w.look.Health.DoorOpen = true }},
		"cabinet is out of service":                {world: func(w *world) { w.look.Stopped = true }},
		"cabinet is latched on \"over the limit\"": {world: func(w *world) { w.look.Latched, w.look.Reason = true, controller.OverLimit }},
		"air moves while its fan is off":           {world: func(w *world) { w.look.Last.Fan = false }},
		"probe 28-0000a2000003 gives no good":      {world: func(w *world) { w.spoil = func(r []controller.Reading) { r[2].Quality = controller.Bad } }},
	} {
		w := newWorld(t, "cabinet")
		o := w.order("core-56-30min")
		if c.order != nil {
			c.order(&o)
		}
		if c.world != nil {
			c.world(w)
			w.tick()
		}
		if _, err := w.desk.Announce(o); err == nil || !strings.Contains(err.Error(), words) {
			t.Errorf("%s: %v", words, err)
		}
		if d := w.tick(); d.Treatment.Running || d.Buzzer {
			t.Errorf("%s: it runs all the same", words)
		}
	}
	w := newWorld(t, "freezer")
	if _, err := w.desk.Announce(w.order("core-56-30min")); err == nil {
		t.Error("a freezer heats")
	}
	w.cfg.Stations[0].Kind = controller.Tub
	w.open(nil)
	if _, err := w.desk.Announce(w.order("freeze-18-14d")); err == nil || !strings.Contains(err.Error(), "is a tub: a treatment runs in a chamber") {
		t.Errorf("a tub: %v", err)
	}
	if w.desk.Driver("freezer") != nil {
		t.Error("a tub has a driver")
	}
}

// Nothing starts without the sentence of this very announcement.
func TestTypedConfirmation(t *testing.T) {
	t.Parallel()
	w := newWorld(t, "cabinet")
	try := func(typed, words string) {
		t.Helper()
		if _, _, err := w.desk.Start("cabinet", typed); err == nil || !strings.Contains(err.Error(), words) {
			t.Errorf("%q: %v", typed, err)
		}
		if d := w.tick(); d.Treatment.Running || d.Buzzer || w.view() != nil {
			t.Errorf("%q: it runs all the same", typed)
		}
	}
	const sentence = "nothing alive is inside cabinet " + code
	try(sentence, "no treatment of cabinet is announced")
	for _, typed := range []string{"", "yes", "nothing alive is inside cabinet", sentence + " ", strings.ToUpper(sentence)} {
		if _, err := w.desk.Announce(w.order("core-56-30min")); err != nil {
			t.Fatal(err)
		}
		try(typed, "is not what had to be typed")
		// A wrong line spends the announcement.
		try(sentence, "is announced")
	}
	if _, err := w.desk.Announce(w.order("core-56-30min")); err != nil {
		t.Fatal(err)
	}
	w.pass(challengeFor + time.Second)
	try(sentence, "an announcement stands for 10m0s")
	if _, err := w.desk.Announce(w.order("core-56-30min")); err != nil {
		t.Fatal(err)
	}
	w.look.Health.DoorOpen = true
	w.tick()
	try(sentence, "the door of cabinet is open")
	w.look.Health.DoorOpen = false
	w.tick()
	w.start("core-56-30min")
	if _, err := w.desk.Announce(w.order("core-56-30min")); err == nil || !strings.Contains(err.Error(), "cabinet-0001 is in cabinet") {
		t.Errorf("twice: %v", err)
	}
	if len(fourDigits()) != 4 {
		t.Error("four digits")
	}
}

// Ten minutes of buzzer with the fan on and no heat; an open door begins them
// anew, and still air keeps them from ending.
func TestTenMinutesOfWarning(t *testing.T) {
	t.Parallel()
	w := newWorld(t, "cabinet")
	w.start("core-56-30min")
	began := w.now
	w.look.Health.AirflowSeen = false
	for w.now < began+warningLong+time.Minute {
		if d := w.tick(); !d.Buzzer || !d.Treatment.Running || d.Treatment.Target != noHeat {
			t.Fatalf("after %s: %+v", w.now-began, d)
		}
	}
	if v := w.view(); v.Waits != "the air to move: look at the fan" {
		t.Error(v.Waits)
	}
	w.look.Health.AirflowSeen, w.look.Health.DoorOpen = true, true
	if d := w.tick(); d.Buzzer || d.Treatment.Running {
		t.Errorf("door open: %+v", d)
	}
	if v := w.view(); !strings.HasPrefix(v.Waits, "the door to be closed") {
		t.Error(v.Waits)
	}
	w.look.Health.DoorOpen = false
	began = w.now
	for w.now < began+warningLong-w.step {
		if d := w.tick(); !d.Buzzer || d.Treatment.Target != noHeat {
			t.Fatalf("%s after the door: %+v", w.now-began, d)
		}
	}
	w.pass(2 * w.step)
	if d := w.tick(); d.Buzzer || d.Treatment.Target <= noHeat || !d.Treatment.Running {
		t.Errorf("%+v", d)
	}
}

// A buzzer that takes no order warns nobody: its ten minutes do not pass. In a
// freezer nothing will heat, and they do.
func TestMuteBuzzer(t *testing.T) {
	t.Parallel()
	w := newWorld(t, "cabinet")
	w.start("core-56-30min")
	w.pass(9 * time.Minute)
	w.mute = true
	for range 60 * 12 {
		if d := w.tick(); !d.Buzzer || d.Treatment.Target != noHeat {
			t.Fatalf("after %s: %+v", w.now, d)
		}
	}
	if v := w.view(); !strings.HasPrefix(v.Waits, "the buzzer, which cannot be switched on") {
		t.Error(v.Waits)
	}
	if d := w.desk.Deviations("cabinet"); len(d) != 1 || !strings.Contains(d[0], "the buzzer could not be switched on") {
		t.Errorf("%q", d)
	}
	w.mute = false
	for began := w.now; w.now < began+warningLong; {
		if d := w.tick(); d.Treatment.Target != noHeat {
			t.Fatalf("%s after it sounded: %+v", w.now-began, d)
		}
	}
	w.until("heating to the target", time.Minute)

	w = newWorld(t, "cabinet")
	w.cfg.Notify.Buzzer = ""
	if _, err := w.desk.Announce(w.order("core-56-30min")); err == nil || !strings.Contains(err.Error(), "nothing would sound before cabinet heats: name an output as buzzer") {
		t.Error(err)
	}
	w = newWorld(t, "freezer")
	w.mute = true
	w.start("freeze-18-14d")
	w.until("cooling to the target", warningLong+time.Minute)
}

// Whoever opened the door may have put something in: heat comes back only after
// another warning, and what was held before counts no more.
func TestOpenedDoorWarnsAnew(t *testing.T) {
	t.Parallel()
	w := newWorld(t, "cabinet")
	w.start("core-56-30min")
	w.until("holding", 8*time.Hour)
	w.pass(10 * time.Minute)
	w.look.Health.DoorOpen = true
	w.tick()
	if v := w.view(); v.Stage != "ten minutes of warning" || v.Together != 0 {
		t.Errorf("%+v", v)
	}
	w.tick()
	w.look.Health.DoorOpen = false
	for began := w.now; w.now < began+warningLong-w.step; {
		if d := w.tick(); !d.Buzzer || d.Treatment.Target != noHeat {
			t.Fatalf("%s after the door: %+v", w.now-began, d)
		}
	}
	w.until("holding", 4*time.Hour)
	if gap := w.desk.chambers[0].judge.LargestGap(); gap > time.Minute {
		t.Errorf("the judge was blind for %s", gap)
	}
	text := strings.Join(w.desk.Deviations("cabinet"), "\n")
	if !strings.Contains(text, "the door was opened") || !strings.Contains(text, "the clock was restarted") {
		t.Error(text)
	}
	// In a freezer the door is written down.
	w = newWorld(t, "freezer")
	w.st.DoorInput = "door"
	w.start("freeze-18-14d")
	w.pass(time.Hour)
	w.look.Health.DoorOpen = true
	w.tick()
	if v := w.view(); v.Stage != "cooling to the target" || len(w.desk.Deviations("freezer")) != 1 {
		t.Errorf("%+v", v)
	}
}

// A program that stood still for longer than the rule watched nobody.
func TestStandstillWarnsAnew(t *testing.T) {
	t.Parallel()
	for _, name := range []string{"cabinet", "freezer"} {
		w := newWorld(t, name)
		w.start(map[string]string{"cabinet": "core-56-30min", "freezer": "freeze-18-14d"}[name])
		w.pass(time.Hour)
		w.step = usualGap
		w.tick()
		if v := w.view(); v.Stage == "ten minutes of warning" {
			t.Errorf("%s: after exactly the rule: %+v", name, v)
		}
		w.step = usualGap + time.Second
		w.tick()
		if v := w.view(); (v.Stage == "ten minutes of warning") != (name == "cabinet") {
			t.Errorf("%s: past the rule: %+v", name, v)
		}
	}
}

// A dead probe keeps the chamber shut until a named person has opened it and
// measured by hand; a probe that speaks is not overruled.
func TestReleaseOfADeadProbe(t *testing.T) {
	t.Parallel()
	w := newWorld(t, "cabinet")
	dead, alive := w.st.Probes[1].ROM, w.st.Probes[0].ROM
	refused := func(words string, hand ...Hand) {
		t.Helper()
		_, _, err := w.desk.Release(Release{Station: "cabinet", Who: "Ada Example", Hand: hand})
		if err == nil || !strings.Contains(err.Error(), words) {
			t.Errorf("%v: %v, want %q", hand, err, words)
		}
	}
	w.start("core-56-30min")
	w.pass(2 * time.Hour)
	refused("is under way", Hand{dead, "24C"})
	if _, err := w.desk.Stop("cabinet", "Ada Example", ""); err != nil {
		t.Fatal(err)
	}
	w.spoil = func(r []controller.Reading) { r[1].Quality = controller.Bad }
	w.tick()
	refused("spoke less than a minute ago", Hand{dead, "24C"})
	w.pass(5 * time.Minute)
	refused("is not safe to open", Hand{dead, "24C"}) // the others are hot
	w.room = 19
	w.pass(40 * time.Hour)
	refused("unplug the heater, open the chamber with care, hold a thermometer to its place, and release with --hand " + dead + "=TEMPERATURE")
	refused("probe "+alive+" speaks", Hand{dead, "24C"}, Hand{alive, "24C"})
	refused("30.0 °C (86.0 °F) at "+dead, Hand{dead, "30C"})
	refused("has no unit", Hand{dead, "24"})
	refused("is no reading of a chamber", Hand{dead, "-80C"})
	refused("is named twice", Hand{dead, "24C"}, Hand{strings.ToUpper(dead), "25C"})
	refused("has no probe \"28-1\"", Hand{"28-1", "24C"})
	w.spoil = func(r []controller.Reading) { r[1].Quality, r[2].Quality = controller.Bad, controller.Bad }
	w.pass(2 * time.Minute)
	refused(w.st.Probes[2].ROM+" gives no reading either", Hand{dead, "24C"})
	w.spoil = func(r []controller.Reading) { r[1].Quality = controller.Bad }
	w.tick()
	if v := w.view(); !strings.Contains(v.Waits, "--hand "+dead) {
		t.Error(v.Waits)
	}
	out, _, err := w.desk.Release(Release{Station: "cabinet", Who: "Ada Example", Hand: []Hand{{dead, "24.4C"}}})
	if err != nil || out.Result != "FAIL" {
		t.Fatalf("%+v %v", out, err)
	}
	for _, line := range []string{
		dead + " gave no reading at the release: Ada Example opened the chamber and read 24.4 °C (75.9 °F) there on a hand thermometer",
		"plank 24.4 °C (75.9 °F) by a hand thermometer",
	} {
		if !strings.Contains(out.Record, line) {
			t.Errorf("the record has no %q:\n%s", line, out.Record)
		}
	}
}

func TestStopAndRelease(t *testing.T) {
	t.Parallel()
	w := newWorld(t, "cabinet")
	release := func(r Release, words string) {
		t.Helper()
		r.Station = "cabinet"
		if _, _, err := w.desk.Release(r); err == nil || !strings.Contains(err.Error(), words) {
			t.Errorf("%+v: %v, want %q", r, err, words)
		}
	}
	release(Release{Who: "Ada Example"}, "no treatment is in cabinet")
	if _, err := w.desk.Stop("cabinet", "Ada Example", ""); err == nil {
		t.Error("nothing was stopped")
	}
	w.start("core-56-30min")
	w.pass(2 * time.Hour)
	release(Release{Who: "Ada Example"}, "is under way (heating to the target): stop it first")
	if _, err := w.desk.Stop("cabinet", " ", ""); err == nil || !strings.Contains(err.Error(), "who stops it is missing") {
		t.Error(err)
	}
	if _, err := w.desk.Stop("cabinet", "Ada Example", "smoke"); err != nil {
		t.Fatal(err)
	}
	if d := w.tick(); d.Treatment.Target != noHeat || !d.Treatment.Running || d.Buzzer {
		t.Errorf("after a stop: %+v", d)
	}
	if v := w.view(); v.Result != "FAIL" || !strings.HasPrefix(v.Reason, "stopped by Ada Example: smoke; together") || v.Running {
		t.Errorf("%+v", v)
	}
	release(Release{Who: "Ada Example"}, "is not safe to open: it waits for every probe to be under 30.0 °C (86.0 °F)")
	w.until("waits for release", 30*time.Hour)
	w.spoil = func(r []controller.Reading) { r[1].Quality = controller.Bad }
	w.tick()
	release(Release{Who: "Ada Example"}, "plank, which gives no reading")
	w.spoil = nil
	w.tick()
	release(Release{}, "the name of who releases it is missing")
	release(Release{Who: "Ada Example", After: []After{{"28-0", "0.1K", ""}}}, "cabinet has no probe \"28-0\"")
	release(Release{Who: "Ada Example", After: []After{{"28-0000a2000001", "0.1", ""}}}, "has no unit")
	if out, _, err := w.desk.Release(Release{Station: "cabinet", Who: "Ada Example"}); err != nil || out.Result != "FAIL" {
		t.Errorf("%+v %v", out, err)
	}
	if w.view() != nil {
		t.Error("it is still there")
	}
	// The next one has the next number.
	if ch := w.start("core-56-30min"); ch.Number != "cabinet-0002" {
		t.Error(ch.Number)
	}
}

// The heat stays away while the hottest spot is at the limit of the load, and a
// treatment that takes far too long is told and then ended.
func TestLimitAndOverTime(t *testing.T) {
	t.Parallel()
	w := newWorld(t, "cabinet")
	w.start("core-56-30min")
	w.pass(30 * time.Minute)
	w.spoil = func(r []controller.Reading) { r[0].Value = controller.Above(r[0].Value, 40*controller.Kelvin) }
	if d := w.tick(); d.Treatment.Target != noHeat {
		t.Errorf("%+v", d)
	}
	// A chamber that stays cold.
	w.spoil = nil
	w.frozen, w.step = true, time.Minute
	told := time.Duration(0)
	for range 30 * 60 {
		if d := w.tick(); d.Treatment.OverTime && told == 0 {
			told = w.view().Elapsed
		}
		if v := w.view(); !v.Running {
			break
		}
	}
	v := w.view()
	if told == 0 || v.Running || v.Result != "FAIL" || !strings.HasPrefix(v.Reason, "over time: not held after") || v.Elapsed < 2*told {
		t.Errorf("told after %s, %+v", told, v)
	}
}
