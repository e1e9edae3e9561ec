package rehearsal

import (
	"sort"
	"time"

	"soakwarden/sim/num"
	"soakwarden/sim/rig"
)

// A swarm gives every run a character of its own: some kinds of fault never
// happen in it, others come again and again. Runs that hold everything at its
// usual rate look all alike and never reach the corners.
const (
	swarmOff     = 0.5  // share of the kinds that a run does without
	swarmRarest  = 0.05 // faults expected of a kind in the run's hours of faults
	swarmWildest = 4.0
	swarmMost    = 16  // faults in a run
	swarmPassing = 0.6 // share of the faults that pass
)

// swarm draws the faults of a run: which kinds, how often, and for how long.
func swarm(probes ProbeSet, noise *num.Noise) []rig.Fault {
	var list []rig.Fault
	hours := faultSpan + aftermath
	for _, k := range append(possible("", probes), &seriesWelded) {
		// Every kind draws the same amount of noise whether it is on or off, so
		// that one kind more in the list does not change all runs behind it.
		on, rate := noise.Uniform() >= swarmOff, logBetween(noise, swarmRarest, swarmWildest)
		own := num.NewNoise(noise.Uint64(), 0x5A3B)
		for at := time.Duration(0); on; {
			at += time.Duration(-float64(hours.Seconds()*num.Log(1-own.Uniform()))/rate) * time.Second
			if at >= hours {
				break
			}
			f := k.draw(probes, learning+at, own)
			if f.Until == 0 && own.Uniform() < swarmPassing {
				f.Until = f.At + time.Duration(logBetween(own, 5, 7200))*time.Second
			}
			list = append(list, f)
		}
	}
	sort.SliceStable(list, func(i, j int) bool { return list[i].At < list[j].At })
	return list[:min(len(list), swarmMost)]
}

// wild gives the nuisances rates of their own: none of some, five times as many
// of others.
func wild(noise *num.Noise) rig.Nuisances {
	n := rig.Busy
	for _, rate := range []*float64{
		&n.LidsPerDay, &n.DraughtsPerDay, &n.SunsPerDay, &n.MovesPerHour, &n.FlickersPerDay, &n.ChangesPerDay,
	} {
		off, factor := noise.Uniform() < 0.3, logBetween(noise, 0.2, 5)
		if *rate = float64(*rate * factor); off {
			*rate = 0
		}
	}
	return n
}
