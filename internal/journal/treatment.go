package journal

import (
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"time"

	"soakwarden/internal/journal/entry"
	"soakwarden/internal/journal/verify"
)

// treatmentTopic is the topic of the documents of a treatment.
const treatmentTopic = "treatment"

// OfTreatment narrows the filter to the station and the time of one treatment:
// from its first step to its last, or to the end of the record while it is not
// over. A narrower time that the filter has already stays.
func (q *Filter) OfTreatment(src verify.Source, number string) error {
	times, err := NewTimeline(src)
	if err != nil {
		return err
	}
	station, open := "", false
	var from, to time.Time
	var known []string
	err = src.Rows(func(r verify.Row) error {
		if r.Body == nil {
			return nil
		}
		if kind, _, err := entry.Peek(r.Body); err != nil || kind != entry.KindDocument {
			return err
		}
		e, err := entry.Decode(r.Body)
		if err != nil {
			return fmt.Errorf("entry %d: %w", r.Seq, err)
		}
		d := e.Body.(*entry.Document)
		if d.Topic != treatmentTopic {
			return nil
		}
		if len(known) == 0 || known[len(known)-1] != d.ID {
			known = append(known, d.ID)
		}
		if d.ID != number {
			return nil
		}
		var step struct {
			Result string `json:"result"`
		}
		// A step without a result leaves the treatment open.
		open = json.Unmarshal(d.JSON, &step) != nil || step.Result == "" || step.Result == "open"
		to, _ = times.At(e.Header)
		if station == "" {
			station, from = e.Station, to
		}
		return nil
	})
	switch {
	case err != nil:
		return err
	case station == "" && len(known) == 0:
		return errors.New("the record holds no treatment")
	case station == "":
		return fmt.Errorf("the record holds no treatment %q; it holds: %s", number, strings.Join(known, ", "))
	case q.Station != "" && q.Station != station:
		return fmt.Errorf("treatment %s was in %s, not in %s", number, station, q.Station)
	}
	q.Station = station
	if q.From.Before(from) {
		q.From = from
	}
	if !open && (q.To.IsZero() || q.To.After(to)) {
		q.To = to.Add(time.Millisecond)
	}
	return nil
}
