package rig

import (
	"time"

	"soakwarden/sim"
	"soakwarden/sim/num"
)

// Nuisances are what goes on around a tub without anything being broken: lids,
// draughts, sun, an animal that shifts, mains that flicker. The rates and sizes
// are an assumption about a busy quarantine room, chosen heavier than a keeper
// would call normal; no published source. The zero value is a room without any.
type Nuisances struct {
	LidsPerDay     float64 // each 5 to 30 min, half of them with stirring
	DraughtsPerDay float64 // each 10 to 60 min, 1 to 5 K colder, 0.1 to 0.5 m/s
	SunsPerDay     float64 // each 15 to 60 min, 3 to 15 W, half of them with passing clouds
	MovesPerHour   float64 // the animal shifts: brief mixing, another film over the floor
	FlickersPerDay float64 // the pads' mains fail for 1 to 5 s
	ChangesPerDay  float64 // announced water changes, water within 2 K of the set point
}

// Busy is the room that campaigns use.
var Busy = Nuisances{LidsPerDay: 6, DraughtsPerDay: 2, SunsPerDay: 1, MovesPerHour: 2, FlickersPerDay: 2, ChangesPerDay: 1}

// span is a happening that comes at random and lasts for a while.
type span struct {
	rate       float64 // a second
	begin, end time.Duration
}

// arrive draws when the next one begins: exponential waiting times.
func (s *span) arrive(now time.Duration, noise *num.Noise) {
	if s.rate <= 0 {
		s.begin, s.end = 1<<62, 1<<62
		return
	}
	wait := -num.Log(1-noise.Uniform()) / s.rate
	s.begin = now + time.Duration(wait)*time.Second
	s.end = s.begin
}

// nuisance is the state of the nuisances around one tub.
type nuisance struct {
	noise   *num.Noise
	lid     span
	stirred bool
	draught span
	colder  float64
	speed   float64
	sun     span
	watts   float64
	cloudy  bool
	shade   bool
	flip    time.Duration // when the cloud comes or goes
	move    span
	film    float64
	flicker span
	change  span
	next    time.Duration // nothing begins or goes on before: step has nothing to do
}

// around is what the nuisances do in one second.
type around struct {
	drive     sim.Drive // LidOff, Stir, Draught, Sun and Film
	roomDelta float64   // K
	padsOff   bool
	change    float64 // K from the set point of a water change that begins now
	changes   bool
}

func newNuisance(n Nuisances, seed, stream uint64) *nuisance {
	const day = 86400
	s := &nuisance{noise: num.NewNoise(seed, stream), film: 1}
	s.lid.rate, s.draught.rate, s.sun.rate = n.LidsPerDay/day, n.DraughtsPerDay/day, n.SunsPerDay/day
	s.move.rate, s.flicker.rate, s.change.rate = n.MovesPerHour/3600, n.FlickersPerDay/day, n.ChangesPerDay/day
	for _, p := range []*span{&s.lid, &s.draught, &s.sun, &s.move, &s.flicker, &s.change} {
		p.arrive(0, s.noise)
	}
	return s
}

// minutes draws a length between two numbers of minutes.
func (s *nuisance) minutes(low, high float64) time.Duration {
	return time.Duration(60*s.noise.Between(low, high)) * time.Second
}

// step says what goes on in the second that ends at now, which lasts until next.
func (s *nuisance) step(now time.Duration, a *around) {
	*a = around{}
	a.drive.Film = s.film
	if s.running(&s.lid, now, func() time.Duration {
		s.stirred = s.noise.Uniform() < 0.5
		return s.minutes(5, 30)
	}) {
		a.drive.LidOff = true
		if s.stirred && now-s.lid.begin < time.Minute {
			a.drive.Stir = 1
		}
	}
	if s.running(&s.draught, now, func() time.Duration {
		s.colder, s.speed = s.noise.Between(1, 5), s.noise.Between(0.1, 0.5)
		return s.minutes(10, 60)
	}) {
		a.roomDelta -= s.colder
		a.drive.Draught = s.speed
	}
	if s.running(&s.sun, now, func() time.Duration {
		s.watts, s.cloudy, s.shade, s.flip = s.noise.Between(3, 15), s.noise.Uniform() < 0.5, false, now
		return s.minutes(15, 60)
	}) {
		if s.cloudy && now >= s.flip {
			s.shade = !s.shade
			s.flip = now + time.Duration(-500*num.Log(1-s.noise.Uniform()))*time.Second
		}
		if !s.shade {
			a.drive.Sun = s.watts
		}
	}
	if s.running(&s.move, now, func() time.Duration {
		s.film = s.noise.Between(0.6, 1.2)
		return 20 * time.Second
	}) {
		a.drive.Stir = max(a.drive.Stir, 0.3)
		a.drive.Film = s.film
	}
	a.padsOff = s.running(&s.flicker, now, func() time.Duration {
		return time.Duration(s.noise.Between(1, 6)) * time.Second
	})
	if s.running(&s.change, now, func() time.Duration { return second }) {
		a.changes, a.change = true, s.noise.Between(-2, 2)
	}
	// While anything goes on its begin lies in the past, and so does next.
	s.next = min(s.lid.begin, s.draught.begin, s.sun.begin, s.move.begin, s.flicker.begin, s.change.begin)
}

// running says whether a happening goes on; begin is called once when it
// starts and says how long it lasts.
func (s *nuisance) running(p *span, now time.Duration, begin func() time.Duration) bool {
	if now < p.begin {
		return false
	}
	if p.end == p.begin {
		p.end = p.begin + max(begin(), second)
	}
	if now < p.end {
		return true
	}
	p.arrive(now, s.noise)
	return false
}

// second is the step of the bench.
const second = time.Second
