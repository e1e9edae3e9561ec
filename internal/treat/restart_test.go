package treat

import (
	"strings"
	"testing"
	"time"

	"soakwarden/controller"
)

// A power cut whose length a trusted clock measured restarts the clock of a
// heating; of a freezing only when it is longer than the rule.
func TestKnownInterruption(t *testing.T) {
	t.Parallel()
	w := newWorld(t, "cabinet")
	w.start("core-56-30min")
	w.until("holding", 8*time.Hour)
	w.pass(10 * time.Minute)
	held := w.view().Longest
	w.restart(time.Minute)
	// Nobody watched the door: the warning comes first, however short the stop.
	for began := w.now; w.now < began+warningLong-w.step; {
		if d := w.tick(); !d.Buzzer || d.Treatment.Target != noHeat {
			t.Fatalf("%s after the stop: %+v", w.now-began, d)
		}
	}
	v := w.view()
	if v == nil || !v.Running || v.Longest < held-keepEvery || v.Together > warningLong {
		t.Fatalf("%+v", v)
	}
	if text := strings.Join(w.desk.Deviations("cabinet"), "\n"); !strings.Contains(text, "it was watched again after") || !strings.Contains(text, "the clock was restarted") {
		t.Error(text)
	}
	w.until("cooling down", 3*time.Hour)
	if v := w.view(); v.Result != "PASS" || v.Longest < 30*time.Minute {
		t.Errorf("%+v", v)
	}
}

func TestKnownInterruptionOfAFreezer(t *testing.T) {
	t.Parallel()
	for dark, kept := range map[time.Duration]bool{time.Minute: true, 20 * time.Minute: false} {
		w := newWorld(t, "freezer", thin)
		w.step = time.Minute
		w.start("freeze-18-14d")
		w.frozen = true
		w.spoil = func(r []controller.Reading) {
			for i := range r {
				r[i].Value = controller.Below(r[i].Value, 40*controller.Kelvin)
			}
		}
		w.pass(5 * time.Hour)
		before := w.view().Together
		if before < 4*time.Hour {
			t.Fatalf("%+v", w.view())
		}
		w.restart(dark)
		w.pass(5 * time.Minute)
		if got := w.view().Together; (got > before) != kept {
			t.Errorf("dark for %s: %s held before, %s after", dark, before, got)
		}
	}
}

// An interruption of unknown length warns for ten minutes again and begins from
// nothing.
func TestUnknownInterruption(t *testing.T) {
	t.Parallel()
	w := newWorld(t, "cabinet")
	w.start("core-56-30min")
	w.until("holding", 8*time.Hour)
	w.pass(25 * time.Minute)
	w.trusted = false
	w.restart(time.Hour)
	v := w.view()
	if v == nil || v.Stage != "ten minutes of warning" || !w.last.Buzzer || w.last.Treatment.Target != noHeat {
		t.Fatalf("%+v %+v", v, w.last)
	}
	if text := strings.Join(w.desk.Deviations("cabinet"), "\n"); !strings.Contains(text, "for how long is not known: the clock restarts") {
		t.Error(text)
	}
	w.until("holding", 8*time.Hour)
	if got := w.view(); got.Together > time.Minute || got.Result != "open" {
		t.Errorf("%+v", got)
	}
	w.until("cooling down", 3*time.Hour)
	if v := w.view(); v.Result != "PASS" {
		t.Errorf("%+v", v)
	}
}

// A warning that was broken off is sounded again, whole: the time in which the
// program did not run warned nobody, and somebody may have put an animal in.
func TestInterruptedWarningIsWhole(t *testing.T) {
	t.Parallel()
	for _, trusted := range []bool{true, false} {
		w := newWorld(t, "cabinet")
		w.start("core-56-30min")
		w.pass(2 * time.Minute)
		w.trusted = trusted
		w.restart(time.Hour)
		for began := w.now; w.now < began+warningLong-w.step; {
			if d := w.tick(); !d.Buzzer || d.Treatment.Target != noHeat {
				t.Fatalf("trusted %v, %s after the start: %+v", trusted, w.now-began, d)
			}
		}
		w.until("heating to the target", time.Minute)
	}
}

// A clock that was stepped back during the cut is not believed.
func TestClockThatRanBackward(t *testing.T) {
	t.Parallel()
	w := newWorld(t, "cabinet")
	w.start("core-56-30min")
	w.pass(30 * time.Minute)
	w.clock -= 2 * time.Hour
	w.restart(time.Minute)
	if text := strings.Join(w.desk.Deviations("cabinet"), "\n"); !strings.Contains(text, "is not known") {
		t.Error(text)
	}
}

// What was kept and cannot be read is told, and nothing heats.
func TestKeptThingsThatCannotBe(t *testing.T) {
	t.Parallel()
	w := newWorld(t, "cabinet")
	w.start("core-56-30min")
	w.pass(5 * time.Minute)
	saved, err := w.record.LoadStates()
	if err != nil {
		t.Fatal(err)
	}
	whole := string(saved[key("cabinet")])
	for name, text := range map[string]string{
		"no JSON": "{", "cut off": whole[:len(whole)/2] + `"}`, "another form": `{"count":3,"job":"AAAA"}`,
	} {
		w.told = nil
		w.open(map[string][]byte{key("cabinet"): []byte(text)})
		if d := w.tick(); len(w.told) != 1 || d.Treatment.Running || w.view() != nil {
			t.Errorf("%s: %v %+v", name, w.told, d)
		}
	}
	// Another configuration ends it: another probe stands where one was judged.
	rom := w.st.Probes[1].ROM
	w.told, w.st.Probes[1].ROM = nil, "28-0000000000ff"
	w.open(saved)
	if d := w.tick(); len(w.told) != 1 || d.Treatment.Running || !strings.Contains(w.told[0].Error(), "was judged by "+rom) {
		t.Errorf("%v %+v", w.told, d)
	}
	w.told, w.st.Probes[1].ROM = nil, rom
	w.st.Probes = w.st.Probes[:3]
	w.open(saved)
	if w.tick(); len(w.told) != 1 || !strings.Contains(w.told[0].Error(), "had 4 probes and the configuration has 3") {
		t.Error(w.told)
	}
	// It is said until another begins, and no start of the program loses it twice.
	if list, err := w.desk.Standing(""); err != nil || !strings.Contains(list[0].Reason, "a treatment before is a FAIL") {
		t.Errorf("%+v %v", list, err)
	}
	if saved, err = w.record.LoadStates(); err != nil {
		t.Fatal(err)
	}
	w.told = nil
	w.st.Probes = w.st.Probes[:4]
	w.open(saved)
	if w.tick(); len(w.told) != 0 {
		t.Error(w.told)
	}
	if ch := w.start("core-56-30min"); ch.Number != "cabinet-0002" {
		t.Error(ch.Number)
	}
}

// While the chamber heats as nobody planned the clock does not run.
func TestUnsoundHeat(t *testing.T) {
	t.Parallel()
	w := newWorld(t, "cabinet")
	w.start("core-56-30min")
	w.until("holding", 8*time.Hour)
	w.pass(5 * time.Minute)
	w.look.Reason = controller.AirflowLost
	w.pass(10 * time.Minute)
	if v := w.view(); v.Together != 0 || v.Stage != "heating to the target" || v.Waits != "airflow lost to clear" {
		t.Errorf("%+v", v)
	}
	w.look.Reason = controller.NoCause
	w.pass(10 * time.Minute)
	if v := w.view(); v.Together < 9*time.Minute || v.Together > 10*time.Minute {
		t.Errorf("%+v", v)
	}
}
