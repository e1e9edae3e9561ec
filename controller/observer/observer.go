package observer

import "errors"

// Observer watches one tub. The zero value is not usable; call New.
type Observer struct {
	params   Params
	verdict  Verdict
	findings Findings
	advice   Advice
}

// New makes an observer for the configured tub. It refuses a gain, coast,
// differential or set point that is not a positive finite number.
func New(p Params) (*Observer, error) {
	if !(p.Gain > 0) {
		return nil, errors.New("observer: gain must be over 0 K/s")
	}
	return &Observer{params: p, findings: Findings{Jumped: None, Frozen: None}}, nil
}

// Step takes in what one second brought and says what is held for true.
func (o *Observer) Step(in Input) Verdict { return o.verdict }

// Findings are the facts beside the verdict of the last Step.
func (o *Observer) Findings() Findings { return o.findings }

// Advice is what the caller should do with its relays until the next Step.
func (o *Observer) Advice() Advice { return o.advice }

// Trusted says whether the learned gain and coast may be used: three complete
// cycles were seen and the gain is known to 15 %.
func (o *Observer) Trusted() bool { return false }

// Gain is the learned gain in K/s, within 0.4…2.5 of the configured; the
// configured one before it is trusted.
func (o *Observer) Gain() float64 { return o.params.Gain }

// Coast is the learned coast in s, with the lag of the probes: what the
// reading still rises after the pad goes off is Gain×Coast without losses.
func (o *Observer) Coast() float64 { return o.params.Coast }

// Early is how far under the upper switching point the operating control
// should switch off, in K: gain×coast less what the losses take, 0…0.14.
func (o *Observer) Early() float64 { return 0 }

// Drift is the estimated rate of the water with the pad off, in K/s.
func (o *Observer) Drift() float64 { return 0 }

// Acquit forgets every suspicion, proof and running test: a person looked and
// reset. What was learned of the tub stays.
func (o *Observer) Acquit() {}

// Save gives the state that survives a restart, as canonical bytes.
func (o *Observer) Save() []byte { return nil }

// Restore takes bytes of Save. It refuses any others and then changes nothing.
func (o *Observer) Restore(b []byte) error { return nil }
