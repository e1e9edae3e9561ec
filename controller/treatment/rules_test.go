package treatment

import (
	"reflect"
	"strings"
	"testing"
	"time"

	"soakwarden/controller"
)

func TestRulesThatCannotBe(t *testing.T) {
	good := two(30*m, false, 56)
	for words, spoil := range map[string]func(*Rules){
		"uncertainty is negative":    func(r *Rules) { r.Probes = []Probe{{Uncertainty: -1}, {}} },
		"place 7 is none":            func(r *Rules) { r.Probes = []Probe{{Place: 7}, {}} },
		"its plan is negative":       func(r *Rules) { r.Probes = []Probe{{Lag: -1}, {}} },
		"65 probes are more than 64": func(r *Rules) { r.Probes = make([]Probe, 65) },
		"air alone proves nothing":   func(r *Rules) { r.Probes = []Probe{{Place: Air}} },
		"3 of 2 probes are required": func(r *Rules) { r.Required = 3 },
		"0 of 2 probes are required": func(r *Rules) { r.Required = 0 },
		"the schedule has no time":   func(r *Rules) { r.Schedule.Hold = 0 },
		"the schedule has no target": func(r *Rules) { r.Schedule.Target = 0 },
		"the longest gap is 0s":      func(r *Rules) { r.LongestGap = 0 },
		"the longest gap is 1h0m0.0": func(r *Rules) { r.LongestGap = time.Hour + time.Millisecond },
		"a z is negative":            func(r *Rules) { r.Lethality.Above = -1 },
	} {
		r := good
		spoil(&r)
		if _, err := NewJudge(r); err == nil || !strings.Contains(err.Error(), words) {
			t.Errorf("%s: %v", words, err)
		}
	}
}

// A judge that was put away and taken out again judges on as if nothing had
// been; one whose memory cannot be is refused.
func TestResume(t *testing.T) {
	whole, first := judge(t, two(30*m, false, 56)), judge(t, two(30*m, false, 56))
	for n := range 40 {
		r := row{time.Duration(n) * m, []float64{57 + float64(n%7)/10, 56 + float64(n)/10}}
		show(whole, r)
		show(first, r)
		again, err := Resume(first.Rules(), first.Copy())
		if err != nil {
			t.Fatal(err)
		}
		first = again
	}
	if !reflect.DeepEqual(whole.State, first.State) {
		t.Errorf("%+v\n%+v", whole.State, first.State)
	}
	for words, spoil := range map[string]func(*State){
		"has 1 probes":           func(s *State) { s.Probes = s.Probes[:1] },
		"lies after its own end": func(s *State) { s.Longest.To = s.Now + 1 },
		"judgement of a lies":    func(s *State) { s.Probes[0].Last.At = s.Now + 1 },
		"judgement of b lies":    func(s *State) { s.Probes[1].Run.From = s.Probes[1].Run.To + 1 },
	} {
		s := first.Copy()
		spoil(&s)
		if _, err := Resume(first.Rules(), s); err == nil || !strings.Contains(err.Error(), words) {
			t.Errorf("%s: %v", words, err)
		}
	}
	bad := first.Rules()
	bad.Required = 9
	if _, err := Resume(bad, first.Copy()); err == nil {
		t.Error("rules that cannot be were taken")
	}
}

