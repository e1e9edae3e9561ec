package controller

import (
	"bytes"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller/alarm"
)

var update = flag.Bool("update", false, "rewrite the narrations under testdata")

// A story is a script of commands, one a line at the margin, each followed by
// what the station said until the next one, indented. The water is the test
// double of plant_test.go.
//
//	tub WATER [floor] [single] [shared] [attended only]    a station that knows nothing
//	chamber
//	run SPAN                             let time pass
//	until ready|latched|heat|proven SPAN let time pass until then, at most so long
//	act KIND [CAUSE] [board] [seen]      a person's act; from the page unless at the board
//	fault NAME, heal NAME                of the plant, of probes, of the program's health
//	water C, room C, sun K/h, gain TIMES as said
//	differ K                             the guard probe stands so much over the control probe
//	stop                                 the treatment ends
//	hush                                 say no more of every switching
//	restart [clean|unclean N]            save, a station that knows nothing, restore
//	show                                 where it stands
func TestStories(t *testing.T) {
	files, err := filepath.Glob("testdata/*.story")
	if err != nil || len(files) == 0 {
		t.Fatalf("no stories: %v", err)
	}
	for _, f := range files {
		t.Run(strings.TrimSuffix(filepath.Base(f), ".story"), func(t *testing.T) {
			script, err := os.ReadFile(f)
			if err != nil {
				t.Fatal(err)
			}
			got := tellStory(t, string(script))
			if *update {
				if err := os.WriteFile(f, got, 0o644); err != nil {
					t.Fatal(err)
				}
				return
			}
			if !bytes.Equal(got, script) {
				t.Errorf("%s tells another story now; go test -run Stories -update and review\n%s", f, firstDifference(string(script), string(got)))
			}
		})
	}
}

func firstDifference(want, got string) string {
	w, g := strings.Split(want, "\n"), strings.Split(got, "\n")
	for i := range w {
		if i >= len(g) || w[i] != g[i] {
			return fmt.Sprintf("line %d\nwant %s\ngot  %s", i+1, w[i], strings.Join(g[i:min(i+1, len(g))], ""))
		}
	}
	return "more lines than before"
}

type teller struct {
	*bench
	set  Settings
	say  bytes.Buffer
	hush bool
}

func tellStory(t *testing.T, script string) []byte {
	tell := &teller{}
	for _, line := range strings.Split(strings.TrimRight(script, "\n"), "\n") {
		if strings.HasPrefix(line, "  ") {
			continue // old narration
		}
		tell.say.WriteString(line + "\n")
		if line == "" || strings.HasPrefix(line, "#") {
			continue
		}
		if err := tell.do(strings.Fields(line)); err != nil {
			t.Fatalf("%q: %v", line, err)
		}
	}
	return tell.say.Bytes()
}

func (t *teller) do(f []string) error {
	has := func(w string) bool { return strings.Contains(strings.Join(f, " "), w) }
	number := func(i int) float64 { v, _ := strconv.ParseFloat(f[i], 64); return v }
	switch f[0] {
	case "tub":
		t.set = tubSettings()
		if has("single") {
			t.set.Probes = t.set.Probes[:1]
		}
		if has("floor") {
			t.set.Probes = append(t.set.Probes, ProbeSettings{Role: RoleFloor, Calibrated: true})
		}
		t.set.SeriesShared = has("shared")
		t.set.AttendedOnly = has("attended only")
		t.open(newBench(t.set, number(1)))
	case "chamber":
		t.set = chamberSettings()
		t.open(newBench(t.set, 22))
		t.plant.gain, t.plant.loss, t.plant.coast = 0.01, 0.0001, 20
		t.in.Treatment.Running, t.in.Treatment.Target = true, t.station.set.SetPoint
		t.in.Health.AirflowSeen = true
	case "run":
		d, err := time.ParseDuration(f[1])
		if err != nil {
			return err
		}
		t.run(d)
	case "until":
		d, err := time.ParseDuration(f[len(f)-1])
		if err != nil {
			return err
		}
		if t.until(d, func() bool { return t.reached(f[1]) }) < 0 {
			fmt.Fprintf(&t.say, "  never\n")
		}
	case "act":
		return t.person(f[1:], has)
	case "fault", "heal":
		return t.fault(strings.Join(f[1:], " "), f[0] == "fault")
	case "water":
		t.plant.water = number(1)
	case "room":
		t.plant.room = number(1)
	case "sun":
		t.plant.sun = number(1) / 3600
	case "gain":
		t.plant.gain *= number(1)
	case "stop":
		t.in.Treatment.Running = false
	case "differ":
		t.plant.guardOff = number(1)
	case "hush":
		t.hush = true
	case "restart":
		saved := t.station.Save()
		health := t.in.Health
		water := t.plant
		b := newBench(t.set, 0)
		b.station, _ = New(t.set)
		if err := b.station.Restore(saved); err != nil {
			return err
		}
		b.plant, b.in.Health = water, health
		b.in.Health.Unclean = has("unclean")
		if b.in.Health.Unclean {
			b.in.Health.Restarts = uint8(number(2))
		}
		t.open(b)
	case "show":
		t.show()
	default:
		return fmt.Errorf("no such command")
	}
	return nil
}

