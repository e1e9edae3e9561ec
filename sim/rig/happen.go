package rig

import (
	"math"
	"time"

	"soakwarden/sim"
)

// differs is how far a probe must read from what a healthy one would, before a
// probe's fault counts as having an effect: two codes and a little, so that
// quantisation and noise do not.
const differs = 0.15

// add takes a fault into the bench; it may begin at once.
func (b *Bench) add(f Fault) error {
	if err := f.Check(); err != nil {
		return err
	}
	aim, err := b.wiring.aim(&f)
	if err != nil {
		return err
	}
	b.faults = append(b.faults, happening{Fault: f, aim: aim})
	b.due = 0
	return nil
}

// Inject lets a fault happen from now on.
func (b *Bench) Inject(f Fault) error {
	f.At = b.now
	return b.add(f)
}

// Mend ends every fault that is active now.
func (b *Bench) Mend() {
	for i := range b.faults {
		h := &b.faults[i]
		if h.on {
			h.Until = b.now
			b.turn(h, false)
		}
	}
}

// Active lists the faults that are there now, in the order of the scenario.
func (b *Bench) Active() []Fault {
	var list []Fault
	for _, h := range b.faults {
		if h.on {
			list = append(list, h.Fault)
		}
	}
	return list
}

// FirstEffect is the first second at which any fault had an effect: commanded
// and actual heat differed, or true and read temperature did, or the fault is
// of a kind that acts from its beginning. ok is false before.
func (b *Bench) FirstEffect() (at time.Duration, ok bool) {
	return max(b.effect, 0), b.effect >= 0
}

// runFaults begins and ends what is due, and finds when it has to look again.
func (b *Bench) runFaults() {
	b.due = math.MaxInt64
	for i := range b.faults {
		h := &b.faults[i]
		if active := h.Active(b.now); active != h.on {
			b.turn(h, active)
		}
		switch {
		case b.now < h.At:
			b.due = min(b.due, h.At)
		case b.now < h.Until:
			b.due = min(b.due, h.Until)
		}
	}
}

// turn begins or ends one fault.
func (b *Bench) turn(h *happening, on bool) {
	h.on = on
	count := func(n *int) {
		if on {
			*n++
		} else {
			*n--
		}
	}
	amount := 0.0
	if on {
		amount = h.Amount
	}
	count(&b.ongoing)
	if h.aim.station >= 0 {
		b.stations[h.aim.station].moved = true
	}
	switch h.Kind {
	case RelayWelded, RelayOpen, RelayChatters, RelayRefuses, RelayInverted:
		b.turnRelay(h, on)
	case ProbeSilent, ProbeFrozen, ProbePowerOnValue, ProbeOffset, ProbeDrifts, ProbeNoisy, ProbeOutOfWater, ProbeOutOfPiece:
		b.turnProbe(h, on, amount)
	case PadDead:
		b.stations[h.aim.station].share = b.padShare(h.aim.station)
	case PadWeak:
		b.stations[h.aim.station].share = b.padShare(h.aim.station)
	case ProbesSwapped:
		one, two := b.stations[h.aim.station], b.stations[h.aim.other]
		one.crossed, two.crossed = -1, -1
		if on {
			one.crossed, two.crossed = h.aim.other, h.aim.station
		}
	case FanDead:
		b.stations[h.aim.station].fanDead = on
	case BusShorted:
		b.buses[h.aim.bus].ShortsToGround(on)
	case BusHung:
		b.buses[h.aim.bus].Hangs(on)
	case TubLeaking:
		b.stations[h.aim.station].leak = amount
	case TubEmptied:
		if t := b.stations[h.aim.station].tub; on && t != nil {
			t.Drain(0)
		}
	case LidOff:
		count(&b.stations[h.aim.station].lids)
	case RoomHot:
		b.roomBy += float64(sign(on) * h.Amount)
	case RoomCold:
		b.roomBy -= float64(sign(on) * h.Amount)
	case SunOnTub:
		b.stations[h.aim.station].sun = amount
	case PadsLost:
		count(&b.padsOff)
	case MainsLost:
		count(&b.boardOff)
		if !on {
			for _, bus := range b.buses {
				bus.LosesPower()
			}
		}
	default:
		b.turnBoard(h, on)
	}
}

func sign(on bool) float64 {
	if on {
		return 1
	}
	return -1
}

// padShare is what the pad of station i gives under every fault that is on.
func (b *Bench) padShare(i int) float64 {
	share := 1.0
	for k := range b.faults {
		h := &b.faults[k]
		switch {
		case !h.on || h.aim.station != i:
		case h.Kind == PadDead:
			share = 0
		case h.Kind == PadWeak:
			share = min(share, h.Amount/100)
		}
	}
	return share
}

