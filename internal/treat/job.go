package treat

import (
	"bytes"
	"compress/flate"
	"encoding/json"
	"fmt"
	"io"
	"time"

	"soakwarden/controller"
	"soakwarden/controller/treatment"
	"soakwarden/internal/sizing"
)

// Stage is where a treatment stands. The zero value is none.
type Stage uint8

// The stages.
const (
	NoStage Stage = iota
	Warning       // the buzzer sounds, nothing heats
	Coming        // on its way to the target
	Holding       // all are at the target, the clock runs
	Ending        // over; heat off, the fan runs
	Closed        // at a safe temperature: waits for a person's release
)

// Words is the stage as people read it; freezing has words of its own.
func (s Stage) Words(freeze bool) string {
	switch s {
	case Warning:
		return "ten minutes of warning"
	case Coming:
		if freeze {
			return "cooling to the target"
		}
		return "heating to the target"
	case Holding:
		return "holding"
	case Ending:
		if freeze {
			return "warming up again"
		}
		return "cooling down"
	case Closed:
		return "waits for release"
	}
	return "none"
}

// Deviation is something that was not as planned.
type Deviation struct {
	At   time.Duration `json:"at"` // on the treatment's clock
	Text string        `json:"text"`
}

// point is one point of the curve: hundredths of a degree Celsius, in the order
// of the probes; noPoint where there was no reading.
type point struct {
	At time.Duration `json:"at"`
	C  []int32       `json:"c"`
}

const (
	noPoint       = -100000
	curveMost     = 64 // points of a curve; it is thinned by half when full
	deviationMost = 100
)

// job is one treatment with everything that must outlive the program. Its
// clock is At; it runs while the program does, and over a stop whose length is
// known.
type job struct {
	Number     string                `json:"number"`
	Order      Order                 `json:"order"`
	Rules      treatment.Rules       `json:"rules"`
	Plan       *sizing.Plan          `json:"plan"`
	Stage      Stage                 `json:"stage"`
	At         time.Duration         `json:"at"`
	WarnedAt   time.Duration         `json:"warned_at"` // when the warning began anew
	HeatFrom   time.Duration         `json:"heat_from"` // when heat was first allowed; 0 before
	EndedAt    time.Duration         `json:"ended_at"`
	Judge      treatment.State       `json:"judge"`
	Result     treatment.Result      `json:"result"`
	Reason     string                `json:"reason"`
	Typed      string                `json:"typed"`
	Effective  controller.Difference `json:"effective"` // of the air, over 0 K
	Deviations []Deviation           `json:"deviations"`
	Devious    int                   `json:"deviations_all"`
	Curve      []point               `json:"curve"`
	CurveStep  time.Duration         `json:"curve_step"`
	Started    time.Time             `json:"started"`
	Wall       time.Time             `json:"wall"`      // of the last tick
	Trusted    bool                  `json:"trusted"`   // then
	Untrusted  bool                  `json:"untrusted"` // the clock was not to be trusted at some time
	Interrupts int                   `json:"interrupts"`
	Steps      int                   `json:"steps"` // readings shown to the judge
}

// deviate notes a deviation, once until another comes.
func (j *job) deviate(format string, args ...any) {
	text := fmt.Sprintf(format, args...)
	j.Devious++
	if len(j.Deviations) < deviationMost {
		j.Deviations = append(j.Deviations, Deviation{j.At, text})
	}
}

// plot adds a point to the curve when it is due.
func (j *job) plot(readings []treatment.Reading) {
	if n := len(j.Curve); n > 0 && j.At-j.Curve[n-1].At < j.CurveStep {
		return
	}
	p := point{At: j.At, C: make([]int32, len(readings))}
	for i, r := range readings {
		p.C[i] = noPoint
		if r.Good {
			p.C[i] = int32((r.Value.Celsius())*100+1000.5) - 1000
			if r.Value.Celsius() < -10 {
				p.C[i] = -int32(-r.Value.Celsius()*100 + 0.5)
			}
		}
	}
	j.Curve = append(j.Curve, p)
	if len(j.Curve) >= curveMost {
		kept := j.Curve[:0]
		for i := range j.Curve {
			if i%2 == 0 {
				kept = append(kept, j.Curve[i])
			}
		}
		j.Curve = kept
		j.CurveStep *= 2
	}
}

// pack makes the bytes that outlive the program.
func (j *job) pack() ([]byte, error) {
	var b bytes.Buffer
	w, err := flate.NewWriter(&b, flate.BestSpeed)
	if err != nil {
		return nil, err
	}
	if err := json.NewEncoder(w).Encode(j); err != nil {
		return nil, err
	}
	if err := w.Close(); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}

// unpackMost bounds what a kept treatment may unpack to.
const unpackMost = 4 << 20

func unpack(data []byte) (*job, error) {
	j := new(job)
	text, err := io.ReadAll(io.LimitReader(flate.NewReader(bytes.NewReader(data)), unpackMost))
	if err == nil {
		err = json.Unmarshal(text, j)
	}
	if err != nil {
		return nil, fmt.Errorf("the kept treatment cannot be read: %w", err)
	}
	if j.Plan == nil || j.Stage == NoStage || j.Stage > Closed {
		return nil, fmt.Errorf("the kept treatment is not whole")
	}
	return j, nil
}
