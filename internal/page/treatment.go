package page

import (
	"fmt"
	"time"

	"soakwarden/internal/loop"
	"soakwarden/internal/status"
)

// treatmentView is the treatment of a chamber as the sheet tells it.
type treatmentView struct {
	Number, Schedule, Stage string
	Together, Longest, Hold string
	Slowest                 string // piece, and how far it is
	Waits, Left             string
	Result, Reason          string // empty while open
	Failed                  bool
}

// treatmentOf is the treatment of a station, nil for none.
func treatmentOf(v *loop.StationView, u status.Units) *treatmentView {
	t := v.Treatment
	if t == nil {
		return nil
	}
	w := &treatmentView{
		Number: t.Number, Schedule: t.Schedule, Stage: t.Stage, Waits: t.Waits,
		Together: spanWord(t.Together), Longest: spanWord(t.Longest), Hold: spanWord(t.Hold),
	}
	if t.Slowest >= 0 && t.Piece != "" {
		if w.Slowest = t.Piece + ", past the target"; t.Behind > 0 {
			w.Slowest = fmt.Sprintf("%s, %s short of the target, its uncertainty counted", t.Piece, u.Difference(t.Behind))
		}
	}
	if t.Running && t.Left > 0 {
		w.Left = spanWord(t.Left)
	}
	if !t.Running {
		w.Result, w.Reason, w.Failed = t.Result, t.Reason, t.Result != "PASS"
	}
	return w
}

// spanWord writes a time to the minute, and to the second under an hour.
func spanWord(d time.Duration) string {
	if d < time.Hour {
		return fmt.Sprintf("%d:%02d min", int(d.Minutes()), int(d.Seconds())%60)
	}
	if d < 48*time.Hour {
		return fmt.Sprintf("%d:%02d h", int(d.Hours()), int(d.Minutes())%60)
	}
	return fmt.Sprintf("%.1f days", d.Hours()/24)
}
