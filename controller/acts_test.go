package controller

import (
	"testing"
	"time"

	"soakwarden/controller/alarm"
)

const seenAll = SeenAnimal | SeenLevel | SeenProbe | SeenPad

// answer is what the station said to one act.
func (r *ready) answer(a Act) Refusal {
	r.t.Helper()
	a.Number = 42
	out := r.step(a)
	for _, e := range out.Events {
		if e.Number == 42 {
			if (e.Refusal == NoRefusal) == (e.Kind == ActRefused) {
				r.t.Fatalf("an answer that contradicts itself: %+v", e)
			}
			return e.Refusal
		}
	}
	r.t.Fatalf("no answer to %+v", a)
	return NoRefusal
}

func (r *ready) want(why string, a Act, refusal Refusal) {
	r.t.Helper()
	if got := r.answer(a); got != refusal {
		r.t.Errorf("%s: %q, want %q", why, got, refusal)
	}
}

// trip latches "probe silent" and lets the probe come back.
func (r *ready) trip() {
	good := r.in.Readings[1]
	r.in.Readings[1] = Reading{Quality: Bad, Flaw: Absent}
	r.steps(61)
	r.in.Readings[1] = good
	r.steps(6)
	if !r.s.latched.has(ProbeSilent) {
		r.t.Fatal("a silent probe did not trip")
	}
}

func TestResetIsRefused(t *testing.T) {
	r := newReady(t, tubSettings(), at(29.5))
	r.want("nothing latched", Act{Kind: Reset, Cause: ProbeSilent, Place: Board, Seen: seenAll}, NothingLatched)
	r.want("nothing at all", Act{Kind: Reset, Place: Board, Seen: seenAll}, NothingLatched)
	r.want("no such cause", Act{Kind: Reset, Cause: causeCount, Place: Board, Seen: seenAll}, NotActive)

	r.set(0, at(31.6))
	r.step()
	r.want("from the page", Act{Kind: Reset, Cause: OverCutoff, Place: Page, Seen: seenAll}, WrongPlace)
	r.want("from nowhere", Act{Kind: Reset, Cause: OverCutoff, Seen: seenAll}, WrongPlace)
	for _, missing := range []Seen{SeenAnimal, SeenLevel, SeenProbe} {
		r.want("something not looked at", Act{Kind: Reset, Cause: OverCutoff, Place: Board, Seen: seenAll &^ missing}, NotSeen)
	}
	r.want("still hot", Act{Kind: Reset, Cause: OverCutoff, Place: Board, Seen: seenAll}, CausePersists)
	r.set(0, at(29.5))
	r.steps(9)
	r.want("a second early", Act{Kind: Reset, Cause: OverCutoff, Place: Board, Seen: seenAll}, CausePersists)
	r.steps(2)
	good := r.in.Readings
	r.in.Readings = nil
	r.s.probes[0].doubt, r.s.probes[1].doubt, r.s.doubts = true, true, true
	r.s.water.count = 0
	r.want("blind", Act{Kind: Reset, Cause: OverCutoff, Place: Board, Seen: seenAll}, CausePersists)
	r.in.Readings = good
	r.steps(12)
	r.want("not the pad", Act{Kind: Reset, Cause: OverCutoff, Place: Board, Seen: seenAll &^ SeenPad}, NoRefusal)
	// Two kelvin within seconds: the water is another one, or gone.
	r.steps(20)
	if r.out.Permitted || r.out.Reason != NoWater {
		t.Errorf("water that vanished: %+v", r.out)
	}
	r.want("looked", Act{Kind: ConfirmFill, Place: Board}, NoRefusal)
	r.s.waterFits = true
	r.s.restage()
	r.step()
	if r.out.Permitted != true || r.s.Cause(OverCutoff).Alarm != alarm.Normal {
		t.Errorf("after the reset: %+v, alarm %v", r.out, r.s.Cause(OverCutoff).Alarm)
	}
}

func TestThreeResetsFromThePageInADay(t *testing.T) {
	r := newReady(t, tubSettings(), at(29.5))
	reset := Act{Kind: Reset, Cause: ProbeSilent, Place: Page, Seen: SeenProbe}
	for n := range 3 {
		r.trip()
		if left := r.s.View().PageResetsLeft; left != 3-n {
			t.Errorf("%d resets left before the %d.", left, n+1)
		}
		r.want("within the three", reset, NoRefusal)
	}
	r.trip()
	r.want("the fourth", reset, TooManyResets)
	board := reset
	board.Place = Board
	r.want("at the board", board, NoRefusal)
	r.trip()
	r.s.resets[0] = time.Second * 2
	r.want("a second before the day is over", reset, TooManyResets)
	r.want("a day after the first", reset, NoRefusal)
	if r.s.resets[0] != resetsSpan {
		t.Errorf("the slot was not used again: %v", r.s.resets)
	}
}

