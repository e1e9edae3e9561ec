package observer

import "math"

// The two lags between the pad's power and its rise in the readings. Any
// coast between them (and a little beyond) is a mixture of the two, which
// keeps the model linear in what is learned.
const (
	lagShort = 40.0  // s
	lagLong  = 240.0 // s
)

// Indices of the filter's state.
const (
	iT  = iota // °C, the mean of the believed in-water probes
	iD         // K/s, drift: the rate with the pad long off
	iG1        // K/s, the part of the gain that comes with the short lag
	iG2        // K/s, the part that comes with the long lag
	states
)

// Noise of the model, relative to the gain g of the configured tub.
const (
	// Drift: a lid or a draught moves it by a few g within minutes, a room by
	// a tenth of g in an hour. A walk of 0.12 g in ten minutes follows the
	// room at once and a lid within ten to twenty minutes.
	driftWalk = 0.12 // of g, per √600 s
	// Gain: 3 % in a day follows level and film as they age. More would follow
	// the noise that the control itself selects.
	gainWalk = 0.03 // of g, per √day
	// Prior: volume and pad power are each known to about 20 %.
	gainPrior  = 0.25 // standard deviation over g
	coastPrior = 0.20 // standard deviation over the coast
	// Measurement: what the mean of two probes does in 10 s; with local eddies
	// counted as the white noise that tells as little.
	noiseStart = 0.003 // K²
	noiseLeast = 0.001 // K², the rounding of two 1/16 K codes and an eddy
	noiseMost  = 0.05  // K²
	// The control switches on the very noise that the gain is learned from: an
	// eddy of minutes ends the heat and is gone afterwards, which looks like a
	// stronger answer. Learning as if the noise were this much larger keeps the
	// bias of the gain at 7 % instead of 20 %.
	noiseClosed = 0.006 // K²
	noisePace   = 0.02  // of ln R, per 180 s
	// noiseAim is what (Σν/√S)²/18 averages to with clipping at 4: the mean
	// of min(χ²₁, 4) is 0.83 (numerically from the normal integral).
	noiseAim = 0.83
)

// filter is Kalman's filter on blocks of about 10 s.
type filter struct {
	x     [states]float64
	cov   [states][states]float64
	noise float64    // R, K²
	pad   [2]float64 // 0…1, pad power as each lag passes it on
	gain  [states]float64
	nu, s float64 // innovation and its variance in the last block

	h           float64    // s, the block length that keep belongs to
	keep        [2]float64 // what a lag keeps of its state over h
	sum         float64    // Σν/√S of the running noise window
	blocks      int32      // in that window
	driftNoise  float64    // K²/s³
	gainNoise   float64    // K²/s³
	least, most float64    // K/s, bounds of the learned gain
}

// prior sets gains and their covariance from gain g in K/s and coast c in s.
// With g2 = g·w and w = (c − 40)/200 the covariance follows from those of g
// and w, which are independent.
func (f *filter) prior(g, c float64) {
	w := (c - lagShort) / (lagLong - lagShort)
	sg := float64(gainPrior * g)
	sw := float64(coastPrior*c) / (lagLong - lagShort)
	vg, vw := float64(sg*sg), float64(float64(g*g)*float64(sw*sw))
	f.x[iG2] = float64(g * w)
	f.x[iG1] = g - f.x[iG2]
	for i := range states {
		f.cov[i][iG1], f.cov[i][iG2], f.cov[iG1][i], f.cov[iG2][i] = 0, 0, 0, 0
	}
	f.cov[iG2][iG2] = float64(float64(w*w)*vg) + vw
	f.cov[iG1][iG1] = float64(float64((1-w)*(1-w))*vg) + vw
	cross := float64(float64(w*(1-w))*vg) - vw
	f.cov[iG1][iG2], f.cov[iG2][iG1] = cross, cross
	f.least, f.most = float64(0.4*g), float64(2.5*g)
	a, b := float64(driftWalk*g), float64(gainWalk*g)
	f.driftNoise = float64(a*a) / 600
	f.gainNoise = float64(b*b) / 86400
}

// begin forgets temperature and drift and starts at reading y; the drift is
// anywhere within 1.5 g. Gains stay, as do their variances.
func (f *filter) begin(y float64) {
	for i := range states {
		f.cov[i][iT], f.cov[iT][i], f.cov[i][iD], f.cov[iD][i] = 0, 0, 0, 0
	}
	g := f.rate()
	f.x[iT], f.x[iD] = y, 0
	f.cov[iT][iT] = f.noise
	f.cov[iD][iD] = float64(2.25 * float64(g*g))
	f.sum, f.blocks = 0, 0
}

// rate is the whole gain in K/s.
func (f *filter) rate() float64 { return f.x[iG1] + f.x[iG2] }

