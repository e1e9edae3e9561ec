package controller

import (
	"strings"
	"testing"
)

// The names are those that a keeper reads and a script may rely on.
func TestTableIsWhole(t *testing.T) {
	seen := map[string]Cause{}
	for i, r := range Rules() {
		c := Cause(i)
		if c == NoCause {
			if r.Severity != NoSeverity || c.String() != "none" {
				t.Errorf("no cause does something: %+v", r)
			}
			continue
		}
		if r.Name == "" || r.LooksAt == "" || r.Severity == NoSeverity {
			t.Errorf("%d has no name, nothing to look at or no severity: %+v", c, r)
		}
		if other, twice := seen[r.Name]; twice {
			t.Errorf("%d and %d are both called %q", c, other, r.Name)
		}
		seen[r.Name] = c
		first, _, _ := strings.Cut(r.Advice, " ")
		if first == "" || first[0] < 'A' || first[0] > 'Z' || !strings.HasSuffix(r.Advice, ".") {
			t.Errorf("%s: the advice %q does not begin with a verb and end with a stop", r.Name, r.Advice)
		}
		if r.Latches && (r.Reset == Nowhere || r.Seen == 0 || r.Relays == NoRelay) {
			t.Errorf("%s latches without a reset, something to look at, or a relay: %+v", r.Name, r)
		}
		if !r.Latches && (r.Severity == Trip || r.TripDelay > 0 || r.Reset != Nowhere) {
			t.Errorf("%s trips without a latch: %+v", r.Name, r)
		}
		if r.TripDelay > 0 && r.TripDelay <= r.Delay {
			t.Errorf("%s trips before it acts", r.Name)
		}
		if r.Severity == Trip && r.Deferrable {
			t.Errorf("%s: a trip can be put off", r.Name)
		}
	}
	// The causes that the design lets nobody reset from afar.
	for _, c := range []Cause{OverCutoff, OverBand, UnaskedRise, NoWater, FloorTooHot} {
		if c.Rule().Reset != Board {
			t.Errorf("%s can be reset from the page", c)
		}
	}
	if Cause(200).Rule() != NoCause.Rule() {
		t.Error("a cause that does not exist has a rule")
	}
}

// Nobody who stands before a hot chamber is told to lift a snake out of it, and
// nobody who resets one is asked about an animal or a water level.
func TestChamberHasWordsOfItsOwn(t *testing.T) {
	chamber := Station{set: Settings{Kind: Chamber}}
	for c := range causeCount {
		r, tub := c.At(Chamber), c.At(Tub)
		if tub != c.Rule() {
			t.Errorf("%s: the row of a tub is not the table's", c)
		}
		if !chamber.concerns(c) && c < OverLimit && c != NoRise {
			continue
		}
		for _, word := range []string{"snake", "animal", "water", "tub", "lid", " pad"} {
			if strings.Contains(strings.ToLower(r.Advice), word) || strings.Contains(r.LooksAt, word) {
				t.Errorf("%s in a chamber: %q, %q", c, r.LooksAt, r.Advice)
			}
		}
		if r.Seen&(SeenAnimal|SeenLevel) != 0 || r.Latches && r.Seen == 0 {
			t.Errorf("%s in a chamber: a reset asks for %b", c, r.Seen)
		}
		if first, _, _ := strings.Cut(r.Advice, " "); first == "" || first[0] < 'A' || first[0] > 'Z' || !strings.HasSuffix(r.Advice, ".") {
			t.Errorf("%s: the advice %q does not begin with a verb and end with a stop", c, r.Advice)
		}
		// Only words differ.
		r.LooksAt, r.Seen, r.Advice = tub.LooksAt, tub.Seen, tub.Advice
		if r != tub {
			t.Errorf("%s does something else in a chamber: %+v", c, r)
		}
	}
}

func TestEveryWordHasAName(t *testing.T) {
	check := func(what string, count int, name func(uint8) string) {
		seen := map[string]bool{}
		for i := range count {
			n := name(uint8(i))
			if n == "" || seen[n] || (n == "unknown" && i > 0) {
				t.Errorf("%s %d is called %q", what, i, n)
			}
			seen[n] = true
		}
		if n := name(uint8(count)); n != "unknown" {
			t.Errorf("%s %d does not exist and is called %q", what, count, n)
		}
	}
	check("kind", int(Chamber)+1, func(i uint8) string { return Kind(i).String() })
	check("role", int(RoleAir)+1, func(i uint8) string { return Role(i).String() })
	check("quality", int(Good)+1, func(i uint8) string { return Quality(i).String() })
	check("flaw", int(Stale)+1, func(i uint8) string { return Flaw(i).String() })
	check("contact", int(ContactClosed)+1, func(i uint8) string { return Contact(i).String() })
	check("severity", int(Trip)+1, func(i uint8) string { return Severity(i).String() })
	check("place", int(Board)+1, func(i uint8) string { return Place(i).String() })
	check("act", int(Prove)+1, func(i uint8) string { return ActKind(i).String() })
	check("event", int(Proof)+1, func(i uint8) string { return EventKind(i).String() })
	check("refusal", int(NoMoreExtensions)+1, func(i uint8) string { return Refusal(i).String() })
	check("animal", int(AnimalIsOut)+1, func(i uint8) string { return Animal(i).String() })
	check("wait", int(WaitConfirmation)+1, func(i uint8) string { return Wait(i).String() })
	check("proof", ProofKindCount, func(i uint8) string { return ProofKind(i).String() })
	check("stage", int(StageDone)+1, func(i uint8) string { return Stage(i).String() })
}