func TestResetOfEverything(t *testing.T) {
	set := tubSettings()
	s, err := New(set)
	if err != nil {
		t.Fatal(err)
	}
	r := &ready{t: t, s: s, out: &Output{}}
	r.in.Health = Health{StoreProven: true, Permit: true}
	r.in.Readings = make([]Reading, 2)
	r.set(0, at(28))
	r.set(1, at(28))
	r.steps(20)
	if r.out.Reason != OverCutoff || r.out.Permitted {
		t.Fatalf("a station without a saved state: %+v", r.out)
	}
	r.want("from the page", Act{Kind: Reset, Place: Page, Seen: seenAll}, WrongPlace)
	r.want("without looking", Act{Kind: Reset, Place: Board, Seen: seenAll &^ SeenLevel}, NotSeen)
	r.want("at the board", Act{Kind: Reset, Place: Board, Seen: seenAll}, NoRefusal)
	if r.s.latched != 0 || r.out.Reason != Unproven {
		t.Errorf("latched %b, reason %q", r.s.latched, r.out.Reason)
	}
	// From the page, a reset of all counts as one.
	r = newReady(t, set, at(29.5))
	r.trip()
	r.want("all, from the page", Act{Kind: Reset, Place: Page, Seen: SeenProbe}, NoRefusal)
	if left := r.s.View().PageResetsLeft; left != 2 {
		t.Errorf("%d resets left", left)
	}
}

func TestOnTimeAndWaterBeginAnewAfterTheirReset(t *testing.T) {
	r := newReady(t, tubSettings(), at(29.5))
	r.s.onTime = 9 * time.Hour
	r.step()
	r.want("on too long, still counted", Act{Kind: Reset, Cause: OnTooLong, Place: Page, Seen: seenAll}, CausePersists)
	r.s.onTime = 0
	r.step()
	r.want("on too long", Act{Kind: Reset, Cause: OnTooLong, Place: Page, Seen: seenAll}, NoRefusal)

	r.s.trial.dry, r.s.waterFits, r.s.stage = true, false, StagePulse
	r.steps(3)
	r.want("no water", Act{Kind: Reset, Cause: NoWater, Place: Board, Seen: seenAll}, NoRefusal)
	if r.s.waterFits || r.s.stage != StageSettle {
		t.Errorf("water fits %v, stage %v", r.s.waterFits, r.s.stage)
	}
	r.s.latched |= 1 << SeriesWelded
	r.s.proofs[ProofSeries] = ProofState{Failed: true}
	r.step()
	r.want("series welded", Act{Kind: Reset, Cause: SeriesWelded, Place: Page, Seen: seenAll}, NoRefusal)
	if r.s.stage != StageSettle {
		t.Errorf("stage %v", r.s.stage)
	}
}

func TestAlarmsAreAnsweredAndShelved(t *testing.T) {
	r := newReady(t, tubSettings(), at(29.5))
	on := func(k ActKind, c Cause, span time.Duration) Act {
		return Act{Kind: k, Cause: c, Place: Page, Span: span}
	}
	r.want("nothing to answer", on(Acknowledge, SupplyLow, 0), NotActive)
	r.want("nothing to shelve", on(Shelve, SupplyLow, time.Hour), NotActive)
	r.want("nothing shelved", on(Unshelve, SupplyLow, 0), NotActive)
	r.in.Health.SupplyLow = true
	r.steps(10)
	r.want("answered", on(Acknowledge, SupplyLow, 0), NoRefusal)
	r.want("answered twice", on(Acknowledge, SupplyLow, 0), NotActive)
	r.want("for ever", on(Shelve, SupplyLow, alarm.ShelveMost+1), NotNow)
	r.want("for no time", on(Shelve, SupplyLow, 0), NotNow)
	r.want("for ten seconds", on(Shelve, SupplyLow, 10*time.Second), NoRefusal)
	if got := r.s.Cause(SupplyLow).Alarm; got != alarm.Shelved {
		t.Errorf("shelved: %q", got)
	}
	r.steps(9)
	if got := r.s.Cause(SupplyLow).Alarm; got != alarm.Acknowledged {
		t.Errorf("ten seconds later: %q", got)
	}
	r.want("again", on(Shelve, SupplyLow, time.Hour), NoRefusal)
	r.want("back", on(Unshelve, SupplyLow, 0), NoRefusal)
	r.in.Health.RelayUnwritten = true
	r.step()
	r.want("what nobody may put off", on(Shelve, RelayUnwritable, time.Hour), NotNow)

	// A shelved alarm that trips comes off the shelf.
	r = newReady(t, withFloor(), at(29.5))
	r.s.proofs[ProofPairing].Failed = true
	r.steps(60)
	r.want("no rise", on(Shelve, NoRise, time.Hour), NoRefusal)
	r.s.latched |= 1 << NoRise
	r.s.marks[NoRise].severity = Trip
	r.step()
	if got := r.s.Cause(NoRise).Alarm; got != alarm.Unacknowledged {
		t.Errorf("a shelved alarm that tripped is %q", got)
	}
	r.want("a latched one", on(Shelve, NoRise, time.Hour), NotNow)
	r.want("its reset", Act{Kind: Reset, Cause: NoRise, Place: Page, Seen: SeenPad}, NoRefusal)
}

