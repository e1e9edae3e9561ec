package treat

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"time"

	"soakwarden/controller/treatment"
	"soakwarden/internal/config"
	"soakwarden/internal/journal"
	"soakwarden/internal/loop"
	"soakwarden/internal/sizing"
)

// Bounds of what comes in.
const (
	maxBody    = 64 << 10
	durableFor = 5 * time.Second // that an answer waits for the journal
)

// Begin starts what was announced.
type Begin struct {
	Station string `json:"station"`
	Typed   string `json:"typed"`
}

// End stops what is under way.
type End struct {
	Station string `json:"station"`
	Who     string `json:"who"`
	Why     string `json:"why"`
}

// Standing is how a chamber's treatment stands.
type Standing struct {
	Station    string              `json:"station"`
	Treatment  *loop.TreatmentView `json:"-"`
	Number     string              `json:"number"`
	Schedule   string              `json:"schedule"`
	Stage      string              `json:"stage"`
	Result     string              `json:"result"`
	Reason     string              `json:"reason"`
	Waits      string              `json:"waits_for"`
	Slowest    string              `json:"slowest"` // piece
	BehindK    *float64            `json:"behind_k"`
	TogetherS  float64             `json:"together_s"`
	LongestS   float64             `json:"longest_together_s"`
	HoldS      float64             `json:"hold_s"`
	ElapsedS   float64             `json:"elapsed_s"`
	LeftS      *float64            `json:"left_s"`
	Deviations []string            `json:"deviations"`
}

// Plan plans an order and changes nothing.
func (d *Desk) Plan(o Order) (*sizing.Plan, error) {
	c, err := d.find(o.Station)
	if err != nil {
		return nil, err
	}
	s, err := o.schedule(c.st.Chamber.Freeze)
	if err != nil {
		return nil, err
	}
	start := c.st.RoomColdest.Celsius()
	if now, err := c.ready(); err == nil {
		start = now
	}
	return sizing.PlanTreatment(c.st, s, start)
}

// Standing says how every chamber stands, or one.
func (d *Desk) Standing(station string) ([]Standing, error) {
	list := []Standing{}
	if station != "" {
		if _, err := d.find(station); err != nil {
			return nil, err
		}
	}
	for _, c := range d.chambers {
		if station != "" && c.st.Name != station {
			continue
		}
		s := Standing{Station: c.st.Name, Stage: NoStage.Words(false), Deviations: []string{}}
		c.mu.Lock()
		s.Reason = c.lost
		c.mu.Unlock()
		if v := c.View(); v != nil {
			s.Number, s.Schedule, s.Stage, s.Result, s.Reason, s.Waits, s.Slowest = v.Number, v.Schedule, v.Stage, v.Result, v.Reason, v.Waits, v.Piece
			s.TogetherS, s.LongestS, s.HoldS, s.ElapsedS = v.Together.Seconds(), v.Longest.Seconds(), v.Hold.Seconds(), v.Elapsed.Seconds()
			if v.Slowest >= 0 {
				k := float64(v.Behind) / 1e9
				s.BehindK = &k
			}
			if v.Running {
				left := v.Left.Seconds()
				s.LeftS = &left
			}
			s.Deviations = append(s.Deviations, d.Deviations(c.st.Name)...)
		}
		list = append(list, s)
	}
	return list, nil
}

