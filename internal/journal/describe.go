package journal

import (
	"encoding/hex"
	"encoding/json"
	"fmt"
	"strings"
	"time"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
	"soakwarden/controller/alarm"
	"soakwarden/internal/journal/entry"
)

// Celsius is a temperature in °C.
func Celsius(t physic.Temperature) float64 {
	return float64(t-physic.ZeroCelsius) / float64(physic.Kelvin)
}

// told is the sentence of a document that has one, and who did it; else the
// whole document.
func told(doc []byte) string {
	var d struct {
		Says string `json:"says"`
		Who  string `json:"who"`
	}
	switch {
	case json.Unmarshal(doc, &d) != nil || d.Says == "":
		return string(doc)
	case d.Who == "":
		return d.Says
	}
	return d.Says + " (" + d.Who + ")"
}

// Describe says in one line what an entry records.
func Describe(e *entry.Entry) string {
	switch b := e.Body.(type) {
	case *entry.Start:
		how := "start"
		if b.Unclean {
			how = "start after an unclean stop"
		}
		return fmt.Sprintf("%s: %s, version %s", how, b.Reason, b.Version)
	case *entry.Stop:
		return "stop: " + b.Reason
	case *entry.Config:
		return fmt.Sprintf("configuration %s, SHA-256 %s", b.Name, hex.EncodeToString(b.Sum[:]))
	case *entry.Settings:
		return "settings of core " + b.Core
	case *entry.Ticks:
		return fmt.Sprintf("%d ticks of %d probes", b.Len(), b.Probes)
	case *entry.Event:
		return describeEvent(b)
	case *entry.Act:
		return describeAct(b)
	case *entry.Relay:
		text := fmt.Sprintf("relay %s %s", b.Relay, onOff(b.On))
		if b.Error != "" {
			text += ": could not be written: " + b.Error
		}
		return text
	case *entry.Jump:
		step := time.Duration(e.Wall-b.Before) * time.Millisecond
		if e.Trusted != b.Trusted {
			return fmt.Sprintf("clock moved by %s; trusted: %v, before: %v", step, e.Trusted, b.Trusted)
		}
		return fmt.Sprintf("clock moved by %s", step)
	case *entry.State:
		return fmt.Sprintf("state saved, %d bytes", len(b.State))
	case *entry.Restored:
		return fmt.Sprintf("state restored, %d bytes", len(b.State))
	case *entry.Note:
		return fmt.Sprintf("%s: %s", b.Who, b.Text)
	case *entry.Document:
		return fmt.Sprintf("%s %s: %s", b.Topic, b.ID, told(b.JSON))
	case *entry.Thinned:
		return fmt.Sprintf("detail of %d blocks given up: %s", len(b.Blocks), b.Reason)
	case *entry.Lost:
		return fmt.Sprintf("%d entries and %d ticks lost: %s", b.Events, b.Ticks, b.Reason)
	case *entry.Reopened:
		return "the file was opened again: " + b.Reason
	case *entry.Proof:
		return "write proved"
	}
	return e.Body.Kind().String()
}

func onOff(on bool) string {
	if on {
		return "on"
	}
	return "off"
}

func describeEvent(b *entry.Event) string {
	parts := []string{controller.EventKind(b.Event).String()}
	if b.Cause != 0 {
		parts = append(parts, controller.Cause(b.Cause).String())
	}
	switch controller.EventKind(b.Event) {
	case controller.AlarmChanged:
		parts = append(parts, fmt.Sprintf("from %s to %s", alarm.State(b.From), alarm.State(b.To)))
	case controller.ActRefused:
		parts = append(parts, controller.Refusal(b.Refusal).String())
	case controller.HeatSwitched, controller.SeriesSwitched, controller.ModeChange:
		parts = append(parts, onOff(b.On))
	case controller.Proof:
		if b.On {
			parts = append(parts, "passed")
		} else {
			parts = append(parts, "failed")
		}
	}
	if b.Probe >= 0 {
		parts = append(parts, fmt.Sprintf("probe %d", b.Probe+1))
	}
	if b.Value != 0 {
		parts = append(parts, fmt.Sprintf("%.3f °C", Celsius(physic.Temperature(b.Value))))
	}
	return strings.Join(parts, ", ")
}

func describeAct(b *entry.Act) string {
	parts := []string{controller.ActKind(b.Act).String()}
	if b.Cause != 0 {
		parts = append(parts, controller.Cause(b.Cause).String())
	}
	if b.Value != 0 {
		parts = append(parts, fmt.Sprintf("%.2f °C", Celsius(physic.Temperature(b.Value))))
	}
	if b.Span != 0 {
		parts = append(parts, "for "+b.Span.String())
	}
	for i, what := range []string{"animal", "level", "probe", "pad"} {
		if b.Seen>>i&1 == 1 {
			parts = append(parts, "saw the "+what)
		}
	}
	parts = append(parts, "from: "+controller.Place(b.Place).String())
	if b.Who != "" {
		parts = append(parts, "by "+b.Who)
	}
	if b.Why != "" {
		parts = append(parts, "because: "+b.Why)
	}
	return strings.Join(parts, ", ")
}
