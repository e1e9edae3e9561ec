package sim

import "testing"

// BenchmarkRefresh is one refresh of the network: linear pieces and step matrix.
func BenchmarkRefresh(b *testing.B) {
	tub, _ := NewTub(referenceSpec, Start{Water: 29.4, Room: 21})
	tub.Step(Drive{Pad: 1, Room: 21})
	for b.Loop() {
		tub.refresh()
	}
}

// BenchmarkAssemble is the linear pieces alone.
func BenchmarkAssemble(b *testing.B) {
	tub, _ := NewTub(referenceSpec, Start{Water: 29.4, Room: 21})
	tub.Step(Drive{Pad: 1, Room: 21})
	for b.Loop() {
		tub.assemble(&tub.lin, 21)
	}
}

// BenchmarkBareStep is the step without a refresh.
func BenchmarkBareStep(b *testing.B) {
	tub, _ := NewTub(referenceSpec, Start{Water: 29.4, Room: 21})
	d := Drive{Pad: 0.5, Room: 21}
	for range 20000 {
		tub.Step(d)
	}
	tub.longest = 1 << 30
	tub.refresh()
	for b.Loop() {
		tub.Step(d)
	}
}
