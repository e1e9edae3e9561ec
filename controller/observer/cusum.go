package observer

// Cusum is Page's one-sided cumulative sum for a shift upward of a sequence
// with known mean and variance: it alarms when the sum passes a threshold.
// Only evidence beyond Slack counts, and the sum never owes anything: a long
// quiet time does not delay the next alarm.
type Cusum struct {
	Slack     float64 // k, in the unit of the input
	Threshold float64 // h, in the unit of the input
	Sum       float64
}

// Add takes one value and says whether the sum is over the threshold.
func (c *Cusum) Add(v float64) bool {
	c.Sum = max(0, c.Sum+(v-c.Slack))
	return c.Sum > c.Threshold
}

// signature is a cumulative sum matched to one hypothesis about the pad. What
// the filter's innovation would do under it is computed by running the
// difference between hypothesis and command through the very filter: the
// drift swallows a fault within minutes, so a plain sum waits for a shift that
// never stays; the transient that swallowing leaves is the evidence.
type signature struct {
	Cusum                 // Slack 0: the increment carries its own
	pad   [2]float64      // pad states under the hypothesis
	diff  [states]float64 // true state minus estimate, if the hypothesis holds
	known float64         // how well the size of the transient is known: 1 over its variance, in units of the signature
	spent bool            // the last block: the filter has swallowed all of it, and no evidence comes any more
}

// restart begins the hypothesis anew: from now on, and not before.
func (s *signature) restart(pad [2]float64) {
	s.Sum, s.pad, s.known, s.spent = 0, pad, 0, false
	s.diff = [states]float64{}
}

// part is the share of the learned gain that a hypothesis must show. Gains are
// learned to about ±20 %; a signature of three quarters loses 6 % of evidence
// when the gain is right and stays positive down to three eighths of it.
const part = 0.75

// spentPart of what is known of the transient's size: less than this a block
// adds nothing in the hours that matter.
const spentPart = 0.001

// add takes one weighed, not yet corrected block. mean is the pad by command,
// hyp the pad under the hypothesis, both averaged over the block.
func (s *signature) add(f *filter, mean, hyp [2]float64) {
	h := f.h
	push := float64(f.x[iG1]*(hyp[0]-mean[0])) + float64(f.x[iG2]*(hyp[1]-mean[1]))
	t := s.diff[iT] + float64(h*s.diff[iD]) +
		float64(float64(h*mean[0])*s.diff[iG1]) + float64(float64(h*mean[1])*s.diff[iG2]) +
		float64(float64(part*h)*push)
	change := 10 * (t - s.diff[iT]) // in ten blocks; a transient that only passes through zero is not over
	s.diff[iT] = t
	s.Add((float64(t*f.nu) - float64(float64(t*t)/2)) / f.s)
	s.known += float64(t*t) / f.s
	s.spent = float64(t*t)+float64(change*change) < float64(float64(spentPart*s.known)*f.s)
	s.diff[iT] -= float64(f.gain[iT] * t)
	s.diff[iD] -= float64(f.gain[iD] * t)
	s.diff[iG1] -= float64(f.gain[iG1] * t)
	s.diff[iG2] -= float64(f.gain[iG2] * t)
	if s.Sum == 0 {
		s.restart(f.pad)
	}
}

// size is how large the transient is that the evidence was gathered from, in
// gains: 1 when all of the pad's heat is missing or too much. With x the sum of
// t·ν/S, Sum is x − known/2, and x/known is the most likely factor.
func (s *signature) size() float64 {
	if !(s.known > 0) {
		return part // none yet: nothing speaks against the signature's own
	}
	return part * (s.Sum + float64(s.known/2)) / s.known
}
