package followup

import (
	"bytes"
	"math"
	"strings"
	"testing"
	"time"

	ical "github.com/emersion/go-ical"
	"periph.io/x/conn/v3/physic"

	"soakwarden/internal/status"
)

var (
	treated = time.Date(2028, 2, 20, 15, 0, 0, 0, time.UTC) // an invented date before a leap day
	room    = physic.ZeroCelsius + 27*physic.Celsius
)

func of(t *testing.T, room physic.Temperature, u status.Units) Calendar {
	t.Helper()
	c, err := Of(treated, room, u)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// The hours are the published line's at 27 °C (Tucci, Prado & Araújo 2008):
// 1/(−0.015367 + 0.001450·27) = 42.05 h for the egg, + 27.06 h for the larva.
func TestDaysAndTheirReasons(t *testing.T) {
	c := of(t, room, status.Both)
	var days []string
	for _, e := range c.Events {
		days = append(days, e.Date)
	}
	want := "2028-02-20 2028-02-23 2028-02-26 2028-03-04 2028-03-10 2028-03-31"
	if got := strings.Join(days, " "); got != want {
		t.Errorf("%s, want %s", got, want)
	}
	if math.Abs(c.Bounds[0].Hours-42.05) > 0.06 || math.Abs(c.Bounds[1].Hours-69.11) > 0.06 {
		t.Errorf("%+v", c.Bounds)
	}
	if c.AllClear != "2028-03-31" || c.RoomC != 27 || c.UsedC != 27 {
		t.Errorf("%+v", c)
	}
	for i, species := range []string{"", "Dermanyssus gallinae", "Dermanyssus gallinae", "Ophionyssus natricis", "Ophionyssus natricis", "Ophionyssus natricis"} {
		if !strings.Contains(c.Events[i].Why, species) {
			t.Errorf("day %s does not say that its number comes from %s: %s", c.Events[i].Date, species, c.Events[i].Why)
		}
	}
	if !strings.Contains(c.Events[1].Why, "lower bound") || !strings.Contains(c.Events[1].Why, "27.0 °C / 80.6 °F") {
		t.Error(c.Events[1].Why)
	}
}

func TestRoomsOutsideTheModelSaySo(t *testing.T) {
	cool := of(t, physic.ZeroCelsius+16*physic.Celsius, status.Fahrenheit)
	if !strings.Contains(cool.Events[1].Why, "68.0 °F (the room is cooler") || strings.Contains(cool.Events[1].Why, "°C") {
		t.Error(cool.Events[1].Why)
	}
	if cool.AllClear != "2028-04-19" || !strings.Contains(cool.Events[5].Why, "one more cycle") {
		t.Errorf("%s: %s", cool.AllClear, cool.Events[5].Why)
	}
	warm := of(t, physic.ZeroCelsius+33*physic.Celsius, status.Celsius)
	if !strings.Contains(warm.Events[1].Why, "30.0 °C (the room is warmer") {
		t.Error(warm.Events[1].Why)
	}
	if _, err := Of(treated, 0, status.Both); err == nil {
		t.Error("a room at absolute zero has a follow-up")
	}
}

func TestTenthsAreRounded(t *testing.T) {
	for in, want := range map[float64]float64{27.04: 27, 27.05: 27.1, -0.26: -0.3, 0: 0} {
		if got := tenth(in); got != want {
			t.Errorf("%g is written %g, want %g", in, got, want)
		}
	}
}

func TestTextNamesEveryDay(t *testing.T) {
	c := of(t, room, status.Both)
	var b bytes.Buffer
	if err := c.Write(&b); err != nil {
		t.Fatal(err)
	}
	for _, e := range c.Events {
		if !strings.Contains(b.String(), e.Date+"  "+e.What) {
			t.Errorf("no %s in\n%s", e.Date, &b)
		}
	}
	if !strings.Contains(b.String(), "veterinarian") {
		t.Error("no caution")
	}
}

// The file is read by a library that did not write it. RFC 5545, 3.6.1: a
// whole-day event has DATE values and an end that is not included; 3.1: lines
// of at most 75 octets end with CR LF.
func TestCalendarFileIsReadByAnotherLibrary(t *testing.T) {
	c := of(t, room, status.Both)
	stamp := time.Date(2028, 2, 20, 16, 0, 0, 0, time.UTC)
	var b bytes.Buffer
	if err := c.WriteCalendar(&b, "carpet python, tub; north", stamp); err != nil {
		t.Fatal(err)
	}
	for line := range strings.SplitSeq(strings.TrimSuffix(b.String(), "\r\n"), "\r\n") {
		if len(line) > 75 || strings.ContainsAny(line, "\r\n") {
			t.Errorf("%d octets: %q", len(line), line)
		}
	}
	cal, err := ical.NewDecoder(bytes.NewReader(b.Bytes())).Decode()
	if err != nil {
		t.Fatal(err)
	}
	// Its encoder checks which properties a component must and may have.
	if err := ical.NewEncoder(&bytes.Buffer{}).Encode(cal); err != nil {
		t.Errorf("not as RFC 5545 wants it: %v", err)
	}
	events := cal.Events()
	if len(events) != len(c.Events) {
		t.Fatalf("%d events, want %d", len(events), len(c.Events))
	}
	seen := map[string]bool{}
	for i, e := range events {
		start, err := e.DateTimeStart(time.UTC)
		if err != nil {
			t.Fatal(err)
		}
		end, err := e.DateTimeEnd(time.UTC)
		if err != nil {
			t.Fatal(err)
		}
		if e.Props.Get(ical.PropDateTimeStart).ValueType() != ical.ValueDate {
			t.Errorf("event %d is no whole day", i)
		}
		if start.Format(time.DateOnly) != c.Events[i].Date || end.Sub(start) != 24*time.Hour {
			t.Errorf("event %d from %v to %v, want %s", i, start, end, c.Events[i].Date)
		}
		summary, err := e.Props.Text(ical.PropSummary)
		if err != nil || summary != "carpet python, tub; north: "+c.Events[i].What {
			t.Errorf("summary %q, %v", summary, err)
		}
		why, err := e.Props.Text(ical.PropDescription)
		if err != nil || why != c.Events[i].Why+"\n"+c.Caution {
			t.Errorf("description %q, %v", why, err)
		}
		uid, err := e.Props.Text(ical.PropUID)
		if err != nil || seen[uid] {
			t.Errorf("identity %q, %v", uid, err)
		}
		seen[uid] = true
	}
	var again bytes.Buffer
	if err := c.WriteCalendar(&again, "carpet python, tub; north", stamp); err != nil || !bytes.Equal(again.Bytes(), b.Bytes()) {
		t.Errorf("the same follow-up gives another file (%v)", err)
	}
}

func TestCalendarThatCannotBeWritten(t *testing.T) {
	c := of(t, room, status.Both)
	if err := c.WriteCalendar(broken{}, "", treated); err == nil {
		t.Error("a full card was not noticed")
	}
	c.Events[0].Date = "tomorrow"
	if err := c.WriteCalendar(&bytes.Buffer{}, "", treated); err == nil {
		t.Error("a date that is none was written")
	}
}

type broken struct{}

func (broken) Write([]byte) (int, error) { return 0, bytes.ErrTooLarge }
