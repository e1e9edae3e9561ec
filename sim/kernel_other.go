//go:build !amd64

package sim

func advance(at *[nodes]effect, held *effect, t, next *state) (lost, vapour float64) {
	return advanceAny(at, held, t, next)
}

func hold(c *collapsed) { holdAny(c) }

func stages(c *collapsed, by *shares, in *columns, alpha float64) { stagesAny(c, by, in, alpha) }

func invert(a *[nodes]state) { invertAny(a) }
