package procedure

import (
	"errors"
	"regexp"
	"strings"
	"testing"
	"time"
)

// Every order in every stage is either in the table or refused with what to do
// instead; the whole table is written here a second time, by hand.
func TestEveryOrderInEveryStage(t *testing.T) {
	taken := map[Stage]string{
		NoStage:  "begin",
		Filling:  "attended round weigh place furnish treated sealed opened in-service chemical aired stop",
		Ready:    "animal-in attended rinse round weigh place furnish treated sealed opened in-service chemical aired stop rest",
		Drinking: "attended rest rinse round furnish treated sealed opened in-service chemical aired stop",
		Soaking:  "attended rest rinse round furnish treated sealed opened in-service chemical aired stop",
		Attended: "extend water-changed detergent done rest rinse round weigh furnish treated sealed opened chemical aired stop",
		DryRest:  "box fill rinse round weigh place furnish treated sealed opened chemical aired stop",
		Rinse:    "paper round weigh place furnish treated sealed opened chemical aired stop",
		OnPaper:  "return look again round weigh place furnish treated sealed opened chemical aired stop",
		Watch:    "look clear again round weigh place chemical aired stop",
		Cleared:  "begin weigh",
		Stopped:  "begin",
	}
	for s := NoStage; s < stageCount; s++ {
		x := tell(t)
		if s != NoStage {
			x = x.to(s)
		}
		words := map[string]bool{}
		for w := range strings.FieldsSeq(taken[s]) {
			words[w] = true
			if OrderOf(w) == NoOrder {
				t.Fatalf("%q is no order", w)
			}
		}
		for _, o := range Orders() {
			if o == Outage {
				x.refused(Request{Order: o}) // nothing is asked
				continue
			}
			if words[o.String()] != x.c.allowed(o) {
				t.Errorf("%s in %s: taken %v", o, s, x.c.allowed(o))
			}
			if !words[o.String()] {
				x.refused(Request{Order: o})
			}
		}
		if s.Rule().Name == "" || s.Rule().Next == "" {
			t.Errorf("stage %d has no row", s)
		}
	}
}

// What is said instead is something that the stage takes: a keeper who does it
// is not refused for its turn a second time.
func TestWhatIsSaidInsteadIsTaken(t *testing.T) {
	word := regexp.MustCompile(`\(([a-z-]+)\)`)
	texts := map[string]bool{}
	for s := NoStage; s < stageCount; s++ {
		x := tell(t)
		if s != NoStage {
			x = x.to(s)
		}
		for _, o := range Orders() {
			if x.c.allowed(o) {
				continue
			}
			_, err := x.c.Do(Request{Order: o})
			var no *Refusal
			if !errors.As(err, &no) {
				t.Fatalf("%s in %s: %v", o, s, err)
			}
			texts[no.Instead] = true
			if m := word.FindStringSubmatch(no.Instead); m != nil && !x.c.allowed(OrderOf(m[1])) {
				t.Errorf("%s in %s: %q, and %s is not its turn either", o, s, no.Instead, m[1])
			}
		}
	}
	if len(texts) < 25 {
		t.Errorf("%d different texts for all orders and stages", len(texts))
	}
}

