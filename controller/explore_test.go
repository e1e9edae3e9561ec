package controller

import (
	"bytes"
	"hash/maphash"
	"math/rand/v2"
	"os"
	"strconv"
	"testing"
	"time"

	"periph.io/x/conn/v3/physic"
)

// world is a station with its twin and the input of its next step.
type world struct {
	s   *Station
	t   *twin
	in  Input
	now time.Duration
}

func (w *world) clone() *world {
	s := *w.s
	o := *w.s.obs
	s.obs = &o
	s.copyProbes(w.s)
	s.out.Events = make([]Event, 0, 16)
	t := *w.t
	t.resets = append([]time.Duration(nil), w.t.resets...)
	in := w.in
	in.Readings = append([]Reading(nil), w.in.Readings...)
	return &world{s: &s, t: &t, in: in, now: w.now}
}

// copyProbes gives a copy of a station probes of its own.
func (s *Station) copyProbes(of *Station) {
	probes := make([]sense, len(of.probes))
	for i, p := range of.probes {
		probes[i] = *p
	}
	s.seat(probes)
	for i, p := range of.probes {
		*s.probes[i].told = *p.told
	}
}

// letter is one thing that can happen in a step.
type letter struct {
	name string
	do   func(*world)
}

func temps(c, g, f float64) func(*world) {
	return func(w *world) {
		for i, v := range []float64{c, g, f} {
			w.in.Readings[i] = Reading{Value: at(v), Code: int16(v * 16), Quality: Good}
		}
	}
}

func act(a Act) func(*world) { return func(w *world) { w.in.Acts = append(w.in.Acts, a) } }

// alphabet is what happens around every threshold that a step can cross.
var alphabet = []letter{
	{"cold", temps(26.59, 26.6, 29)},
	{"under the band", temps(29.0, 29.1, 31)},
	{"in band", temps(29.4, 29.45, 31)},
	{"over the band", temps(30.01, 30.0, 32)},
	{"at the cutoff", temps(31.6, 31.5, 33)},
	{"floor at its bound", temps(29.0, 29.1, 35)},
	{"floor warm", temps(29.0, 29.1, 34)},
	{"guard silent", func(w *world) { w.in.Readings[1] = Reading{Quality: Bad, Flaw: Absent} }},
	{"blind", func(w *world) {
		w.in.Readings[0], w.in.Readings[1] = Reading{Quality: Bad, Flaw: PowerOnValue}, Reading{}
	}},
	{"nothing", func(*world) {}},
	{"a long gap", func(w *world) { w.now += 100 * time.Second }},
	{"lid off", act(hands(BeginAttended))},
	{"lid on", act(hands(EndAttended))},
	{"animal out", act(hands(AnimalOut))},
	{"reset at the board", act(Act{Kind: Reset, Place: Board, Seen: seenAll})},
	{"reset from the page", act(Act{Kind: Reset, Cause: ProbeSilent, Place: Page, Seen: seenAll})},
	{"answer", act(Act{Kind: Acknowledge, Cause: ProbeSilent, Place: Page})},
	{"relay unwritten", func(w *world) { w.in.Health.RelayUnwritten = true }},
	{"store lost", func(w *world) { w.in.Health.StoreProven = false }},
	{"no turn", func(w *world) { w.in.Health.Permit = false }},
	{"water changed", act(hands(WaterChanged))},
	{"out of service", act(hands(TakeOutOfService))},
	{"in service", act(hands(PutInService))},
	{"prove", act(hands(Prove))},
	{"crossed", func(w *world) { w.in.Health.CrossedWarming = true }},
	{"shelve", act(Act{Kind: Shelve, Cause: SupplyLow, Place: Page, Span: 20 * time.Second})},
	{"supply low", func(w *world) { w.in.Health.SupplyLow = true }},
}

// play runs one step of dt under a letter and returns what is wrong with it.
func (w *world) play(l letter, dt time.Duration) string {
	w.in.Acts = w.in.Acts[:0:0]
	w.in.Health = Health{StoreProven: true, Permit: true}
	before := w.now
	l.do(w)
	w.now += dt
	w.in.Now = w.now
	for i := range w.in.Readings {
		if w.in.Readings[i].Quality == Good {
			w.in.Readings[i].At = w.now
		}
	}
	for i := range w.in.Acts {
		w.in.Acts[i].Number = uint32(i + 1)
	}
	was := w.s.latched
	began := w.s.begun
	out := w.s.Step(&w.in)
	if !began {
		before = w.now
	}
	return w.judge(out, was, w.now-before)
}

