package observer

import "math"

// flow adds what the relays were commanded to the running block, and keeps the
// last set point that there was.
func (o *Observer) flow(in *Input, dt float64) {
	if in.SetPoint > 0 {
		o.setPoint = in.SetPoint
	}
	o.length += dt
	if in.Series || o.params.Series == NoSeries {
		o.closed += dt
		if in.Pad {
			o.heat += dt
		}
	}
	if in.Pad {
		o.padOn += dt
	}
}

// hear adds a probe's reading to the running block.
func (o *Observer) hear(i Place, r *Reading) {
	if r.Valid {
		o.sum[i] += r.Value
		o.n[i]++
		if r.Fresh {
			o.runs[i].step(r.Code)
		}
	}
}

// latest keeps what a block looks at as it is when the block ends.
func (o *Observer) latest(in *Input) {
	o.wanted = in.Wanted
	o.hottest = math.Inf(-1)
	for i := range in.Probes[:Floor] {
		if r := &in.Probes[i]; r.Valid && r.Believed && r.Value > o.hottest {
			o.hottest = r.Value
		}
	}
}

// counts says whether a probe belongs to the mean from now on: as the caller
// believes, and through a short silence as before it.
func (o *Observer) counts(i Place, p *Reading, dt float64) bool {
	if p.Valid {
		o.silent[i] = 0
		return p.Believed
	}
	o.silent[i] += dt
	return o.believe[i] && o.silent[i] <= silentMost
}