func TestWrongOrdersSayWhatToDo(t *testing.T) {
	for _, c := range []struct {
		name string
		at   Stage
		do   func(*teller) Request
		say  string
	}{
		{"animal in before ready", Filling, func(*teller) Request { return Request{Order: PutIn} }, "wait until the tub is ready"},
		{"animal in, ready no more", Ready, func(*teller) Request { return Request{Order: PutIn, Seen: Station{}} }, "wait until the tub is ready"},
		{"animal in, tripped", Ready, func(*teller) Request { return Request{Order: PutIn, Seen: Station{Ready: true, Tripped: true}} }, "nothing tripped"},
		{"heat in a dry rest", DryRest, func(*teller) Request { return Request{Order: Heat} }, "fill it with plain water first"},
		{"heat in the rinse", Rinse, func(*teller) Request { return Request{Order: Heat} }, "the soak is over"},
		{"second animal", NoStage, func(*teller) Request {
			r := beginning()
			r.Occupied = "2028-0"
			return r
		}, "one animal a tub"},
		{"soak water without attended", Soaking, func(*teller) Request { return Request{Order: Change} }, "unplug before you reach in"},
		{"detergent at once", Drinking, func(x *teller) Request {
			x.do(Request{Order: Open}, TellAttended)
			return Request{Order: Detergent, Seen: good}
		}, "wait another 30 min"},
		{"detergent without animal", Ready, func(x *teller) Request {
			x.do(Request{Order: Open}, TellAttended)
			return Request{Order: Detergent, Seen: good}
		}, "plain water for drinking comes before"},
		{"detergent after a trip", Drinking, func(x *teller) Request {
			x.pass(time.Hour)
			x.do(Request{Order: Open}, TellAttended)
			return Request{Order: Detergent, Seen: Station{Tripped: true}}
		}, "reset at the board"},
		{"rest without a box", Soaking, func(*teller) Request { return Request{Order: LiftOut} }, "--box 27C or --box 81F"},
		{"rest in a cold box", Soaking, func(*teller) Request { return Request{Order: LiftOut, Value: degrees(20)} }, "25.0 °C / 77.0 °F to 34.0 °C / 93.2 °F"},
		{"rest in a hot box", Soaking, func(*teller) Request { return Request{Order: LiftOut, Value: degrees(36)} }, "bring a warm, dry, dark box"},
		{"rest without animal", Ready, func(*teller) Request { return Request{Order: LiftOut, Value: degrees(27)} }, "where it is"},
		{"box too cold later", DryRest, func(*teller) Request { return Request{Order: Box, Value: degrees(22)} }, "bring a warm, dry, dark box"},
		{"rest cut short", DryRest, func(*teller) Request { return Request{Order: Fill} }, "let it rest for another 8 h"},
		{"soak cut short", Soaking, func(*teller) Request { return Request{Order: DoRinse} }, "say why it ends early"},
		{"round in the future", Soaking, func(x *teller) Request {
			return Request{Order: DoRound, Round: AllWell(), At: x.now.Add(2 * time.Hour)}
		}, "look at the animal now"},
		{"round before the last", Soaking, func(x *teller) Request {
			x.do(Request{Order: DoRound, Round: AllWell()}, TellPresent)
			x.pass(time.Hour)
			return Request{Order: DoRound, Round: AllWell(), At: x.now.Add(-2 * time.Hour)}
		}, "write the time of this round"},
		{"round without its list", Soaking, func(*teller) Request { return Request{Order: DoRound} }, "look at everything on the list"},
		{"round with half its list", Soaking, func(*teller) Request {
			r := AllWell()
			r.Seen[Vent] = Unanswered
			return Request{Order: DoRound, Round: r}
		}, "look at everything on the list"},
		{"round with minus two mites", Soaking, func(*teller) Request {
			r := AllWell()
			r.Mites = -2
			return Request{Order: DoRound, Round: r}
		}, "leave the number away"},
		{"return untreated", OnPaper, func(*teller) Request { return Request{Order: Return, Value: degrees(27)} }, "only into a treated enclosure"},
		{"return without room", OnPaper, func(x *teller) Request {
			x.do(Request{Order: Furnish, Item: "box", Enclosure: true, Way: WashIt})
			x.do(Request{Order: Treat, Item: "box", Record: "washed"})
			return Request{Order: Return}
		}, "--room 27C or --room 80F"},
		{"return in the future", OnPaper, func(x *teller) Request {
			return Request{Order: Return, Value: degrees(27), Date: x.now.Add(48 * time.Hour)}
		}, "do it on the day"},
		{"look in the future", Watch, func(x *teller) Request { return Request{Order: Look, Date: x.now.Add(48 * time.Hour)} }, "do it on the day"},
		{"look before the return", Watch, func(x *teller) Request { return Request{Order: Look, Date: x.now.Add(-48 * time.Hour)} }, "date of this look"},
		{"look with minus one mite", Watch, func(*teller) Request { return Request{Order: Look, Mites: -1} }, "0 for none"},
		{"cleared too soon", Watch, func(*teller) Request { return Request{Order: Clear} }, "go on looking until 2028-11-11"},
		{"cleared without looks", Watch, func(x *teller) Request {
			x.now = x.now.Add(41 * 24 * time.Hour)
			return Request{Order: Clear}
		}, "look today"},
		{"cleared without the last look", Watch, func(x *teller) Request {
			for range 3 {
				x.now = x.now.Add(10 * 24 * time.Hour)
				x.do(Request{Order: Look})
			}
			x.now = x.now.Add(12 * 24 * time.Hour)
			return Request{Order: Clear}
		}, "look today"},
		{"cleared with mites", Watch, func(x *teller) Request {
			x.do(Request{Order: Look, Mites: 2})
			return Request{Order: Clear}
		}, "begin again"},
		{"stop with the animal in the water", Soaking, func(*teller) Request { return Request{Order: Stop, Words: "why not"} }, "lift it into its dry box first (rest)"},
		{"begin with an animal in the tub", NoStage, func(*teller) Request {
			r := beginning()
			r.Seen.MayBeIn = true
			return r
		}, "lift it out and say so (animal-out)"},
		{"stop without a reason", DryRest, func(*teller) Request { return Request{Order: Stop} }, "--why"},
		{"no mass", Filling, func(*teller) Request { return Request{Order: Weigh} }, "write grams"},
		{"no place", Filling, func(*teller) Request { return Request{Order: Place} }, "where the animal is"},
		{"outage that nobody asked for", Soaking, func(*teller) Request { return Request{Order: Outage, Off: time.Hour} }, "dry rest"},
	} {
		x := tell(t)
		if c.at != NoStage {
			x = x.to(c.at)
		}
		no := x.refused(c.do(x))
		if !strings.Contains(no.Error(), c.say) {
			t.Errorf("%s: %v does not say %q", c.name, no, c.say)
		}
	}
}