// coast is the mean lag in s, the probes' included.
func (f *filter) coast() float64 {
	c := (float64(lagShort*f.x[iG1]) + float64(lagLong*f.x[iG2])) / f.rate()
	return clamp(c, 25, 420)
}

// spread is the relative standard deviation of the gain.
func (f *filter) spread() float64 {
	v := f.cov[iG1][iG1] + float64(2*f.cov[iG1][iG2]) + f.cov[iG2][iG2]
	if v < 0 {
		v = 0 // rounding
	}
	return math.Sqrt(v) / f.rate()
}

// lags moves the pad's states on by h seconds with the pad on for the part u
// of them, and returns their means over the block.
func (f *filter) lags(pad *[2]float64, u float64) [2]float64 {
	short, long := pad[0], pad[1]
	pad[0] = u + float64((short-u)*f.keep[0])
	pad[1] = u + float64((long-u)*f.keep[1])
	return [2]float64{(short + pad[0]) / 2, (long + pad[1]) / 2}
}

// length prepares the lags for blocks of h seconds.
func (f *filter) length(h float64) {
	if h != f.h {
		f.h = h
		f.keep = [2]float64{decay(h / lagShort), decay(h / lagLong)}
	}
}

// predict moves the state on by one block with mean pad states p: the first row
// of A is 1, h, h·p₁, h·p₂, the others are those of the identity.
func (f *filter) predict(p [2]float64) {
	h, p1, p2 := f.h, float64(f.h*p[0]), float64(f.h*p[1])
	across := func(t, d, g1, g2 float64) float64 { // that first row times a column
		return t + float64(h*d) + float64(p1*g1) + float64(p2*g2)
	}
	c := &f.cov
	var row [states]float64 // first row of A·P
	for i := range states {
		row[i] = across(c[iT][i], c[iD][i], c[iG1][i], c[iG2][i])
	}
	f.x[iT] = across(f.x[iT], f.x[iD], f.x[iG1], f.x[iG2])
	c[iT][iT] = across(row[iT], row[iD], row[iG1], row[iG2]) // and of A·P·Aᵀ
	for i := 1; i < states; i++ {
		c[iT][i], c[i][iT] = row[i], row[i]
	}
	c[iD][iD] += float64(f.driftNoise * h)
	c[iG1][iG1] += float64(f.gainNoise * h)
	c[iG2][iG2] += float64(f.gainNoise * h)
}

// weigh computes innovation and Kalman gain for reading y. With learn false
// the gains of the tub are only considered: their uncertainty counts, they do
// not move.
func (f *filter) weigh(y float64, learn bool) {
	f.nu = y - f.x[iT]
	f.s = f.cov[iT][iT] + f.noise
	for i := range states {
		f.gain[i] = f.cov[i][iT] / f.s
	}
	if !learn {
		f.gain[iG1], f.gain[iG2] = 0, 0
		return
	}
	slow := f.s / (f.s + noiseClosed)
	f.gain[iG1] *= slow
	f.gain[iG2] *= slow
}

// correct applies what weigh found. The covariance form holds for any gain:
// P − K·r − rᵀ·Kᵀ + K·S·Kᵀ with r the first row of P.
func (f *filter) correct() {
	k, r, s := f.gain, f.cov[iT], f.s
	for i := range states {
		ki, ri, row := k[i], r[i], &f.cov[i]
		change := func(j int) float64 {
			return float64(float64(ki*k[j])*s) - float64(ki*r[j]) - float64(ri*k[j])
		}
		f.x[i] += float64(ki * f.nu)
		row[iT] += change(iT)
		row[iD] += change(iD)
		row[iG1] += change(iG1)
		row[iG2] += change(iG2)
	}
	g := f.rate()
	if g < f.least || g > f.most {
		k := clamp(g, f.least, f.most) / g
		if !(g > 0) { // both parts together vanished: restart from the bound
			f.x[iG1], f.x[iG2] = f.least, 0
		} else {
			f.x[iG1], f.x[iG2] = f.x[iG1]*k, f.x[iG2]*k
		}
	}
}

// adapt lets R follow what the innovations really do, slowly and only while
// nothing is suspected.
func (f *filter) adapt() {
	f.sum += f.nu / math.Sqrt(f.s)
	f.blocks++
	if f.blocks < 18 {
		return
	}
	z := min(float64(f.sum*f.sum)/18, 4)
	f.sum, f.blocks = 0, 0
	e := float64(noisePace * (z - noiseAim))
	// exp(e) to second order: |e| ≤ 0.064, the third term is under 5e-5.
	f.noise = clamp(float64(f.noise*(1+e+float64(float64(e*e)/2))), noiseLeast, noiseMost)
}
