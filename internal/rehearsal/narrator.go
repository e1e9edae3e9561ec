package rehearsal

import (
	"fmt"
	"io"
	"time"

	"soakwarden/controller"
	"soakwarden/controller/alarm"
	"soakwarden/internal/config"
	"soakwarden/internal/loop"
)

// narrator tells the story of a run, a line for each thing that happens. The
// switching of a healthy relay is not told: a week has thousands of it.
type narrator struct {
	out    io.Writer
	config *config.Config
	err    error
}

// say writes one line: when, where, what.
func (n *narrator) say(now time.Duration, station, format string, args ...any) {
	if n.out == nil || n.err != nil {
		return
	}
	if station != "" {
		station += ": "
	}
	_, n.err = fmt.Fprintf(n.out, "%s  %s%s\n", clock(now), station, fmt.Sprintf(format, args...))
}

// clock writes a moment as days and hours, so that lines sort and align.
func clock(d time.Duration) string {
	s := int(d / time.Second)
	return fmt.Sprintf("%dd %02d:%02d:%02d", s/86400, s/3600%24, s/60%60, s%60)
}

// tick tells the events of one tick.
func (n *narrator) tick(now time.Duration, res *loop.Result) {
	if n.out == nil {
		return
	}
	for i := range res.Stations {
		for k := range res.Stations[i].Output.Events {
			if text := Tell(&res.Stations[i].Output.Events[k]); text != "" {
				n.say(now, res.Stations[i].Name, "%s", text)
			}
		}
	}
	for _, change := range res.Relays {
		if change.Err != nil {
			n.say(now, "", "relay %s cannot be written: %v", change.Relay, change.Err)
		}
	}
}

// Tell puts an event into words; empty for the everyday.
func Tell(e *controller.Event) string {
	value := ""
	if e.Value != 0 {
		value = fmt.Sprintf(" (%.2f °C)", e.Value.Celsius())
	}
	onOff := map[bool]string{true: "begins", false: "ends"}[e.On]
	switch e.Kind {
	case controller.CauseRaised:
		return "cause: " + e.Cause.String() + value
	case controller.CauseCleared:
		return "cleared: " + e.Cause.String()
	case controller.Latched:
		return "trip, latched: " + e.Cause.String() + value
	case controller.ResetDone:
		return "reset: " + e.Cause.String()
	case controller.ActRefused:
		return "refused: " + e.Refusal.String()
	case controller.AlarmChanged:
		return fmt.Sprintf("alarm %s: %s, was %s", e.Cause, alarm.State(e.To), alarm.State(e.From))
	case controller.FirstHeat:
		return "first heat"
	case controller.Ready:
		return "ready" + value
	case controller.ModeChange:
		return "attended mode " + onOff
	case controller.Proof:
		return "proof " + map[bool]string{true: "passed", false: "failed"}[e.On]
	}
	return ""
}