// Handler answers what people ask of treatments at the board: GET /treat/list
// and /treat/status, POST /treat/plan, /treat/announce, /treat/start,
// /treat/stop and /treat/release.
func (d *Desk) Handler() http.Handler {
	mux := http.NewServeMux()
	mux.HandleFunc("GET /treat/list", func(w http.ResponseWriter, _ *http.Request) { answer(w, Listed(), nil) })
	mux.HandleFunc("GET /treat/status", func(w http.ResponseWriter, r *http.Request) {
		list, err := d.Standing(r.URL.Query().Get("station"))
		answer(w, list, err)
	})
	mux.HandleFunc("POST /treat/plan", func(w http.ResponseWriter, r *http.Request) {
		var o Order
		if read(w, r, &o) {
			p, err := d.Plan(o)
			answer(w, p, err)
		}
	})
	mux.HandleFunc("POST /treat/announce", func(w http.ResponseWriter, r *http.Request) {
		var o Order
		if read(w, r, &o) {
			c, err := d.Announce(o)
			answer(w, c, err)
		}
	})
	mux.HandleFunc("POST /treat/start", func(w http.ResponseWriter, r *http.Request) {
		var b Begin
		if read(w, r, &b) {
			number, receipt, err := d.Start(b.Station, b.Typed)
			answer(w, map[string]string{"number": number}, errors.Join(err, durable(r.Context(), receipt)))
		}
	})
	mux.HandleFunc("POST /treat/stop", func(w http.ResponseWriter, r *http.Request) {
		var e End
		if read(w, r, &e) {
			receipt, err := d.Stop(e.Station, e.Who, e.Why)
			answer(w, map[string]bool{"done": true}, errors.Join(err, durable(r.Context(), receipt)))
		}
	})
	mux.HandleFunc("POST /treat/release", func(w http.ResponseWriter, r *http.Request) {
		var l Release
		if read(w, r, &l) {
			out, receipt, err := d.Release(l)
			answer(w, out, errors.Join(err, durable(r.Context(), receipt)))
		}
	})
	return mux
}

// durable waits until a step is on the card.
func durable(ctx context.Context, r journal.Receipt) error {
	timer := time.NewTimer(durableFor)
	defer timer.Stop()
	select {
	case <-r.Done():
		if err := r.Err(); err != nil {
			return fmt.Errorf("done, but not on disk: %w", err)
		}
		return nil
	case <-timer.C:
		return fmt.Errorf("done, but not on disk after %s: look at the journal", durableFor)
	case <-ctx.Done():
		return ctx.Err()
	}
}

// List is every schedule, offered and refused.
type List struct {
	Schedules []Offered           `json:"schedules"`
	Refused   []treatment.Refused `json:"refused"`
}

// Offered is one schedule that is built in.
type Offered struct {
	Name    string  `json:"name"`
	Freeze  bool    `json:"freeze"`
	TargetC float64 `json:"target_c"`
	HoldS   float64 `json:"hold_s"`
	For     string  `json:"for"`
	Source  string  `json:"source"`
	Ours    string  `json:"ours"` // what of it no source says
}

// Listed lists every schedule.
func Listed() List {
	l := List{Refused: treatment.RefusedSchedules()}
	for _, s := range treatment.Schedules() {
		l.Schedules = append(l.Schedules, Offered{s.Name, s.Freeze, s.Target.Celsius(), s.Hold.Seconds(), s.For, s.Source, s.Ours})
	}
	return l
}

// read takes one JSON object without unknown keys; it answers itself when it
// cannot.
func read(w http.ResponseWriter, r *http.Request, into any) bool {
	d := json.NewDecoder(http.MaxBytesReader(w, r.Body, maxBody))
	d.DisallowUnknownFields()
	err := d.Decode(into)
	if err == nil {
		if _, end := d.Token(); !errors.Is(end, io.EOF) {
			err = errors.New("something stands after it")
		}
	}
	if err != nil {
		answer(w, nil, fmt.Errorf("the request could not be read: %w", err))
	}
	return err == nil
}

// answer writes an answer, or an error in the form of the socket.
func answer(w http.ResponseWriter, v any, err error) {
	code := http.StatusOK
	if err != nil {
		v, code = map[string]string{"error": err.Error()}, http.StatusConflict
	}
	data, bad := json.Marshal(v)
	if bad != nil {
		data, code = []byte(`{"error":"the answer cannot be written"}`), http.StatusInternalServerError
	}
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(code)
	// Nobody is there to be told when the other side is gone.
	_, _ = w.Write(append(data, '\n'))
}

// PlanOf plans an order from a configuration alone, with everything at start.
func PlanOf(cfg *config.Config, o Order, start float64) (*sizing.Plan, error) {
	d := NewDesk(Options{Config: cfg})
	c, err := d.find(o.Station)
	if err != nil {
		return nil, err
	}
	s, err := o.schedule(c.st.Chamber.Freeze)
	if err != nil {
		return nil, err
	}
	if !(start > -40 && start < 60) {
		return nil, fmt.Errorf("the start is %.1f °C: write −40 to 60", start)
	}
	return sizing.PlanTreatment(c.st, s, start)
}
