package journal

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"path/filepath"
	"testing"
	"testing/synctest"
	"time"
)

// A day of two and of eight stations with three probes, with a switching every
// five minutes, an hourly state of 600 bytes for each, trips and acts, writes less
// than ten megabytes to the card, log and database together.
func TestDayFitsTheCard(t *testing.T) {
	two, eight := dayOf(t, 2), dayOf(t, 8)
	if two >= 4 || eight >= 10 {
		t.Errorf("%.2f and %.2f MB a day to the card, the budgets are 4 and 10", two, eight)
	}
}

// dayOf is how many megabytes a day of so many stations writes to the card.
func dayOf(t *testing.T, stations int) float64 {
	t.Helper()
	dir := t.TempDir()
	c := newCard(dir)
	path := filepath.Join(dir, "journal.db")
	readings := 0
	synctest.Test(t, func(t *testing.T) {
		j := mustOpen(t, path, Options{vfs: cardVFS, Reserve: -1})
		b := newBench(stations, 3)
		for i := range 86400 {
			r := b.tick()
			for k := range r.Stations {
				// Probes that convert one after another, each with its own start.
				for p := range r.Stations[k].Input.Readings {
					tremble := time.Duration((i*7919+k*104729+p*15485863)>>3%4) * time.Millisecond
					r.Stations[k].Input.Readings[p].At += time.Duration(p)*17*time.Millisecond + tremble
				}
			}
			if i%20000 == 7000 {
				b.latch(i / 20000 % stations)
			}
			if i%5000 == 100 {
				r = b.act(i/5000%stations, "A. Keeper", "seen the animal, level and probes are as they should be")
			}
			j.Tick(r)
			readings += 3 * stations
			if i%3600 == 1800 {
				for k := range stations {
					state := binary.BigEndian.AppendUint64(bytes.Repeat([]byte{7}, 592), uint64(i))
					j.SaveState(fmt.Sprintf("tub-%d", k+1), state)
				}
			}
			if i%10 == 0 {
				synctest.Wait()
			}
			if i%600 == 0 {
				time.Sleep(time.Second)
			}
		}
		if err := j.Close(); err != nil {
			t.Fatal(err)
		}
	})
	rep := mustVerify(t, path)
	megabytes := float64(c.bytes) / 1e6
	t.Logf("%d stations: %.2f MB a day to the card, %.2f of them in the log; %d operations, %d syncs, %d entries, %d readings",
		stations, megabytes, float64(c.logged)/1e6, c.count, c.syncs, rep.Entries, readings)
	if c.bytes < int64(readings/20) {
		t.Errorf("%d bytes for %d readings: the count misses something", c.bytes, readings)
	}
	return megabytes
}

func BenchmarkTick(b *testing.B) {
	for _, ticks := range []bool{false, true} {
		b.Run(fmt.Sprintf("blocks=%v", ticks), func(b *testing.B) {
			m := NewMemory(Options{NoTicks: !ticks})
			bench := newBench(1, 3)
			r := bench.tick()
			r.Relays, r.Stations[0].Output.Events = nil, nil
			b.ReportAllocs()
			for b.Loop() {
				r.Now += time.Second
				r.Wall = r.Wall.Add(time.Second)
				r.Stations[0].Input.Now = r.Now
				m.Tick(r)
			}
		})
	}
}