// judge holds the step against what must always be, and against the twin.
func (w *world) judge(out *Output, was causes, dt time.Duration) string {
	s, c := w.s, out.Command
	heat := c.Heat(true)
	hot := physic.Temperature(0)
	for _, r := range w.in.Readings[:2] {
		if r.Quality == Good {
			hot = max(hot, r.Value)
		}
	}
	reset := false
	for _, e := range out.Events {
		reset = reset || e.Kind == ResetDone
	}
	switch {
	case heat && (s.latched != 0 || !out.Permitted || !w.in.Health.StoreProven || !w.in.Health.Permit || s.attended || s.outOfService || !s.begin):
		return "heat without permission"
	case heat && w.in.Readings[2].Value >= at(34) && w.in.Readings[2].Quality == Good:
		return "heat over a hot floor"
	case hot >= s.set.Cutoff && (c.Pad || c.Series || !s.latched.has(OverCutoff) || !out.OpenShared):
		return "water at the cutoff without a trip"
	case s.latched != 0 && (c.Pad || c.Series):
		return "a relay closed under a latch"
	case s.attended && (c.Pad || c.Series || !out.OpenShared):
		return "a relay closed with hands in the water"
	case was&^s.latched != 0 && !reset:
		return "a latch went away by itself"
	case out.Permitted && out.Reason != NoCause:
		return "permitted, and withheld for a reason"
	case s.blind >= blindMost && !out.OpenShared:
		return "blind, and the series relay may be closed"
	}
	w.t.pass(dt)
	resets := w.t.resets
	for i := range resets {
		resets[i] += dt
	}
	for i, a := range w.in.Acts {
		want, knows := w.t.act(a)
		for _, e := range out.Events {
			if a.Kind == Prove && e.Number == uint32(i+1) && e.Kind == ActDone {
				w.t.failed = false
			}
			if knows && e.Number == uint32(i+1) && e.Refusal != want {
				return "an act was answered with " + e.Refusal.String() + ", the twin says " + want.String()
			}
		}
	}
	again := false
	for _, e := range out.Events {
		again = again || e.Kind == AlarmChanged && e.Cause == AttendedTooLong && e.From == 2 && e.To == 1
	}
	w.t.step(s, dt, again)
	return w.t.disagrees(s)
}

// settledWorlds are stations at the places where something can go wrong next.
func settledWorlds(t testing.TB) map[string]*world {
	worlds := map[string]*world{}
	make_ := func(name string, proven bool, letters ...string) {
		set := tubSettings()
		set.Probes = append(set.Probes, ProbeSettings{Role: RoleFloor, Calibrated: true})
		s, err := New(set)
		if err != nil {
			t.Fatal(err)
		}
		if name != "never restored" {
			if err := s.Restore(nil); err != nil {
				t.Fatal(err)
			}
		}
		if proven {
			for i := range s.proofs {
				s.proofs[i] = ProofState{Passed: true}
			}
			s.waterFits, s.everReady = true, true
			s.restage()
		}
		w := &world{s: s, t: newTwin(s), in: Input{Readings: make([]Reading, 3)}}
		temps(29.0, 29.1, 31)(w)
		for range 6 {
			if bad := w.play(letter{"", func(*world) {}}, time.Second); bad != "" {
				t.Fatalf("%s: %s", name, bad)
			}
		}
		for _, l := range letters {
			if bad := w.play(named(t, l), 5*time.Second); bad != "" {
				t.Fatalf("%s, %s: %s", name, l, bad)
			}
		}
		worlds[name] = w
	}
	many := func(n int, l string) []string {
		var all []string
		for range n {
			all = append(all, l)
		}
		return all
	}
	make_("never restored", false)
	make_("fresh", false)
	make_("pulse", false, many(122, "under the band")...)
	make_("holds", true)
	make_("empty and warming", true, "animal out")
	make_("attended", true, "lid off")
	make_("probe silent for 50 s", true, many(10, "guard silent")...)
	make_("blind for 55 s", true, many(11, "blind")...)
	make_("tripped", true, "at the cutoff", "in band")
	make_("refilled", true, "water changed")
	return worlds
}

func named(t testing.TB, name string) letter {
	for _, l := range alphabet {
		if l.name == name {
			return l
		}
	}
	t.Fatalf("no letter %q", name)
	return letter{}
}

