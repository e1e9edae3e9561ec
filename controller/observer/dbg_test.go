package observer

import (
	"fmt"
	"math"
	"sort"
	"testing"
)

func q(v []float64) string {
	sort.Float64s(v)
	if len(v) == 0 {
		return "-"
	}
	s := fmt.Sprint(len(v), ": ")
	for _, p := range []float64{.02, .1, .25, .5, .75, .9, .98} {
		s += fmt.Sprintf("%.2f ", v[int(p*float64(len(v)))])
	}
	return s
}
func TestDbg(t *testing.T) {
	for _, isdead := range []bool{false, true} {
		var phi, sd, on, delay []float64
		n := 0
		for i := 0; i < 150; i++ {
			b := newBench(uint64(1000+i), false, false)
			b.run(b.between(6, 12) * 3600)
			if isdead {
				b.plant.dead = true
			}
			was := b.o.norise.stage != idle
			lid0 := 0.0
			for e := b.now + 86400; b.now < e; {
				b.tick()
				if b.lidOff > 0 {
					lid0 = b.now
				}
				is := b.o.norise.stage != idle
				if is && !was {
					n++
					m := int(2 * b.o.half() / 10)
					f, v := b.o.trace.fit(m, dead, b.o.filter.noise)
					if v < unknown {
						phi = append(phi, f)
						sd = append(sd, math.Sqrt(v))
					}
					on = append(on, b.o.on/60)
					delay = append(delay, (b.now-lid0)/60)
					if isdead {
						break
					}
				}
				was = is
			}
		}
		fmt.Println("dead", isdead, n)
		fmt.Println(" phi", q(phi))
		fmt.Println(" sd", q(sd))
		fmt.Println(" on", q(on))
		fmt.Println(" sincelid", q(delay))
	}
}
