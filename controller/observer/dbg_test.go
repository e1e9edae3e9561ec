package observer

import (
	"fmt"
	"math"
	"testing"
)

func TestDbg(t *testing.T) {
	c := faultCases()[6]
	k := 0
	for i := 0; i < 90 && k < 3; i++ {
		b := newBench(uint64(1000+i), false, false)
		at := b.between(6, 12) * 3600
		m, _, ok := found(b, at, c.limit, c.begin, c.effect, c.accused)
		if m < 0 || ok && m < 60 {
			continue
		}
		k++
		fmt.Printf("seed %d m %.1f %v gain %.2g coast %.0f  learned %.2g %.0f R %.4f trusted %v lid %v room %.1f\n", i, m, ok, b.gain(), b.coast, b.o.filter.rate(), b.o.filter.coast(), b.o.filter.noise, b.o.Trusted(), b.lid, b.room)
		b = newBench(uint64(1000+i), false, false)
		at = b.between(6, 12) * 3600
		b.run(at)
		c.begin(b)
		last := b.o.norise
		for e := b.now + 3*3600; b.now < e; {
			b.tick()
			if q := b.o.norise; q.stage != last.stage || q.votes != last.votes || q.shut != last.shut {
				last = q
				f, v := b.o.trace.fit(int(3*b.o.half()/10), dead, b.o.filter.noise)
				fmt.Printf(" %.1f pad %v want %v mean %.2f d/g %.2f Ld %.1f stage %d sum %.1f votes %d shut %v phi %.2f sd %.2f lid %.0f att %.0f chg %.0f low %.2f\n", (b.now-at)/60, b.pad, b.o.wanted, b.mean(), b.o.filter.x[iD]/b.o.filter.rate(), b.o.dead.Sum, q.stage, q.sum, q.votes, q.shut, f, math.Sqrt(v), b.lidOff, b.o.attended, b.o.changed, q.lowest)
			}
		}
	}
}
