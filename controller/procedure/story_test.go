package procedure

import (
	"bytes"
	"errors"
	"testing"
	"time"

	"periph.io/x/conn/v3/physic"
)

// The animals, dates and records of these tests are invented.

var morning = time.Date(2028, 10, 2, 8, 0, 0, 0, time.UTC)

var good = Station{Ready: true}

func python() Animal {
	return Animal{Label: "carpet python", Species: "python", Lower: degrees(25), Upper: degrees(34)}
}

func allNo() (a [QuestionCount]Answer) {
	for i := range a {
		a[i] = No
	}
	return a
}

func beginning() Request {
	return Request{Order: Begin, Now: morning, ID: "2028-1", Station: "north", Animal: python(), Plan: UsualPlan(), Answers: allNo(), Verdict: "fits"}
}

// teller drives a case and restarts it after every step: what Save gave is
// restored into a fresh case that goes on.
type teller struct {
	t   *testing.T
	c   *Case
	now time.Time
}

func tell(t *testing.T) *teller { return &teller{t, &Case{}, morning} }

func (x *teller) again() {
	x.t.Helper()
	b := x.c.Save()
	var c Case
	if err := c.Restore(b); err != nil {
		x.t.Fatalf("%s\n%s", err, b)
	}
	if !bytes.Equal(c.Save(), b) {
		x.t.Fatalf("another state comes out:\n%s\n%s", b, c.Save())
	}
	x.c = &c
}

func (x *teller) do(r Request, want ...Tell) {
	x.t.Helper()
	if r.Now.IsZero() {
		r.Now = x.now
	}
	if r.Seen == (Station{}) {
		r.Seen = good
	}
	got, err := x.c.Do(r)
	if err != nil {
		x.t.Fatal(err)
	}
	if len(got) != len(want) {
		x.t.Fatalf("%s tells %v, want %v", r.Order, got, want)
	}
	for i := range got {
		if got[i] != want[i] {
			x.t.Fatalf("%s tells %v, want %v", r.Order, got, want)
		}
	}
	x.again()
}

// refused wants a refusal that changes nothing.
func (x *teller) refused(r Request) *Refusal {
	x.t.Helper()
	if r.Now.IsZero() {
		r.Now = x.now
	}
	before := x.c.Save()
	tells, err := x.c.Do(r)
	var no *Refusal
	if !errors.As(err, &no) || tells != nil {
		x.t.Fatalf("%s in %s: %v, %v", r.Order, x.c.Stage(), tells, err)
	}
	if no.Why == "" || no.Instead == "" || no.Order != r.Order || no.Stage != x.c.Stage() {
		x.t.Errorf("%+v", no)
	}
	if !bytes.Equal(before, x.c.Save()) {
		x.t.Errorf("a refused %s changed the case", r.Order)
	}
	return no
}

func (x *teller) pass(d time.Duration) {
	step := time.Minute
	if d > day {
		step = time.Hour
	}
	for ; d > 0; d -= step {
		x.c.Pass(min(d, step))
		x.now = x.now.Add(min(d, step))
	}
	x.again()
}

func (x *teller) at(s Stage) {
	x.t.Helper()
	if x.c.Stage() != s {
		x.t.Fatalf("the stage is %s, want %s", x.c.Stage(), s)
	}
}

func (x *teller) see(s Station) { x.c.See(s); x.again() }

// to brings a fresh case to a stage on the usual way.
func (x *teller) to(s Stage) *teller {
	x.t.Helper()
	steps := []func(){
		Filling:  func() { x.do(beginning(), TellInService, TellFill, TellOut, TellPresent) },
		Ready:    func() { x.pass(3 * time.Hour); x.see(good) },
		Drinking: func() { x.do(Request{Order: PutIn}, TellIn, TellPresent) },
		Soaking: func() {
			x.pass(31 * time.Minute)
			x.do(Request{Order: Open}, TellAttended)
			x.do(Request{Order: Detergent})
			x.do(Request{Order: Close}, TellDone)
		},
		Attended: func() { x.do(Request{Order: Open}, TellAttended) },
		DryRest:  func() { x.do(Request{Order: LiftOut, Value: degrees(27)}, TellOut, TellDone, TellOutOfService) },
		Rinse:    func() { x.do(Request{Order: DoRinse, Words: "a short soak, for a test"}) },
		OnPaper:  func() { x.do(Request{Order: Paper}) },
		Watch: func() {
			x.do(Request{Order: Furnish, Item: "enclosure", Enclosure: true, Way: WashIt})
			x.do(Request{Order: Treat, Item: "enclosure", Record: "washed hot"})
			x.do(Request{Order: Return, Value: degrees(27)})
		},
		Cleared: func() {
			for range 4 {
				x.now = x.now.Add(10 * 24 * time.Hour)
				x.do(Request{Order: Look})
			}
			x.do(Request{Order: Clear})
		},
		Stopped: func() {},
	}
	for i := Filling; i <= min(s, Cleared); i++ {
		steps[i]()
	}
	if s == Stopped {
		x = tell(x.t).to(Filling)
		x.do(Request{Order: Stop, Words: "for a test"}, TellOut, TellOutOfService)
	}
	x.at(s)
	return x
}

