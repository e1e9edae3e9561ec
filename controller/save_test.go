package controller

import (
	"bytes"
	"encoding/binary"
	"hash/crc32"
	"testing"
	"time"

	"soakwarden/controller/alarm"
)

// someStates are stations with much to remember.
func someStates(t testing.TB) []*Station {
	var all []*Station
	add := func(set Settings, do func(*bench)) {
		b := newBench(set, 29)
		do(b)
		all = append(all, b.station)
	}
	add(tubSettings(), func(*bench) {})
	add(tubSettings(), func(b *bench) { b.run(20 * time.Minute) })
	add(tubSettings(), func(b *bench) {
		b.run(3 * time.Hour)
		b.plant.silent[1] = true
		b.run(2 * time.Minute)
		b.tick(hands(BeginAttended), hands(ExtendAttended), hands(AnimalIn))
		b.in.Health.SupplyLow = true
		b.in.Health.CardNearlyFull = true
		b.run(2 * time.Minute)
		b.tick(Act{Kind: Shelve, Cause: SupplyLow, Place: Page, Span: time.Hour},
			Act{Kind: Acknowledge, Cause: ProbeSilent, Place: Page})
		b.plant.silent[1] = false
		b.run(time.Minute)
		b.tick(Act{Kind: Reset, Cause: ProbeSilent, Place: Page, Seen: SeenProbe}, hands(TakeOutOfService))
	})
	add(withFloor(), func(b *bench) {
		b.run(8 * time.Hour)
		b.plant.padWelded = true
		b.run(40 * time.Minute)
	})
	add(chamberSettings(), func(b *bench) {
		b.in.Treatment.Running, b.in.Treatment.Target = true, b.station.set.SetPoint
		b.run(time.Minute)
	})
	latched, err := New(tubSettings())
	if err != nil {
		t.Fatal(err)
	}
	return append(all, latched)
}

func restored(t testing.TB, set Settings, b []byte) (*Station, error) {
	t.Helper()
	s, err := New(set)
	if err != nil {
		t.Fatal(err)
	}
	return s, s.Restore(b)
}

func TestSavedStateComesBack(t *testing.T) {
	for i, s := range someStates(t) {
		saved := s.Save()
		back, err := restored(t, s.set, saved)
		if err != nil {
			t.Fatalf("state %d: %v", i, err)
		}
		if !bytes.Equal(back.Save(), saved) {
			t.Errorf("state %d changed on its way", i)
		}
		if back.kept != s.kept || back.alive != s.alive || back.worn != s.worn {
			t.Errorf("state %d: something was left behind", i)
		}
		for c := range causeCount {
			was, is := s.Cause(c), back.Cause(c)
			if was.Latched != is.Latched || was.Alarm != is.Alarm || was.Acting != is.Acting || was.Severity != is.Severity {
				t.Errorf("state %d, %s: %+v, want %+v", i, c, is, was)
			}
		}
		t.Logf("state %d: %d bytes", i, len(saved))
	}
}

// everyLatch says whether a station stands where it knows nothing good.
func everyLatch(s *Station) bool {
	for c, r := range Rules() {
		if r.Latches && s.concerns(Cause(c)) && !s.latched.has(Cause(c)) {
			return false
		}
	}
	return s.Cause(OverCutoff).Latched == (s.set.Kind == Tub) &&
		s.Cause(ProbeSilent).Alarm == alarm.LatchedUnacknowledged
}

func TestDamagedStateLatchesEverything(t *testing.T) {
	good := someStates(t)[2]
	saved := good.Save()
	refuse := func(name string, b []byte) {
		t.Helper()
		s, err := restored(t, good.set, b)
		if err != ErrForeign || !everyLatch(s) {
			t.Errorf("%s: %v, everything latched %v", name, err, everyLatch(s))
		}
	}
	refuse("an empty file", []byte{})
	refuse("text", []byte("{}"))
	for n := range saved {
		refuse("cut short", saved[:n])
		b := bytes.Clone(saved)
		b[n] ^= 0x10
		refuse("one bit", b)
	}
	refuse("longer", append(bytes.Clone(saved), 0))
	refuse("of a chamber", someStates(t)[4].Save())
	for n := len(saveMagic) + 2; n < len(saved)-4; n++ {
		for _, x := range []byte{1, 0x80, 0xff} {
			b := bytes.Clone(saved)
			b[n] ^= x
			seal(b)
			s, err := restored(t, good.set, b)
			if err != nil {
				if !everyLatch(s) {
					t.Errorf("byte %d: refused and not latched", n)
				}
				continue
			}
			if !bytes.Equal(s.Save(), b) {
				t.Errorf("byte %d: accepted and written otherwise", n)
			}
		}
	}
	chamber := someStates(t)[4]
	b := chamber.Save()
	b = append(b[:len(b)-8], 1, 0, 0, 0, 7, 0, 0, 0, 0)
	seal(b)
	if s, err := restored(t, chamber.set, b); err != ErrForeign || !everyLatch(s) {
		t.Errorf("a chamber with an observer: %v", err)
	}
}

// seal puts the right checksum at the end.
func seal(b []byte) {
	binary.LittleEndian.PutUint32(b[len(b)-4:], crc32.ChecksumIEEE(b[:len(b)-4]))
}

func TestRestoreComesBeforeTheFirstStep(t *testing.T) {
	b := newBench(tubSettings(), 29)
	b.tick()
	defer func() {
		if recover() == nil {
			t.Error("a restore in the middle was accepted")
		}
	}()
	_ = b.station.Restore(nil)
}

// FuzzRestore: whatever Restore accepts, Save gives back to the byte, and
// whatever it refuses leaves everything latched; neither ever panics in the
// steps that follow.
func FuzzRestore(f *testing.F) {
	for _, s := range someStates(f) {
		f.Add(s.Save(), s.set.Kind == Chamber)
	}
	f.Add([]byte(nil), false)
	f.Fuzz(func(t *testing.T, b []byte, chamber bool) {
		set := withFloor()
		if chamber {
			set = chamberSettings()
		}
		if b = bytes.Clone(b); len(b) >= 8 { // the fuzzer's bytes are not ours to change
			seal(b)
		}
		s, err := restored(t, set, b)
		if err != nil && !everyLatch(s) {
			t.Error("refused and not latched")
		}
		if err == nil && b != nil && !bytes.Equal(s.Save(), b) {
			t.Error("accepted and written otherwise")
		}
		in := Input{Readings: make([]Reading, len(set.Probes)), Health: Health{StoreProven: true, Permit: true}}
		for n := range 30 {
			in.Now = time.Duration(n) * time.Second
			for i := range in.Readings {
				in.Readings[i] = Reading{Value: at(29), At: in.Now, Quality: Good}
			}
			s.Step(&in)
			for c := range causeCount {
				s.Cause(c)
			}
		}
	})
}
