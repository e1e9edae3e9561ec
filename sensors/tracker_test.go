package sensors

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"periph.io/x/conn/v3/onewire"

	"soakwarden/controller"
)

// take feeds codes a second apart, beginning at one second, and returns the
// qualities as a word: g, s and b.
func take(t *Tracker, codes ...int16) string {
	word := ""
	for i, c := range codes {
		q, _ := t.Take(time.Duration(i+1)*time.Second, c, 12, controller.NoFlaw)
		word += map[controller.Quality]string{controller.Good: "g", controller.Suspect: "s", controller.Bad: "b"}[q]
	}
	return word
}

func TestJumpWaitsForASecondReading(t *testing.T) {
	for _, c := range []struct {
		what  string
		codes []int16
		want  string
	}{
		{"the first reading of all", []int16{470, 470, 471}, "sgg"},
		{"first two that differ", []int16{470, 600, 601}, "ssg"},
		{"0.75 K in a second is plausible", []int16{470, 470, 482}, "sgg"},
		{"one code more is not", []int16{470, 470, 483, 470}, "sgsg"},
		{"a wrong value comes and goes", []int16{470, 470, 1200, 470, 470}, "sgsgg"},
		{"two wrong values that do not agree", []int16{470, 470, 1200, 200, 470}, "sgssg"},
		{"the water was changed", []int16{470, 470, 416, 410, 405, 400}, "sgsggg"},
		// 7 s of time constant, from 29.4 to 20 °C: each step is 0.867 of the last.
		{"plunged", []int16{470, 470, 450, 432, 417, 404}, "sgsggg"},
		{"plunged, then steps that grow", []int16{470, 470, 450, 432, 402}, "sgsgs"},
		{"warmed quickly", []int16{470, 470, 490, 507, 522}, "sgsgg"},
		{"turns about", []int16{470, 470, 490, 477}, "sgsg"},
		{"power-on value without its mark", []int16{470, 470, 1360, 1360, 1360, 470}, "sgbbbg"},
		{"power-on value from the start", []int16{1360, 1360, 470, 470}, "bbsg"},
		{"a true 85 °C", []int16{1340, 1342, 1350, 1358, 1360, 1361}, "sggggg"},
	} {
		var tr Tracker
		if got := take(&tr, c.codes...); got != c.want {
			t.Errorf("%s: %s, want %s", c.what, got, c.want)
		}
	}
}

func TestNothingIsComparedAfterALongGap(t *testing.T) {
	var tr Tracker
	take(&tr, 470, 470)
	if q, _ := tr.Take(13*time.Second, 470, 12, controller.NoFlaw); q != controller.Suspect {
		t.Errorf("after 11 s of silence: %d, want suspect", q)
	}
	if q, _ := tr.Take(24*time.Second, 470, 12, controller.NoFlaw); q != controller.Suspect {
		t.Errorf("a second one 11 s later: %d, want suspect", q)
	}
	if q, _ := tr.Take(25*time.Second, 470, 12, controller.NoFlaw); q != controller.Good {
		t.Errorf("a third at once: %d, want good", q)
	}
}

func TestCoarseCodesMayStep(t *testing.T) {
	var tr Tracker
	tr.Take(time.Second, 472, 9, controller.NoFlaw)
	tr.Take(2*time.Second, 472, 9, controller.NoFlaw)
	if q, _ := tr.Take(3*time.Second, 488, 9, controller.NoFlaw); q != controller.Good {
		t.Errorf("two steps of a 9-bit code: %d, want good", q)
	}
}

func TestCountsAreByFlaw(t *testing.T) {
	var tr Tracker
	take(&tr, 470, 470, 470)
	for _, f := range []controller.Flaw{controller.BadCRC, controller.BadCRC, controller.Absent} {
		if q, got := tr.Take(4*time.Second, 0, 0, f); q != controller.Bad || got != f {
			t.Errorf("flaw %d became %d, %d", f, q, got)
		}
	}
	c := tr.Counts
	if c.Good != 2 || c.Suspect != 1 || c.Bad != 3 || c.Flaws[controller.BadCRC] != 2 || c.Flaws[controller.Absent] != 1 {
		t.Errorf("%+v", c)
	}
	// One bad CRC is counted and nothing more.
	if q, _ := tr.Take(5*time.Second, 470, 12, controller.NoFlaw); q != controller.Good {
		t.Errorf("after a bad CRC: %d", q)
	}
}

// At 5 % bit errors hundreds of wrong values in a million pass the CRC and the
// fixed bytes. None that is off by more than the plausible step may come out
// good; and a detector that never fires would prove nothing, so some must have
// been held back.
func TestBitErrorsDoNotComeOutGood(t *testing.T) {
	const truth = 470
	clean := sealed(truth&0xFF, truth>>8, 0x4B, 0x46, 0x7F, 0xFF, 0x02, 0x10)
	random := rand.New(rand.NewPCG(7, 7))
	var tr Tracker
	passed, far := 0, 0
	for i := range 300_000 {
		pad := clean
		for bit := range 72 {
			if random.Uint32() < math.MaxUint32/20 {
				pad[bit/8] ^= 1 << (bit % 8)
			}
		}
		code, bits, flaw := Judge(pad, DS18B20)
		off := max(code-truth, truth-code)
		if flaw == controller.NoFlaw && off != 0 {
			passed++
		}
		quality, _ := tr.Take(time.Duration(i)*time.Second, code, bits, flaw)
		if flaw == controller.NoFlaw && off > stepAllowed+10*stepPerSecond {
			far++
			if quality == controller.Good {
				t.Fatalf("reading %d: %d came out good where %d is true", i, code, truth)
			}
		}
	}
	if passed < 20 || far < 5 {
		t.Fatalf("only %d wrong values passed the judge, %d far off: the errors are not there", passed, far)
	}
	t.Logf("%d wrong values passed CRC and fixed bytes, %d far off, none came out good", passed, far)
}

func BenchmarkCRCOneAfterAnother(b *testing.B) {
	pad := frame(b, "90 01 4b 46 7f ff 10 10 92")
	for b.Loop() {
		onewire.CalcCRC(pad[:8])
	}
}
