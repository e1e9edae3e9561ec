package metrics

import (
	"math"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
	"soakwarden/controller/procedure"
	"soakwarden/internal/loop"
	"soakwarden/internal/status"
)

// emitter sends metrics of one snapshot.
type emitter struct {
	out chan<- prometheus.Metric
}

func (e emitter) value(m metric, x float64, labels ...string) {
	kind := prometheus.GaugeValue
	if metricTable[m].count {
		kind = prometheus.CounterValue
	}
	got, err := prometheus.NewConstMetric(metricTable[m].desc, kind, x, labels...)
	if err != nil {
		// A label that is not UTF-8 becomes an error of the scrape, not a panic.
		got = prometheus.NewInvalidMetric(metricTable[m].desc, err)
	}
	e.out <- got
}

func (e emitter) flag(m metric, on bool, labels ...string) {
	x := 0.0
	if on {
		x = 1
	}
	e.value(m, x, labels...)
}

func (e emitter) celsius(m metric, t physic.Temperature, known bool, labels ...string) {
	x := math.NaN()
	if known {
		x = rounded(status.DegreesC(t))
	}
	e.value(m, x, labels...)
}

func (e emitter) kelvin(m metric, d controller.Difference, labels ...string) {
	e.value(m, rounded(float64(d)/float64(controller.Kelvin)), labels...)
}

func (e emitter) moment(m metric, t time.Time, labels ...string) {
	if t.IsZero() {
		e.value(m, 0, labels...)
		return
	}
	e.value(m, float64(t.UnixMilli())/1000, labels...)
}

func (e emitter) bench(s *loop.Snapshot) {
	e.value(buildInfo, 1, s.Version, s.Config)
	e.moment(lastTick, s.Wall)
	e.value(ticks, float64(s.Tick))
	e.value(missedTicks, float64(s.Missed))
	e.flag(clockTrusted, s.Trusted)
	speed := 0.0
	if s.Demo {
		speed = s.Speed
	}
	e.value(demoSpeed, speed)
	e.flag(journalOK, s.Journal.OK)
	e.value(journalQueue, float64(s.Journal.Queue))
	e.value(journalEntries, float64(s.Journal.Entries))
	e.value(journalDurable, float64(s.Journal.Durable))
	e.value(journalLost, float64(s.Journal.Lost))
	e.value(journalThinned, float64(s.Journal.Thinned))
	e.value(journalReopened, float64(s.Journal.Reopened))
	e.moment(journalSync, s.Journal.LastSync)
	for i := range s.Targets {
		t := &s.Targets[i]
		e.value(messagesSent, float64(t.Sent), t.Name)
		e.value(messagesFailed, float64(t.Failed), t.Name)
		e.value(messagesDropped, float64(t.Dropped), t.Name)
		e.value(messagesWaiting, float64(t.Waiting), t.Name)
	}
}

func (e emitter) station(s *loop.Snapshot, v *loop.StationView) {
	e.value(stationInfo, 1, v.Name, status.KindWord(v.Kind), v.Species)
	e.celsius(setPoint, v.SetPoint, v.SetPoint != 0, v.Name)
	e.celsius(effectiveSetPoint, v.Effective, v.Effective != 0, v.Name)
	e.kelvin(differential, v.Differential, v.Name)
	e.celsius(tooCold, v.TooCold, v.TooCold != 0, v.Name)
	e.celsius(cutoff, v.Cutoff, v.Cutoff != 0, v.Name)
	governs := v.Governing >= 0 && v.Governing < len(v.Probes) &&
		status.HasValue(v.Probes[v.Governing].Reading)
	var governing physic.Temperature
	if governs {
		governing = v.Probes[v.Governing].Reading.Value
	}
	e.celsius(water, governing, governs, v.Name)
	e.flag(waterBelievable, governs, v.Name)
	e.flag(heatOn, v.HeatOn, v.Name)
	e.flag(heatPermitted, v.Permitted, v.Name)
	e.flag(attended, v.Attended, v.Name)
	e.flag(animalIn, v.AnimalIn, v.Name)
	e.monotonic(readySince, s, v.ReadyAt, v.ReadyAt != 0, v.Name)
	for _, c := range status.Causes() {
		e.alarm(v, c)
	}
	for _, m := range procedure.Matters() {
		if v.Kind == controller.Tub {
			e.caseAlarm(v, m)
		}
	}
	e.treatment(v)
	for i := range v.Probes {
		e.probe(s, v, &v.Probes[i])
	}
	for _, p := range v.Proofs {
		e.flag(proofPassed, p.Passed, v.Name, p.Name)
		e.moment(proofTime, p.At, v.Name, p.Name)
	}
}

