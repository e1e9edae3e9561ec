package sim

import "math"

// modes are the shapes in which a row of cells cools: each keeps its form and
// dies away at a rate of its own, so that a step of the whole row is a step of
// each number by itself. A shape k over the cells i is normalised so that
//
//	Σᵢ cᵢ·shape[k][i]·shape[l][i] = 1 for k = l and 0 otherwise,
//
// with the cells' heat capacities c.
type modes struct {
	cell  []float64   // the cells' heat capacities
	rate  []float64   // 1/s
	shape [][]float64 // by mode, by cell
	heat  []float64   // Σ c·shape: what a kelvin all through has of the mode
	skin  []float64   // of the conductance to the medium, as the mode sees it
}

// single is the row of one cell that nothing passes: a slab has it across.
func single() modes {
	return modes{cell: []float64{1}, rate: []float64{0}, shape: [][]float64{{1}}, heat: []float64{1}, skin: []float64{0}}
}

// modesOf returns the modes of cells of heat capacity c, with the conductances
// link[i] between i and i+1 and skin from the last cell to the medium.
func modesOf(c, link []float64, skin float64) modes {
	n := len(c)
	// With the cells' temperatures times √c the matrix is symmetric.
	a, v := square(n), square(n)
	for i := range n {
		v[i][i] = 1
		sum := 0.0
		if i > 0 {
			sum += link[i-1]
		}
		if i < n-1 {
			sum += link[i]
			a[i][i+1] = -link[i] / math.Sqrt(float64(c[i]*c[i+1]))
			a[i+1][i] = a[i][i+1]
		} else {
			sum += skin
		}
		a[i][i] = sum / c[i]
	}
	diagonalise(a, v)
	m := modes{cell: c, rate: make([]float64, n), shape: v, heat: make([]float64, n), skin: make([]float64, n)}
	for k := range n {
		m.rate[k] = a[k][k]
		for i := range n {
			v[k][i] /= math.Sqrt(c[i])
			m.heat[k] += float64(c[i] * v[k][i])
		}
		m.skin[k] = skin * v[k][n-1]
	}
	return m
}

func square(n int) [][]float64 {
	all := make([]float64, n*n)
	rows := make([][]float64, n)
	for i := range rows {
		rows[i] = all[i*n : (i+1)*n]
	}
	return rows
}

// sweepsMost is twice what a matrix of twenty rows needs.
const sweepsMost = 20

// diagonalise brings the symmetric, positive definite a to its diagonal and
// turns the rows of v along, by Jacobi's rotations (Golub and Van Loan, Matrix
// Computations, 8.5). What is left beside the diagonal is then under its
// rounding, so that small rates come out as right as large ones.
func diagonalise(a, v [][]float64) {
	for range sweepsMost {
		turned := false
		for p := range a {
			for q := p + 1; q < len(a); q++ {
				if float64(a[p][q]*a[p][q]) > float64(1e-33*float64(a[p][p]*a[q][q])) {
					rotate(a, v, p, q)
					turned = true
				}
			}
		}
		if !turned {
			return
		}
	}
}

// rotate makes a[p][q] nought.
func rotate(a, v [][]float64, p, q int) {
	tau := (a[q][q] - a[p][p]) / (2 * a[p][q])
	t := 1 / (math.Abs(tau) + math.Sqrt(1+float64(tau*tau)))
	if tau < 0 {
		t = -t
	}
	c := 1 / math.Sqrt(1+float64(t*t))
	s := float64(t * c)
	turn := float64(t * a[p][q])
	a[p][p] -= turn
	a[q][q] += turn
	a[p][q], a[q][p] = 0, 0
	for i := range a {
		if i != p && i != q {
			x, y := a[i][p], a[i][q]
			a[i][p], a[i][q] = float64(c*x)-float64(s*y), float64(s*x)+float64(c*y)
			a[p][i], a[q][i] = a[i][p], a[i][q]
		}
		x, y := v[p][i], v[q][i]
		v[p][i], v[q][i] = float64(c*x)-float64(s*y), float64(s*x)+float64(c*y)
	}
}