// mark is a hash of all that decides a station's future, time apart.
func (w *world) mark(seed maphash.Seed) uint64 {
	var h maphash.Hash
	h.SetSeed(seed)
	s := w.s
	maphash.WriteComparable(&h, s.kept)
	maphash.WriteComparable(&h, s.run)
	maphash.WriteComparable(&h, s.trial)
	maphash.WriteComparable(&h, [...]any{s.stage, s.command, s.blind, s.begin, s.agreed, s.unalike, s.readyAt != 0, s.tandem, s.present, s.worn, s.alive})
	for i := range s.probes {
		p := *s.probes[i]
		maphash.WriteComparable(&h, *p.told)
		p.last.At, p.told = 0, nil
		maphash.WriteComparable(&h, p)
		maphash.WriteComparable(&h, w.in.Readings[i].Quality)
	}
	return h.Sum64()
}

// TestEveryShortStory plays every sequence of letters from each settled world,
// each state once, and holds every step against the rules and the twin: two
// letters deep with the whole alphabet, six with those that latch, blind, open
// and reset. SOAKWARDEN_EXPLORE=n goes n letters deep with the whole alphabet.
func TestEveryShortStory(t *testing.T) {
	deep := 2
	if v, err := strconv.Atoi(os.Getenv("SOAKWARDEN_EXPLORE")); err == nil {
		deep = v
	}
	few := []letter{named(t, "in band"), named(t, "at the cutoff"), named(t, "blind"), named(t, "reset at the board"), named(t, "lid off")}
	worlds := settledWorlds(t)
	for name, w := range worlds {
		explore(t, name, w, alphabet, deep)
	}
	for _, name := range []string{"pulse", "empty and warming", "blind for 55 s"} {
		explore(t, name+", deep", worlds[name], few, 6)
	}
}

// explore plays every sequence of so many letters, each state once.
func explore(t *testing.T, name string, w *world, letters []letter, deep int) {
	type node struct {
		w    *world
		path []string
	}
	seed := maphash.MakeSeed()
	seen := map[uint64]bool{}
	frontier := []node{{w, nil}}
	steps := 0
	for depth := range deep {
		var next []node
		for _, n := range frontier {
			for _, l := range letters {
				steps++
				c := n.w.clone()
				path := append(append([]string(nil), n.path...), l.name)
				if bad := c.play(l, 5*time.Second); bad != "" {
					t.Fatalf("%s, then %q: %s", name, path, bad)
				}
				if m := c.mark(seed); !seen[m] {
					seen[m] = true
					if depth < deep-1 {
						next = append(next, node{c, path})
					}
				}
			}
		}
		frontier = next
	}
	t.Logf("%s: %d letters deep, %d steps, %d states", name, deep, steps, len(seen))
}

// TestLongRandomStories goes further than the exploration can, with the twin
// beside it and a restart now and then.
func TestLongRandomStories(t *testing.T) {
	runs := 40
	if v, err := strconv.Atoi(os.Getenv("SOAKWARDEN_STORIES")); err == nil {
		runs = v
	}
	worlds := settledWorlds(t)
	for seed := range uint64(runs) {
		random := rand.New(rand.NewPCG(seed, 7))
		for name, w := range worlds {
			w := w.clone()
			var path []string
			l := alphabet[2]
			for range 300 {
				if random.IntN(3) == 0 {
					l = alphabet[random.IntN(len(alphabet))]
				}
				path = append(path, l.name)
				if bad := w.play(l, time.Duration(1+random.IntN(20))*time.Second); bad != "" {
					t.Fatalf("seed %d, %s, then %q: %s", seed, name, path[max(0, len(path)-8):], bad)
				}
				if random.IntN(100) == 0 {
					w.restart(t)
				}
			}
		}
	}
}

// restart saves, builds a station that knows nothing, and restores.
func (w *world) restart(t *testing.T) {
	saved := w.s.Save()
	s, err := restored(t, w.s.set, saved)
	if err != nil || !bytes.Equal(s.Save(), saved) {
		t.Fatalf("a state that Save wrote is refused or changed: %v", err)
	}
	w.s, w.now = s, 0
	w.t = newTwin(s)
}

// TestTwinCanDisagree shows that the comparison can fail: a station that loses
// a latch, and one that forgets to act, are both noticed.
func TestTwinCanDisagree(t *testing.T) {
	for name, spoil := range map[string]func(*Station){
		"a lost latch":       func(s *Station) { s.latched = 0 },
		"an alarm not heard": func(s *Station) { s.marks[OverCutoff].alarm.Acknowledge() },
		"a cause not acting": func(s *Station) { s.acting = 0 },
	} {
		w := settledWorlds(t)["holds"]
		w.play(named(t, "at the cutoff"), time.Second)
		spoil(w.s)
		if w.t.disagrees(w.s) == "" {
			t.Errorf("%s: not noticed", name)
		}
	}
}