func TestClocksThatNobodyTrusts(t *testing.T) {
	x := tell(t).to(Watch)
	if _, err := x.c.Do(Request{Order: Look}); err == nil || !strings.Contains(err.Error(), "--date") {
		t.Errorf("a look on no date: %v", err)
	}
	if _, err := x.c.Do(Request{Order: Look, Date: x.now.Add(24 * time.Hour)}); err != nil {
		t.Error(err)
	}
	if d := x.c.Due(time.Time{}, false); len(d) != 1 || !strings.HasPrefix(d[0].What, "Set the clock") {
		t.Errorf("%+v", d)
	}
	y := tell(t).to(Soaking)
	if _, err := y.c.Do(Request{Order: DoRound, Round: AllWell()}); err != nil {
		t.Errorf("a round without a clock: %v", err)
	}
	if _, err := y.c.Do(Request{Order: DoRound, Round: AllWell(), At: y.now}); err == nil {
		t.Error("a time without a clock was taken")
	}
}

func TestBeginAsksEverything(t *testing.T) {
	for _, c := range []struct {
		name string
		with func(*Request)
		say  string
	}{
		{"no label", func(r *Request) { r.Animal.Label = "" }, "no label"},
		{"no name", func(r *Request) { r.ID = strings.Repeat("x", 81) }, "at most 80"},
		{"no station", func(r *Request) { r.Station = "" }, "no name"},
		{"no species", func(r *Request) { r.Animal.Lower, r.Animal.Upper = noTemperature, noTemperature }, "published zone"},
		{"a species of the desert", func(r *Request) { r.Animal.Upper = degrees(45) }, "published zone"},
		{"unanswered", func(r *Request) { r.Answers[Gravid] = Unanswered }, "Is it gravid"},
		{"yes without a veterinarian", func(r *Request) { r.Answers[Wound] = Yes }, "Veterinarian first"},
		{"fed", func(r *Request) { r.Answers[FedLately], r.Vet = Yes, "asked by telephone" }, "no feeding during a soak"},
		{"no budget", func(r *Request) { r.Verdict = "" }, "soakwarden size"},
		{"dangerous pad", func(r *Request) { r.Verdict = "dangerous" }, "attended_only = true"},
		{"hatchling alone", func(r *Request) { r.Answers[Hatchling], r.Vet = Yes, "depth by the body" }, "never be alone"},
		{"soak of a month", func(r *Request) { r.Plan.Soak = 30 * day }, "soak of 30 days: write 24 h to 7 days"},
		{"two days unbroken", func(r *Request) { r.Plan.LongestWet = 2 * day }, "longest time in water"},
		{"no rest", func(r *Request) { r.Plan.Rest = 0 }, "dry rest of 0 min"},
		{"25th hour", func(r *Request) { r.Plan.NightFrom = 25 }, "hours from 0 to 23"},
	} {
		r := beginning()
		c.with(&r)
		x := tell(t)
		if no := x.refused(r); !strings.Contains(no.Error(), c.say) {
			t.Errorf("%s: %v does not say %q", c.name, no, c.say)
		}
	}
	for q := range asked {
		r := beginning()
		r.Answers[q] = Yes
		if no := tell(t).refused(r); !strings.Contains(no.Instead, "Veterinarian first.") && !strings.Contains(no.Instead, "Veterinarian first,") {
			t.Errorf("%s: %v", asked[q].Word, no)
		}
		if got, ok := QuestionOf(Question(q).Ask().Word); !ok || got != Question(q) {
			t.Errorf("%s is not found", asked[q].Word)
		}
	}
	if _, ok := QuestionOf("age"); ok {
		t.Error("a question that is none")
	}
	r := beginning()
	r.Answers[Hatchling], r.Vet, r.AlwaysSeen, r.Verdict = Yes, "depth by the body, 2 h", true, "dangerous"
	x := tell(t)
	x.do(r, TellInService, TellFill, TellOut, TellPresent)
	if p := x.c.View().Plan; !p.AttendedOnly || p.LongestWet != smallWet || p.RoundEvery != smallRound || p.WaterEvery != smallWet {
		t.Errorf("%+v", p)
	}
}

