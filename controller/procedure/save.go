package procedure

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"time"
)

// Save gives the canonical bytes of the case: JSON with sorted keys and no
// spaces.
func (c *Case) Save() []byte {
	return canonical(&c.s)
}

// canonical writes the state with its keys sorted. Neither step can fail on
// plain numbers, texts and lists.
func canonical(s *state) []byte {
	first, _ := json.Marshal(s)
	d := json.NewDecoder(bytes.NewReader(first))
	d.UseNumber()
	var v any
	_ = d.Decode(&v)
	var out bytes.Buffer
	e := json.NewEncoder(&out)
	e.SetEscapeHTML(false)
	_ = e.Encode(v)
	return bytes.TrimSuffix(out.Bytes(), []byte("\n"))
}

// Restore takes what Save gave. It changes nothing on an error: bytes that Save
// cannot have written are refused.
func (c *Case) Restore(b []byte) error {
	d := json.NewDecoder(bytes.NewReader(b))
	d.DisallowUnknownFields()
	var s state
	if err := d.Decode(&s); err != nil {
		return fmt.Errorf("restoring a case: %w", err)
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return errors.New("restoring a case: something stands after it")
	}
	if !bytes.Equal(canonical(&s), b) {
		return errors.New("restoring a case: the bytes are not in canonical form")
	}
	if err := s.check(); err != nil {
		return fmt.Errorf("restoring a case: %w", err)
	}
	c.s = s
	return nil
}

// check refuses a state that no sequence of orders leads to.
func (s *state) check() error {
	if s.Stage == NoStage {
		if !bytes.Equal(canonical(s), canonical(&state{})) {
			return errors.New("no case has a state")
		}
		return nil
	}
	if s.Stage >= stageCount || s.Pause >= pauseCount {
		return fmt.Errorf("stage %d or pause %d is unknown", s.Stage, s.Pause)
	}
	if err := s.Plan.check(); err != nil {
		return err
	}
	for _, d := range []time.Duration{s.Age, s.In, s.Wet, s.Soak, s.Water, s.Round, s.Plain} {
		if d < 0 {
			return fmt.Errorf("a time of %d ns is negative", d)
		}
	}
	if (s.Stage == Attended) != (s.Back != NoStage) || s.Back == Attended || s.Back != NoStage && !s.Back.AtTub() {
		return fmt.Errorf("the stage %s goes back to %s", s.Stage, s.Back)
	}
	if in := s.Stage.InWater() || s.Stage == Attended && s.Back.InWater(); in != s.IsIn {
		return fmt.Errorf("the stage is %s and the animal is in the tub: %v", s.Stage, s.IsIn)
	}
	for _, a := range s.Answers {
		if a > Yes {
			return fmt.Errorf("answer %d is unknown", a)
		}
	}
	for _, i := range s.Items {
		if i.Way >= wayCount {
			return fmt.Errorf("%s: way %d is unknown", i.Name, i.Way)
		}
	}
	if len(s.Chemicals) > mostChemicals {
		return fmt.Errorf("%d chemicals", len(s.Chemicals))
	}
	if s.Stage == Watch || s.Stage == Cleared {
		if _, err := time.Parse(time.DateOnly, s.Treated); err != nil {
			return fmt.Errorf("date of the return: %w", err)
		}
		if _, err := Follow(s.Room); err != nil {
			return err
		}
	}
	return nil
}
