package sim

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"hash"
	"math"
	"testing"

	"soakwarden/sim/num"
	"soakwarden/sim/physics"
)

// sameBytes is the SHA-256 of everything that run writes. It is the same on
// amd64 with and without fused multiply-add, with GOAMD64=v3, on arm64 and on
// armv6; whoever changes the model changes it.
const sameBytes = "2f810abfaa7251a25ea42e420551cd332252dafe8c70efc88ba2c4ced5add1f9"

// run writes the bits of one run of everything in this package: the reference's
// two days of a tub, drawn tubs, a chamber, a heat-up, a heat budget, noise.
func run(t testing.TB, to hash.Hash) {
	put := func(values ...float64) {
		var b [8]byte
		for _, v := range values {
			binary.LittleEndian.PutUint64(b[:], math.Float64bits(v))
			to.Write(b[:])
		}
	}
	tub := newTestTub(t, referenceSpec, 29.4, 21)
	replay(tub, readInputs(t), 48*3600, func(s int, tub *Tub) {
		if s%61 == 0 {
			put(tub.t[:]...)
		}
	})
	b := tub.Balance()
	put(b.Lost, b.Evaporated, b.Stored, b.WithWaterOut)

	n := num.NewNoise(9, 9)
	for range 6 {
		tub := newTestTub(t, drawSpec(n), 29, 20)
		for s := range 4000 {
			tub.Step(Drive{Pad: float64(s / 300 % 2), Room: 20 + n.Gauss()/10, LidOff: s > 3000})
		}
		put(tub.t[:]...)
		put(num.Exp(n.Gauss()), num.Log(1+n.Uniform()), num.Cbrt(n.Uniform()), tub.Depth())
	}
	c, err := NewChamber(chamberSpec, 20)
	if err != nil {
		t.Fatal(err)
	}
	for s := range 4000 {
		c.Step(ChamberDrive{Heat: float64(s / 500 % 2), Fan: s < 3000, Room: 20})
	}
	truth := c.Truth()
	put(truth.Air, truth.Wall, truth.Lost)
	for _, p := range truth.Pieces {
		put(p.Core, p.Surface, p.Mean)
	}
	h, err := Heatup(HeatupSpec{Piece: PieceSpec{Shape: Bar, Width: 0.05, Height: 0.08, Material: "oak", Moisture: 0.2}, Start: 15, Medium: 62, Film: 18, Target: 56})
	if err != nil {
		t.Fatal(err)
	}
	put(h.Seconds, h.Surface)
	r, err := Size(SizeSpec{Tub: referenceSpec, SetPoint: 29.4, TooCold: 26.7, Cutoff: 31.7, RoomColdest: 20, RoomWarmest: 27})
	if err != nil {
		t.Fatal(err)
	}
	put(r.WarmUp, r.HoldPower, r.StuckOn, r.StuckOnCutoff, r.PowerCut, r.Coast, r.Loss, r.Evaporation)
	zeta, one, err := physics.OneTerm(physics.LongCylinder, 0.7)
	if err != nil {
		t.Fatal(err)
	}
	w := physics.WaterAt(31)
	put(zeta, one, w.Density, w.Viscosity, w.Expansion, physics.VerticalChurchillChu(1.8e9, 0.7), physics.MoistFilm(15, 65))
}

// No outside source: the golden is this package's own, so that any processor
// that counts differently is found.
func TestSameBytesEverywhere(t *testing.T) {
	sum := sha256.New()
	run(t, sum)
	if got := hex.EncodeToString(sum.Sum(nil)); got != sameBytes {
		t.Errorf("the run's bytes have the sum\n%s, want\n%s", got, sameBytes)
	}
}