// A whole case: a soak of six days with water changes and dry rests, a trip on
// the third day, a treatment, the return, looks, the all-clear.
func TestWholeCase(t *testing.T) {
	x := tell(t)
	x.do(beginning(), TellInService, TellFill, TellOut, TellPresent)
	x.do(Request{Order: Weigh, Grams: 1620, Words: "lively"})
	x.do(Request{Order: Place, Words: "carrier on the shelf"})
	x.do(Request{Order: Furnish, Item: "cork branch", Way: HeatIt})
	x.do(Request{Order: Furnish, Item: "bark", Way: ThrowAway})
	x.do(Request{Order: Furnish, Item: "enclosure", Enclosure: true, Way: HeatIt})
	x.pass(2 * time.Hour)
	x.at(Filling)
	for d := 0; x.c.View().Soak < x.c.View().Plan.Soak; d++ {
		x.see(good)
		x.at(Ready)
		x.do(Request{Order: PutIn}, TellIn, TellPresent)
		x.pass(35 * time.Minute)
		x.do(Request{Order: Open}, TellAttended)
		x.do(Request{Order: Detergent})
		x.do(Request{Order: Close}, TellDone)
		x.at(Soaking)
		x.pass(6 * time.Hour)
		x.do(Request{Order: DoRound, Round: AllWell()}, TellPresent)
		if d == 2 { // the station trips: lift out, look, reset at the board, begin anew after the rest
			x.see(Station{Tripped: true})
			x.at(Soaking)
		} else {
			x.pass(5 * time.Hour)
			x.do(Request{Order: Open}, TellAttended)
			x.do(Request{Order: Change}, TellWaterChanged)
			x.do(Request{Order: Close}, TellDone)
			x.at(Drinking)
			x.pass(31 * time.Minute)
			x.do(Request{Order: Open}, TellAttended)
			x.do(Request{Order: Detergent})
			x.do(Request{Order: Close}, TellDone)
			r := AllWell()
			r.Mites = max(0, 20-4*d)
			x.do(Request{Order: DoRound, Round: r}, TellPresent)
			x.pass(4 * time.Hour)
		}
		if v := x.c.View(); v.Wet >= v.Plan.LongestWet {
			t.Fatalf("in water for %s", Clock(v.Wet))
		}
		x.do(Request{Order: LiftOut, Value: degrees(28)}, TellOut, TellOutOfService)
		x.pass(8 * time.Hour)
		if x.c.View().Soak >= x.c.View().Plan.Soak {
			break
		}
		x.do(Request{Order: Fill}, TellInService, TellWaterChanged, TellFill, TellPresent)
		x.pass(time.Hour)
	}
	x.do(Request{Order: DoRinse})
	x.do(Request{Order: Weigh, Grams: 1602, Words: "calm"})
	x.do(Request{Order: Paper})
	x.do(Request{Order: Treat, Item: "cork branch", Record: "T-7", Passed: true})
	x.do(Request{Order: Seal, Item: "cork branch", Record: "T-7"})
	x.refused(Request{Order: Return, Value: degrees(27)})
	x.do(Request{Order: Treat, Item: "enclosure", Record: "T-7", Passed: true})
	x.do(Request{Order: Return, Value: degrees(27)})
	x.at(Watch)
	for _, days := range []int{3, 3, 7, 6, 21} {
		x.refused(Request{Order: Clear})
		x.pass(time.Duration(days) * 24 * time.Hour)
		x.do(Request{Order: Look})
	}
	x.do(Request{Order: Clear})
	x.at(Cleared)
	v := x.c.View()
	if v.Animal.Before != 1620 || v.Animal.After != 1602 || v.Animal.State != "calm" || len(v.Looks) != 5 || v.Soaks != 1 {
		t.Errorf("%+v", v)
	}
	if v.Soak < 6*24*time.Hour || v.Soak > 7*24*time.Hour {
		t.Errorf("soaked for %s", Clock(v.Soak))
	}
	before := x.c.Save()
	x.c.Pass(time.Hour)
	x.c.Resume(time.Hour)
	if !bytes.Equal(before, x.c.Save()) {
		t.Error("a cleared case grows older")
	}
}

func TestZeroCaseIsNoCase(t *testing.T) {
	var c Case
	c.Pass(time.Hour)
	c.Resume(-1)
	if c.See(good) || c.Stage() != NoStage || len(c.Due(morning, false)) != 0 {
		t.Error("no case does something")
	}
	x := &teller{t, &c, morning}
	x.again()
	for _, o := range Orders() {
		if o != Begin {
			x.refused(Request{Order: o})
		}
	}
	x.refused(Request{Order: NoOrder})
}

var noTemperature physic.Temperature
