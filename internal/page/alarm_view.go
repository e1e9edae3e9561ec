package page

import (
	"net/url"
	"strings"
	"time"

	"soakwarden/controller"
	"soakwarden/controller/alarm"
	"soakwarden/internal/loop"
	"soakwarden/internal/status"
)

// alarmView is one alarm as a person reads it: first what to do.
type alarmView struct {
	rank     controller.Severity
	Advice   string
	Name     string
	Argument string // the cause as one word
	Severity string // "trip"
	Class    string // "trip", "heat-off", "warning" or "note"
	State    string
	Since    string
	Value    string
	Held     bool // latched, and the state does not say so yet
	Asks     bool // waits for an acknowledgement
	Over     bool // the condition is gone, or a person or the design set it aside
	Aside    bool // shelved, suppressed or out of service: one line is enough
	ResetURL string
	Board    string // the command that resets it, when only the board may
}

func (f *frame) alarm(v *loop.StationView, a loop.AlarmView, u status.Units) alarmView {
	rule := a.Cause.At(v.Kind)
	out := alarmView{
		rank:   a.Severity,
		Advice: rule.Advice, Name: rule.Name, Argument: status.CauseArgument(a.Cause),
		Severity: status.SeverityWord(a.Severity), Class: strings.ReplaceAll(status.SeverityWord(a.Severity), " ", "-"),
		State: a.State.String(), Since: f.since(a.Since),
		Held: a.Latched && a.State != alarm.LatchedUnacknowledged && a.State != alarm.LatchedAcknowledged, Asks: a.State.Asks(),
		Over: !status.Active(a.State), Aside: !status.Active(a.State) && !a.State.Asks(),
	}
	if a.Value != 0 {
		out.Value = u.Temperature(a.Value)
	}
	if a.Latched {
		if rule.Reset == controller.Page {
			out.ResetURL = stationPath(v.Name) + "/reset?cause=" + url.QueryEscape(out.Argument)
		} else {
			out.Board = boardCommand(v.Name, v.Kind, a.Cause)
		}
	}
	return out
}

// caseAlarm is an alarm of a case.
func (f *frame) caseAlarm(a loop.CaseAlarm) alarmView {
	rank := status.CaseSeverity(a)
	return alarmView{
		rank: rank, Advice: a.Advice, Name: a.Name, Argument: strings.ReplaceAll(a.Name, " ", "-"),
		Severity: status.CasePriority(a) + " alarm", Class: status.SeverityWord(rank), State: a.State.String(), Since: f.since(a.Since),
		Asks: a.State.Asks(), Over: !status.Active(a.State), Aside: !status.Active(a.State) && !a.State.Asks(),
	}
}

// since is a moment as it stands behind an alarm.
func (f *frame) since(at time.Time) string {
	if at.IsZero() {
		return "the start"
	}
	at = at.In(f.zone)
	if now := f.snap.Wall.In(f.zone); at.YearDay() != now.YearDay() || at.Year() != now.Year() {
		return at.Format("2006-01-02 15:04")
	}
	return at.Format("15:04:05")
}

// boardCommand is what to type at the board to reset a cause.
func boardCommand(station string, kind controller.Kind, c controller.Cause) string {
	return "soakwarden reset " + shellWord(station) + " " + status.CauseArgument(c) +
		" --seen " + strings.Join(status.SeenWords(c.At(kind).Seen, kind), ",") + " --who NAME --why REASON"
}

// shellWord quotes a name that a shell would take apart.
func shellWord(s string) string {
	for _, r := range s {
		switch {
		case r >= 'a' && r <= 'z', r >= 'A' && r <= 'Z', r >= '0' && r <= '9', r == '-', r == '_', r == '.':
		default:
			return "'" + strings.ReplaceAll(s, "'", `'\''`) + "'"
		}
	}
	return s
}

// Worst is the first word of the row in the list of stations.
func (s stationView) Worst() string {
	for _, a := range s.Alarms {
		if !a.Over {
			return strings.ToUpper(a.Severity) + ": " + a.Name
		}
	}
	for _, a := range s.Alarms {
		if !a.Aside {
			return a.Name + ": " + a.State
		}
	}
	return "no alarm"
}

// WorstClass is the class of that row.
func (s stationView) WorstClass() string {
	for _, a := range s.Alarms {
		if !a.Over {
			return a.Class
		}
	}
	return "quiet"
}
