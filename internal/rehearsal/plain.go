package rehearsal

import (
	"strings"
	"time"

	"periph.io/x/conn/v3/gpio"

	"soakwarden/controller"
	"soakwarden/internal/loop"
	"soakwarden/sensors"
	"soakwarden/sim/rig"
)

// plainLimit is what the program is compared with: one probe, a differential,
// and a cutoff that opens the series relay for good. It believes every reading
// whose checksum is right, and rests when none comes. It is code of the
// rehearsal and controls nothing else.
type plainLimit struct {
	on, tripped bool
	unplugged   bool // by the keeper, who has the hands in
	last        time.Duration
	kills       int
	downUntil   time.Duration
	found       *float64 // s since the first effect, when it first noticed anything
	by          string
	exposed     float64 // s of them in which the fault could be seen
}

// patience is how long the plain limit waits for a reading before it rests.
const patience = 10 * time.Second

// befallControl lets the faults of any probe befall the one that a plain limit
// looks at.
func befallControl(faults []rig.Fault) {
	for i := range faults {
		if station, _, ok := strings.Cut(faults[i].Target, "/"); ok {
			faults[i].Target = station + "/control"
		}
	}
}

// runPlain runs a case with a plain limit in the program's place: the same
// bench, faults, nuisances, keeper and judges.
func (k *Case) runPlain() (*result, error) {
	k.Scenario.Drawn = k.Drawn
	bench, buses, err := k.Scenario.Stage(k.Drawn.Wire)
	if err != nil {
		return nil, err
	}
	p := &plainLimit{}
	r := &Run{scenario: k.Scenario, bench: bench, buses: buses}
	r.keeper = &Keeper{Config: k.Scenario.Config, Bench: bench, Submit: func(a loop.ActRequest) bool {
		switch a.Act.Kind {
		case controller.BeginAttended:
			p.unplugged = true
		case controller.EndAttended:
			p.unplugged = false
		}
		return true
	}}
	r.watcher = newWatcher(r)
	for bench.Now() < k.Scenario.Duration {
		bench.Step()
		now, board := bench.Now(), bench.Board()
		r.keeper.Step(now)
		if board.Powered {
			for _, b := range buses {
				b.RunCycle(now)
			}
			p.step(r, now, board)
		}
		r.watcher.step(now)
	}
	res := k.result(r)
	res.found, res.by, res.exposed = p.found, p.by, p.exposed
	return res, nil
}

// step decides once a second.
func (p *plainLimit) step(r *Run, now time.Duration, board *rig.Board) {
	st := &r.scenario.Config.Stations[0]
	if board.Kills > p.kills {
		p.kills, p.on, p.downUntil = board.Kills, false, now+restartWait
		p.drive(r)
	}
	if now < p.downUntil || now < board.PausedUntil {
		return
	}
	value, ok := plainReading(r.buses[0].Latest())
	half := float64(st.Differential) / 2e9
	switch {
	case !ok && now-p.last >= patience:
		p.on = false
		p.notice(r, now, "no reading")
	case !ok:
	default:
		p.last = now
		if set := celsius(st.SetPoint); value <= set-half {
			p.on = true
		} else if value >= set+half {
			p.on = false
		}
		if value >= celsius(st.Cutoff) {
			p.tripped = true
			p.notice(r, now, "cutoff")
		}
	}
	p.drive(r)
}

// drive writes both relays; a line that takes no value stays as it was.
func (p *plainLimit) drive(r *Run) {
	st := &r.scenario.Config.Stations[0]
	live := !p.tripped && !p.unplugged
	_ = r.bench.Pins()[r.scenario.Config.RelayIndex(st.SeriesRelay)].Out(gpio.Level(live))
	_ = r.bench.Pins()[r.scenario.Config.RelayIndex(st.PadRelay)].Out(gpio.Level(live && p.on))
}

// notice keeps the first thing that it noticed after the fault had an effect.
func (p *plainLimit) notice(r *Run, now time.Duration, what string) {
	if since := r.watcher.since(now); p.found == nil && since != nil {
		p.found, p.by, p.exposed = since, what, r.bench.Exposed().Seconds()
	}
}

// plainReading is what a plain limit takes for the temperature: every code with
// a right checksum. Nine zero bytes have one, so a bus that is shorted to
// ground reads 0 °C; and a probe that lost its power reads 85 °C.
func plainReading(c *sensors.Cycle) (value float64, ok bool) {
	switch c.Fault {
	case sensors.BusShorted:
		return 0, true
	case sensors.NoFault:
	default:
		return 0, false
	}
	s := &c.Samples[0]
	if s.Raw == [9]byte{} || s.Reading.Flaw == controller.Absent || s.Reading.Flaw == controller.BadCRC {
		return 0, s.Reading.Flaw == controller.Shorted
	}
	code := int16(uint16(s.Raw[1])<<8 | uint16(s.Raw[0]))
	return float64(code) / 16, true
}
