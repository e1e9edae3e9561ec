package num

import (
	"math"
	"math/rand/v2"
)

// Noise is a seeded source of random numbers. The zero value is not ready: use
// NewNoise. It is not for use by several goroutines.
type Noise struct{ source rand.PCG }

// NewNoise returns the source for a seed. Streams of one seed with different
// numbers are independent, so that adding a probe does not change another's noise.
func NewNoise(seed, stream uint64) *Noise {
	n := &Noise{}
	n.source.Seed(seed, stream*0x9E3779B97F4A7C15+0x2545F4914F6CDD1D)
	return n
}

// Uint64 returns 64 random bits.
func (n *Noise) Uint64() uint64 { return n.source.Uint64() }

// Uniform returns a number in [0, 1), a multiple of 2⁻⁵³.
func (n *Noise) Uniform() float64 { return float64(n.source.Uint64()>>11) * 0x1p-53 }

// Between returns a uniform number from low up to high.
func (n *Noise) Between(low, high float64) float64 {
	return low + float64((high-low)*n.Uniform())
}

// Below returns a uniform whole number in [0, limit); 0 for a limit under 1.
func (n *Noise) Below(limit int) int {
	if limit < 1 {
		return 0
	}
	return int(n.source.Uint64() % uint64(limit))
}

// gaussScale makes the variance of twelve uniform 16-bit numbers 1: each has
// (65536² − 1)/12.
var gaussScale = 1 / math.Sqrt(65536.0*65536.0-1)

// Gauss returns a number of mean 0 and standard deviation 1: the sum of twelve
// uniforms, added as whole numbers, so that it is exact everywhere. Its tails
// end at ±6 and are thinner than a true Gaussian's beyond 3.
func (n *Noise) Gauss() float64 {
	var sum int64
	for range 3 {
		u := n.source.Uint64()
		sum += int64(u&0xffff) + int64(u>>16&0xffff) + int64(u>>32&0xffff) + int64(u>>48)
	}
	return float64(2*sum-12*65535) * 0.5 * gaussScale
}
