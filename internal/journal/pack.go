package journal

import (
	"time"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
	"soakwarden/internal/journal/entry"
)

func bit(on bool, n uint) int64 {
	if on {
		return 1 << n
	}
	return 0
}

// healthBits packs the flags of Health and Treatment, and Restarts from bit 16.
func healthBits(in *controller.Input) int64 {
	h, t := &in.Health, &in.Treatment
	return bit(h.StoreProven, 0) | bit(h.Permit, 1) | bit(h.Unclean, 2) | bit(h.ClockStepped, 3) |
		bit(h.JournalFailing, 4) | bit(h.CardNearlyFull, 5) | bit(h.SupplyLow, 6) | bit(h.RelayUnwritten, 7) |
		bit(h.SharedTrip, 8) | bit(h.CrossedWarming, 9) | bit(h.DoorOpen, 10) | bit(h.OthersHeating, 11) |
		bit(h.AirflowSeen, 12) | bit(t.Running, 13) | bit(t.OverTime, 14) | bit(t.OutOfPiece, 15) |
		int64(h.Restarts)<<16
}

// commandBits packs the command and what stands beside it.
func commandBits(o *controller.Output) int64 {
	c := o.Command
	return bit(c.Pad, 0) | bit(c.Series, 1) | bit(c.Fan, 2) | bit(c.Buzzer, 3) | bit(o.Permitted, 4) | bit(o.OpenShared, 5)
}

// InputOf is the whole input of tick i of a block.
func InputOf(b *entry.Ticks, i int) controller.Input {
	at := func(col int) int64 { return b.Columns[col][i] }
	flags, contacts := at(entry.ColHealth), at(entry.ColContacts)
	on := func(n uint) bool { return flags>>n&1 == 1 }
	in := controller.Input{
		Now:        time.Duration(at(entry.ColNow)),
		Readings:   make([]controller.Reading, b.Probes),
		PadSeen:    controller.Contact(contacts & 3),
		SeriesSeen: controller.Contact(contacts >> 2),
		Health: controller.Health{
			StoreProven: on(0), Permit: on(1), Unclean: on(2), ClockStepped: on(3), JournalFailing: on(4),
			CardNearlyFull: on(5), SupplyLow: on(6), RelayUnwritten: on(7), SharedTrip: on(8),
			CrossedWarming: on(9), DoorOpen: on(10), OthersHeating: on(11), AirflowSeen: on(12),
			Restarts: uint8(flags >> 16), LateBy: time.Duration(at(entry.ColLate)),
		},
		Treatment: controller.Treatment{
			Running: on(13), OverTime: on(14), OutOfPiece: on(15), Target: physic.Temperature(at(entry.ColTarget)),
		},
	}
	for p := range in.Readings {
		in.Readings[p] = ReadingOf(b, i, p)
	}
	for _, a := range b.Acts {
		if a.Tick == i {
			in.Acts = append(in.Acts, controller.Act{
				Kind: controller.ActKind(a.Act.Act), Cause: controller.Cause(a.Cause), Place: controller.Place(a.Place),
				Seen: controller.Seen(a.Seen), Value: physic.Temperature(a.Value), Span: a.Span, Number: a.Number,
			})
		}
	}
	return in
}

// ReadingOf is the reading of probe p at tick i of a block.
func ReadingOf(b *entry.Ticks, i, p int) controller.Reading {
	at := func(col int) int64 { return b.Columns[entry.ProbeColumn(p, col)][i] }
	grade := at(entry.ColGrade)
	return controller.Reading{
		Value: physic.Temperature(at(entry.ColValue)), At: time.Duration(at(entry.ColAt)), Code: int16(at(entry.ColCode)),
		Quality: controller.Quality(grade >> 8), Flaw: controller.Flaw(grade & 0xff),
	}
}

// OutputOf is the output of tick i of a block, without its events, which are
// entries of their own.
func OutputOf(b *entry.Ticks, i int) controller.Output {
	flags := b.Columns[entry.ColCommand][i]
	on := func(n uint) bool { return flags>>n&1 == 1 }
	return controller.Output{
		Command:    controller.Command{Pad: on(0), Series: on(1), Fan: on(2), Buzzer: on(3)},
		Permitted:  on(4),
		OpenShared: on(5),
		Reason:     controller.Cause(b.Columns[entry.ColReason][i]),
		Effective:  physic.Temperature(b.Columns[entry.ColEffective][i]),
		Governing:  int(b.Columns[entry.ColGoverning][i]),
	}
}