func TestActsOfEveryKindAreAnswered(t *testing.T) {
	r := newReady(t, tubSettings(), at(29.5))
	out := r.step(Act{Kind: NoAct, Number: 9}, Act{Kind: Presence, Place: Board, Number: 10})
	for _, e := range out.Events {
		if e.Number == 9 {
			t.Error("no act was answered")
		}
	}
	r.want("an act that does not exist", Act{Kind: Prove + 1, Place: Board}, NotNow)
	r.want("from nowhere", Act{Kind: BeginAttended}, WrongPlace)
	r.want("fill", hands(ConfirmFill), NoRefusal)
	r.want("in", hands(AnimalIn), NoRefusal)
	r.want("out", hands(AnimalOut), NoRefusal)
	if v := r.s.View(); v.Animal != AnimalIsOut || v.PresenceLeft != presenceLong {
		t.Errorf("%+v", v)
	}
	r.want("put in service what is", hands(PutInService), NotNow)
	r.want("out of service", hands(TakeOutOfService), NoRefusal)
	r.want("prove out of service", hands(Prove), NotNow)
	if r.out.Permitted || r.s.View().Waits != WaitService || !r.s.View().OutOfService {
		t.Errorf("out of service: %+v", r.out)
	}
	r.want("in service", hands(PutInService), NoRefusal)
	r.want("prove", hands(Prove), NoRefusal)
	if v := r.s.View(); v.Stage != StageWatch || v.PairingProven || v.WaterConfirmed {
		t.Errorf("%+v", v)
	}
	c := newReady(t, chamberSettings(), at(40))
	c.want("a chamber proves nothing", hands(Prove), NotNow)
	c.want("a chamber has no fill", hands(ConfirmFill), NoRefusal)
}

func TestAttendedModeOpensBothRelays(t *testing.T) {
	r := newReady(t, tubSettings(), at(29))
	r.want("animal out", hands(AnimalOut), NoRefusal)
	if !r.out.Command.Heat(true) {
		t.Fatalf("cold water in an empty tub is not heated: %+v", r.out)
	}
	r.want("begin", hands(BeginAttended), NoRefusal)
	if r.out.Command != (Command{}) || !r.out.OpenShared || r.out.Permitted || r.s.View().Waits != WaitAttended {
		t.Errorf("%+v", r.out)
	}
	for n := range 2 {
		if left := r.s.View().AttendedLeft; left > 30*time.Minute || left < 29*time.Minute {
			t.Errorf("%v left", left)
		}
		r.s.attendedFor = 30*time.Minute*time.Duration(n+1) - time.Second
		r.step()
		if !r.s.Cause(AttendedTooLong).Acting || r.s.View().AttendedLeft != 0 {
			t.Errorf("extension %d: not too long after its time", n)
		}
		r.want("extend", hands(ExtendAttended), NoRefusal)
		if r.s.Cause(AttendedTooLong).Acting {
			t.Error("still too long after an extension")
		}
	}
	r.want("a third time", hands(ExtendAttended), NoMoreExtensions)
	if v := r.s.View(); v.Extensions != 2 || !v.Attended || !v.Widened {
		t.Errorf("%+v", v)
	}
	r.want("end", hands(EndAttended), NoRefusal)
	r.s.widened = 2 * time.Second
	r.step()
	if !r.s.View().Widened {
		t.Error("narrow too early")
	}
	r.step()
	if r.s.View().Widened {
		t.Error("wide too long")
	}
}