func (b *Bench) turnRelay(h *happening, on bool) {
	p := b.pins[h.aim.relay]
	switch {
	case h.Kind == RelayRefuses:
		p.RefusesWrites(on)
	case h.Kind == RelayInverted:
		p.Inverts(on)
	case !on:
		p.Recovers()
	case h.Kind == RelayWelded:
		p.WeldsShut()
	case h.Kind == RelayOpen:
		p.NeverCloses()
	default:
		p.Chatters()
	}
}

func (b *Bench) turnProbe(h *happening, on bool, amount float64) {
	s := b.stations[h.aim.station]
	t := s.probes[h.aim.probe]
	switch h.Kind {
	case ProbeSilent:
		t.Vanishes(on)
	case ProbeFrozen:
		t.Freezes(on)
	case ProbePowerOnValue:
		t.GivesPowerOnValue(on)
	case ProbeOffset:
		t.ReadsOff(amount)
	case ProbeDrifts:
		t.Drifts(amount, b.now)
	case ProbeNoisy:
		t.Scatters(amount)
	case ProbeOutOfPiece:
		s.inner[h.aim.probe] = s.wiring.Probes[h.aim.probe].Inner
		if on {
			s.inner[h.aim.probe] = sim.ChamberPlace{Kind: sim.ChamberAir}
		}
	case ProbeOutOfWater:
		place := s.wiring.Probes[h.aim.probe].Place
		if on {
			place = map[string]sim.Place{
				"air": {Kind: sim.UnderLid}, "floor": {Kind: sim.OnFloor}, "pad": {Kind: sim.OnPad},
			}[h.Where]
		}
		s.places[h.aim.probe] = b.placeIn(s, place)
	}
}

func (b *Bench) turnBoard(h *happening, on bool) {
	switch h.Kind {
	case ClockStepped:
		if on {
			b.board.WallOffset += time.Duration(h.Amount * float64(time.Second))
		}
	case CardFull:
		b.board.CardFull = on
	case CardFailing:
		b.board.CardFailing = on
	case DaemonPaused:
		if on {
			b.board.PausedUntil = b.now + time.Duration(h.Amount*float64(time.Second))
		}
	case DaemonKilled:
		if on {
			b.board.Kills++
		}
	}
}

// markEffects notes the first second in which a fault mattered, and counts the
// seconds in which any can be seen.
func (b *Bench) markEffects() {
	seen := false
	for i := range b.faults {
		h := &b.faults[i]
		if !h.on || !b.matters(h) {
			continue
		}
		if b.effect < 0 {
			b.effect = b.now
		}
		seen = seen || h.Kind != ProbeOutOfWater || b.readsOff(h.aim.station, h.aim.probe, airDiffers)
	}
	if seen {
		b.exposed += second
	}
}

// Exposed is for how long so far a fault could be seen at all: commanded and
// actual heat differed, or a reading was off, for a probe out of the water by
// airDiffers. A relay that welds while the heat is wanted, or whose unasked heat
// the other relay cut again, shows nothing meanwhile.
func (b *Bench) Exposed() time.Duration { return b.exposed }

// airDiffers is how far air must be from the water's temperature for a probe
// that lies in it to be promised to be found, in K.
const airDiffers = 1.5

// matters says whether a fault that is on makes a difference in this second.
func (b *Bench) matters(h *happening) bool {
	switch h.Kind {
	case RelayRefuses:
		return b.pins[h.aim.relay].refused > 0
	case RelayWelded, RelayOpen, RelayChatters, RelayInverted:
		// Mains that flicker in the same second are not the relay's doing.
		for _, s := range b.stations {
			if s.wiring.Pad != h.aim.relay && s.wiring.Series != h.aim.relay {
				continue
			}
			unasked, missing := s.heat && !s.asked, s.asked && !s.closed()
			if h.Kind != RelayOpen && h.Kind != RelayChatters && unasked || h.Kind != RelayWelded && missing {
				return true
			}
		}
		return false
	case PadDead:
		s := b.stations[h.aim.station]
		return s.asked
	case PadWeak:
		return b.stations[h.aim.station].asked
	case PadsLost:
		for _, s := range b.stations {
			if s.asked {
				return true
			}
		}
		return false
	case ProbeFrozen, ProbeOffset, ProbeDrifts, ProbeNoisy, ProbeOutOfWater, ProbeOutOfPiece:
		return b.readsOff(h.aim.station, h.aim.probe, differs)
	case ProbesSwapped:
		return b.readsOff(h.aim.station, 0, differs) || b.readsOff(h.aim.other, 0, differs)
	}
	return true
}

// readsOff says whether a probe's last code is not what a healthy probe in its
// place would give, beyond its own known error and by more than some kelvins.
func (b *Bench) readsOff(i, k int, by float64) bool {
	t := b.stations[i].probes[k]
	code := int16(uint16(t.pad[1])<<8 | uint16(t.pad[0]))
	want := b.Intended(i, k) + t.spec.Offset
	return math.Abs(float64(float64(code)/16)-want) > by
}