func TestSchedules(t *testing.T) {
	seen := map[string]bool{}
	for _, s := range Schedules() {
		if s.Source == "" || s.For == "" || seen[s.Name] {
			t.Errorf("%+v", s)
		}
		seen[s.Name] = true
		if why := s.RefusalOf(); why != "" {
			t.Errorf("%s is built in and refused: %s", s.Name, why)
		}
		if got, ok := Find(s.Name); !ok || got != s {
			t.Errorf("%s is not found", s.Name)
		}
		if _, err := NewJudge(Rules{Schedule: s, Probes: []Probe{{}}, Required: 1, LongestGap: m}); err != nil {
			t.Error(err)
		}
	}
	for _, r := range RefusedSchedules() {
		if r.Reason == "" || r.Source == "" || seen[r.Name] {
			t.Errorf("%+v", r)
		}
		if got, ok := FindRefused(r.Name); !ok || got != r {
			t.Errorf("%s is not found", r.Name)
		}
	}
	if _, ok := Find("no such"); ok {
		t.Error("found what is not there")
	}
	if _, ok := FindRefused("no such"); ok {
		t.Error("found what is not there")
	}
	// 56 °C for 30 min (ISPM 15), 45 °C for 48 h (Goselink et al. 2020), 50 °C
	// for 5 h (Mahakittikun et al. 2011).
	for name, want := range map[string]Schedule{
		"core-56-30min": {Target: celsius(56), Hold: 30 * time.Minute}, "house-45-48h": {Target: celsius(45), Hold: 48 * time.Hour},
		"dry-50-5h": {Target: celsius(50), Hold: 5 * time.Hour}, "freeze-18-14d": {Freeze: true, Target: celsius(-18), Hold: 336 * time.Hour},
	} {
		if s, _ := Find(name); s.Target != want.Target || s.Hold != want.Hold || s.Freeze != want.Freeze {
			t.Errorf("%+v", s)
		}
	}
}

func TestRefusals(t *testing.T) {
	for words, s := range map[string]Schedule{
		"has no time":               {Target: celsius(56)},
		"at more than −18 °C":       {Target: celsius(-7), Hold: 48 * time.Hour, Freeze: true},
		"less than 7 days":          {Target: celsius(-35), Hold: 48 * time.Hour, Freeze: true},
		"less than 14 days":         {Target: celsius(-20), Hold: 8 * day, Freeze: true},
		"less than 45 °C":           {Target: celsius(44), Hold: 100 * time.Hour},
		"less than 50 °C for less":  {Target: celsius(49), Hold: 47 * time.Hour},
		"less than 55 °C for less":  {Target: celsius(54), Hold: 4 * time.Hour},
		"for less than 30 min":      {Target: celsius(60), Hold: 29 * m},
		"more than 65 °C":           {Target: celsius(66), Hold: time.Hour},
		"freezes at less than −40 ": {Target: celsius(-41), Hold: 14 * day, Freeze: true},
	} {
		if got := s.RefusalOf(); !strings.Contains(got, words) {
			t.Errorf("%+v: %q", s, got)
		}
	}
}

func TestWords(t *testing.T) {
	for _, c := range []struct {
		got, want string
	}{
		{Words(celsius(56)), "56.0 °C (132.8 °F)"},
		{Words(celsius(-18)), "−18.0 °C (−0.4 °F)"},
		{Words(celsius(0) - 1_000_000), "0.0 °C (32.0 °F)"},
		{kelvin(-1250 * controller.MilliKelvin), "−1.3 K"},
		{kelvin(49 * controller.MilliKelvin), "less than 0.1 K"},
		{kelvin(50 * controller.MilliKelvin), "0.1 K"},
		{kelvin(0), "0.0 K"},
		{Open.String() + Fail.String() + Pass.String(), "openFAILPASS"},
		{TooQuick.String() + FellOut.String(), "was at the target in under half of its planned time: it is not in a corea reading short of the target"},
		{CameBack.String(), "a probe that had been dropped gave data again"},
	} {
		if c.got != c.want {
			t.Errorf("%q, want %q", c.got, c.want)
		}
	}
	s := Schedule{Target: celsius(56)}
	if s.Behind(celsius(55), controller.Kelvin) != 2*controller.Kelvin {
		t.Error("behind in heating")
	}
	s = Schedule{Target: celsius(-18), Freeze: true}
	if s.Behind(celsius(-15), controller.Kelvin) != 4*controller.Kelvin {
		t.Error("behind in freezing")
	}
}