func TestAttendedGoesBack(t *testing.T) {
	x := tell(t).to(Filling)
	x.do(Request{Order: Open}, TellAttended)
	x.do(Request{Order: MoreTime}, TellExtend)
	x.do(Request{Order: Close}, TellDone)
	x.at(Filling)
	x.see(good)
	x.do(Request{Order: Open}, TellAttended)
	x.do(Request{Order: Close}, TellDone)
	x.at(Ready)
	x.do(Request{Order: Open}, TellAttended)
	x.do(Request{Order: Change}, TellWaterChanged)
	x.do(Request{Order: Close}, TellDone)
	x.at(Filling)
	x.do(Request{Order: Heat}, TellInService)
	x.see(good)
	x.see(Station{})
	x.at(Filling)

	y := tell(t).to(Soaking)
	y.do(Request{Order: DoRinse, Words: "the veterinarian wants it dry"}, TellOut, TellOutOfService)
	y.at(Rinse)
	z := tell(t).to(Filling)
	z.do(Request{Order: Open}, TellAttended)
	z.do(Request{Order: Stop, Words: "it is unwell"}, TellOut, TellDone, TellOutOfService)
	wet := tell(t).to(Attended)
	wet.refused(Request{Order: Stop, Words: "it is unwell"})
	wet.do(Request{Order: DoRinse, Words: "it is unwell"}, TellOut, TellDone, TellOutOfService)
	wet.do(Request{Order: Stop, Words: "it is unwell"})
	h := tell(t).to(Soaking)
	h.do(Request{Order: LiftOut, Hurry: true}, TellOut, TellOutOfService)
	h.at(DryRest)
	h.refused(Request{Order: Fill})
	h.do(Request{Order: Box, Value: degrees(27)})
	h.refused(Request{Order: Fill})
	if h.c.View().Pause != NoPause {
		t.Error("the box was answered and is still asked about")
	}
	w := tell(t).to(OnPaper)
	w.refused(Request{Order: Again, Occupied: "another"})
	w.do(Request{Order: Stop, Words: "given away"})
}

func TestFirstLooksOnPaperAndAgain(t *testing.T) {
	x := tell(t).to(OnPaper)
	x.do(Request{Order: Look})
	x.do(Request{Order: Furnish, Item: "hide", Way: FreezeIt})
	x.do(Request{Order: Treat, Item: "hide", Record: "T-1", Passed: true})
	x.do(Request{Order: Again}, TellInService, TellWaterChanged, TellFill, TellOut, TellPresent)
	x.at(Filling)
	if v := x.c.View(); v.Soaks != 0 || v.Soak != 0 || v.Items[0].Record != "" {
		t.Errorf("%+v", v)
	}
}

func TestManyLooksAreKeptBounded(t *testing.T) {
	x := tell(t).to(Watch)
	for range mostLooks + 5 {
		if _, err := x.c.Do(Request{Order: Look, Now: x.now}); err != nil {
			t.Fatal(err)
		}
	}
	if n := len(x.c.View().Looks); n != mostLooks {
		t.Errorf("%d looks", n)
	}
}
