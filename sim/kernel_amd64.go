package sim

import "golang.org/x/sys/cpu"

// Nearly every amd64 processor has AVX, and Go asks for less. Both ways give the
// same bytes.
var avx = cpu.X86.HasAVX

//go:noescape
func advanceAVX(at *[nodes]effect, held *effect, t, next *state) (lost, vapour float64)

//go:noescape
func holdAVX(c *collapsed)

//go:noescape
func stagesAVX(c *collapsed, by *shares, in *columns, alpha float64)

//go:noescape
func invertAVX(a *[nodes]state)

func advance(at *[nodes]effect, held *effect, t, next *state) (lost, vapour float64) {
	if avx {
		return advanceAVX(at, held, t, next)
	}
	return advanceAny(at, held, t, next)
}

func hold(c *collapsed) {
	if avx {
		holdAVX(c)
		return
	}
	holdAny(c)
}

func stages(c *collapsed, by *shares, in *columns, alpha float64) {
	if avx {
		stagesAVX(c, by, in, alpha)
		return
	}
	stagesAny(c, by, in, alpha)
}

func invert(a *[nodes]state) {
	if avx {
		invertAVX(a)
		return
	}
	invertAny(a)
}
