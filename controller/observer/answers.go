package observer

// A leak leaves less water to heat: the answer to the same heat grows. It is a
// slow hint and no alarm, because half the water is gone before four of five
// answers say so; a guard probe at the lowest permitted level is the alarm.
const (
	answerKnown = 0.04 // variance of one answer over the learned gain: ±20 %
	answerSpan  = 2400 // s that one answer looks back on
	answerLow   = 1.4  // of the first answers after the fill
	answerMany  = 4    // of the last five
)

// answers keeps how strongly the water answered to the last cycles, in K/s.
type answers struct {
	last  [5]float64
	count int32
	first float64 // median of the first five after the fill

	// What follows from them.
	middle float64 // median of the last five
	strong int     // how many of these are answerLow times the first
}

func (a *answers) clear() { *a = answers{} }

func (a *answers) add(v float64) {
	a.last[a.count%5] = v
	a.count++
	if a.count == 10 {
		a.count = 5 // only whether five are there, and where the next goes, matter
	}
	if a.count >= 5 && a.first == 0 {
		a.first = a.median()
	}
	a.weigh()
}

// weigh works out what follows from the answers.
func (a *answers) weigh() {
	a.middle, a.strong = a.median(), 0
	for _, v := range a.last {
		if v >= float64(answerLow*a.first) {
			a.strong++
		}
	}
}

func (a *answers) median() float64 {
	v := a.last
	for i := 1; i < len(v); i++ {
		for j := i; j > 0 && v[j] < v[j-1]; j-- {
			v[j], v[j-1] = v[j-1], v[j]
		}
	}
	return v[2]
}

func (a *answers) ratio() (float64, bool) {
	if a.first == 0 {
		return 0, false
	}
	return a.middle / a.first, true
}

func (a *answers) low() bool { return a.first > 0 && a.strong >= answerMany }

// Ratio is the size of the water's last answers over that of the first ones
// after the last fill: 1/Ratio is the part of the water that is left. It is
// false until both are known.
func (o *Observer) Ratio() (float64, bool) { return o.answers.ratio() }

// Filled says that level and depth were confirmed by eye: Ratio starts anew.
func (o *Observer) Filled() { o.answers.clear() }

// measure takes the size of the water's answer to the cycles of the last
// forty minutes, once in as long: no heat, heat, no heat.
func (o *Observer) measure() {
	if !o.known || !o.learns() || !o.Trusted() || o.unanswered < answerSpan {
		return
	}
	phi, variance := o.trace.fit(answerSpan/blockLength, scaled, o.filter.noise)
	if variance < answerKnown && phi > 0 {
		o.answers.add(phi * o.filter.rate())
		o.unanswered = 0
	}
}