// treatment tells of a chamber's treatment; without one everything is at zero.
func (e emitter) treatment(v *loop.StationView) {
	if v.Kind != controller.Chamber {
		return
	}
	t := v.Treatment
	if t == nil {
		t = &loop.TreatmentView{Slowest: -1}
	}
	e.flag(treatmentRunning, t.Running, v.Name)
	e.flag(treatmentAwaits, t.Awaits, v.Name)
	e.value(treatmentTogether, t.Together.Seconds(), v.Name)
	e.value(treatmentLongest, t.Longest.Seconds(), v.Name)
	e.value(treatmentHold, t.Hold.Seconds(), v.Name)
	behind := math.NaN()
	if t.Slowest >= 0 {
		behind = rounded(float64(t.Behind) / float64(controller.Kelvin))
	}
	e.value(treatmentBehind, behind, v.Name)
	for _, r := range [...]string{"open", "PASS", "FAIL"} {
		e.flag(treatmentResult, t.Result == r, v.Name, r)
	}
}

func (e emitter) alarm(v *loop.StationView, c controller.Cause) {
	var active, unanswered, held bool
	for _, a := range v.Alarms {
		if a.Cause == c {
			active = active || status.Active(a.State)
			unanswered = unanswered || a.State.Asks()
			held = held || a.Latched
		}
	}
	word := c.Rule().Name
	e.flag(alarmActive, active, v.Name, word)
	e.flag(alarmUnanswered, unanswered, v.Name, word)
	e.flag(latched, held, v.Name, word)
}

// caseAlarm tells of one matter of the cases of a tub.
func (e emitter) caseAlarm(v *loop.StationView, m procedure.Matter) {
	var active, unanswered bool
	for _, a := range v.CaseAlarms {
		if a.Name == m.String() {
			active = active || status.Active(a.State)
			unanswered = unanswered || a.State.Asks()
		}
	}
	e.flag(alarmActive, active, v.Name, m.String())
	e.flag(alarmUnanswered, unanswered, v.Name, m.String())
}

func (e emitter) probe(s *loop.Snapshot, v *loop.StationView, p *loop.ProbeView) {
	labels := []string{v.Name, status.RoleWord(p.Role), p.ROM}
	has := status.HasValue(p.Reading)
	e.celsius(probeTemperature, p.Reading.Value, has, labels...)
	e.flag(probeGood, p.Reading.Quality == controller.Good, labels...)
	e.monotonic(probeReading, s, s.Now-p.Age, has, labels...)
	e.kelvin(probeUncertainty, p.Uncertainty, labels...)
	e.flag(probeCalibrated, p.Calibrated, labels...)
	e.value(probeErrors, float64(p.Errors), labels...)
}

func (e emitter) bus(s *loop.Snapshot, b *loop.BusView) {
	e.value(busCycles, float64(b.Cycle), b.Name)
	e.monotonic(busLastCycle, s, b.At, b.Cycle > 0, b.Name)
	e.value(busCycleLength, b.Length.Seconds(), b.Name)
	e.value(busDevices, float64(b.Devices), b.Name)
	e.flag(busFaulty, b.Fault != "", b.Name)
}

func (e emitter) relay(r *loop.RelayView) {
	e.flag(relayOn, r.On, r.Name)
	e.flag(relayWritten, r.Written, r.Name)
	e.flag(relayDisagrees, r.Seen == controller.ContactClosed && !r.On || r.Seen == controller.ContactOpen && r.On, r.Name)
	e.value(relayCycles, float64(r.Cycles), r.Name)
}

// monotonic turns a moment on the loop's clock into wall time.
func (e emitter) monotonic(m metric, s *loop.Snapshot, at time.Duration, known bool, labels ...string) {
	if !known {
		e.value(m, 0, labels...)
		return
	}
	e.moment(m, s.Wall.Add(at-s.Now), labels...)
}

// rounded is to a ten-thousandth: float64 of an integer nanokelvin is not
// 29.44 but 29.439999999999998.
func rounded(x float64) float64 { return math.RoundToEven(x*10000) / 10000 }
