package followup

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"time"

	ics "github.com/arran4/golang-ical"
)

// WriteCalendar writes an iCalendar file (RFC 5545) with one event of a whole
// day for each day. about names the animal and may be empty. The same
// follow-up of the same animal has the same identities, so that a calendar
// takes a second file as an update. stamp is the moment at which the file is
// made.
func (c *Calendar) WriteCalendar(w io.Writer, about string, stamp time.Time) error {
	cal := ics.NewCalendarFor("soakwarden")
	cal.SetProductId("-//soakwarden//follow-up//EN")
	cal.SetMethod(ics.MethodPublish)
	for i, e := range c.Events {
		day, err := time.Parse(time.DateOnly, e.Date)
		if err != nil {
			return fmt.Errorf("writing the calendar: date %q: %w", e.Date, err)
		}
		sum := sha256.Sum256([]byte(fmt.Sprintf("%s\x00%s\x00%d", about, c.Treated, i)))
		event := cal.AddEvent(hex.EncodeToString(sum[:12]) + "@soakwarden")
		event.SetDtStampTime(stamp)
		event.SetAllDayStartAt(day)
		event.SetAllDayEndAt(day.AddDate(0, 0, 1)) // the end is not included
		what := e.What
		if about != "" {
			what = about + ": " + what
		}
		event.SetSummary(what)
		event.SetDescription(e.Why + "\n" + c.Caution)
		event.SetTimeTransparency(ics.TransparencyTransparent) // a look takes no day's time away
	}
	if err := cal.SerializeTo(w, ics.WithNewLine("\r\n")); err != nil {
		return fmt.Errorf("writing the calendar: %w", err)
	}
	return nil
}