func (t *teller) open(b *bench) {
	t.bench = b
	b.hear = t.narrate
}

func (t *teller) reached(what string) bool {
	switch what {
	case "ready":
		return t.station.readyAt != 0
	case "latched":
		return t.station.latched != 0
	case "heat":
		return t.out.Command.Heat(t.set.HasSeries)
	}
	return t.station.proven()
}

func (t *teller) person(f []string, has func(string) bool) error {
	a := Act{Place: Page, Number: 7, Span: time.Hour}
	if has("board") {
		a.Place = Board
	}
	if has("seen") {
		a.Seen = SeenAnimal | SeenLevel | SeenProbe | SeenPad
	}
	line := strings.Join(f, " ")
	for k := Acknowledge; k <= Prove; k++ {
		if strings.HasPrefix(line, k.String()) {
			a.Kind = k
			line = line[len(k.String()):]
			break
		}
	}
	if a.Kind == NoAct {
		return fmt.Errorf("no such act")
	}
	for c := range causeCount {
		if c != NoCause && strings.Contains(line, c.String()) {
			a.Cause = c
		}
	}
	t.tick(a)
	return nil
}

func (t *teller) fault(name string, on bool) error {
	h := &t.in.Health
	places := map[string]int{"control": 0, "guard": 1, "floor": 2}
	for place, i := range places {
		switch name {
		case place + " silent":
			t.plant.silent[i] = on
			return nil
		case place + " implausible":
			t.plant.odd[i] = on
			return nil
		case place + " frozen":
			t.plant.standing[i] = on
			return nil
		}
	}
	switches := map[string]*bool{
		"pad welded": &t.plant.padWelded, "series welded": &t.plant.seriesWelded, "pad dead": &t.plant.padDead,
		"relay unwritten": &h.RelayUnwritten, "crossed": &h.CrossedWarming, "journal": &h.JournalFailing,
		"card": &h.CardNearlyFull, "supply": &h.SupplyLow, "clock": &h.ClockStepped, "door": &h.DoorOpen,
	}
	if p := switches[name]; p != nil {
		*p = on
		return nil
	}
	switch name {
	case "guard out of water":
		t.plant.guardOff = 0
		if on {
			t.plant.guardOff = -3
		}
	case "store":
		h.StoreProven = !on
	case "airflow":
		h.AirflowSeen = !on
	case "late":
		h.LateBy = 0
		if on {
			h.LateBy = 7 * time.Second
		}
	default:
		return fmt.Errorf("no such fault")
	}
	return nil
}

func (t *teller) narrate(e *Event) {
	if e.Kind == SeriesSwitched && t.station.tandem || t.hush && (e.Kind == HeatSwitched || e.Kind == SeriesSwitched) {
		return
	}
	fmt.Fprintf(&t.say, "  %9s  %s", t.now, e.Kind)
	if e.Cause != NoCause {
		fmt.Fprintf(&t.say, " %q", e.Cause)
	}
	switch e.Kind {
	case AlarmChanged:
		fmt.Fprintf(&t.say, ": %s -> %s", alarm.State(e.From), alarm.State(e.To))
	case HeatSwitched, SeriesSwitched, ModeChange, Ready:
		fmt.Fprintf(&t.say, " %s", map[bool]string{true: "on", false: "off"}[e.On])
	case Proof:
		fmt.Fprintf(&t.say, " of %q %s", ProofKind(e.To), map[bool]string{true: "passed", false: "failed"}[e.On])
	case ActRefused:
		fmt.Fprintf(&t.say, ": %s", e.Refusal)
	}
	if e.Value != 0 {
		fmt.Fprintf(&t.say, ", %.2f C", inCelsius(e.Value))
	}
	t.say.WriteByte('\n')
}

func (t *teller) show() {
	v := t.station.View()
	fmt.Fprintf(&t.say, "  = water %.2f, effective %.2f, stage %q, waits for %s, permitted %v, reason %q, animal %s\n",
		t.plant.water, inCelsius(max(t.out.Effective, physic.ZeroCelsius)), v.Stage, v.Waits, t.out.Permitted, t.out.Reason, v.Animal)
	for c := range causeCount {
		if st := t.station.Cause(c); st.Acting || st.Alarm != alarm.Normal {
			fmt.Fprintf(&t.say, "  = %s: %s, %s, latched %v. %s\n", c, st.Severity, st.Alarm, st.Latched, c.Rule().Advice)
		}
	}
}

func chamberSettings() Settings {
	return Settings{
		Kind: Chamber, SetPoint: at(56), Limit: at(62), Differential: Kelvin,
		Probes: []ProbeSettings{{Role: RoleCore}, {Role: RoleSurface}, {Role: RoleAir}},
		HasPad: true, HasSeries: true, HasFan: true, HasAirflow: true, HasDoor: true,
	}
}
