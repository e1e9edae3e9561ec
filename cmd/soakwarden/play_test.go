package main

import (
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"periph.io/x/conn/v3/onewire"

	"soakwarden/controller"
	"soakwarden/internal/config"
	"soakwarden/internal/sizing"
)

// trouble is what ails a probe's file.
type trouble int

const (
	healthy  trouble = iota
	badCRC           // an older kernel: the bytes, NO, and an old temperature
	empty            // a newer kernel after a bad CRC: no text and no error
	vanished         // the probe's folder is gone
	allZero          // bus shorted: nine zero bytes with a valid CRC
	powerOn          // 85 °C, the value after a loss of supply
	frozen           // always the same
)

// player is a small, quick tub that looks at relay files and writes the files
// of its probes as the kernel does. Its numbers are those that the program was
// told (sizing), so that the program has no cause to accuse it; the point here
// is the way through files, signals and processes. Invented data.
type player struct {
	dir    string
	cfg    *config.Config
	gain   float64 // K/s at full pad
	loss   float64 // K/s
	coast  float64 // s
	rise   float64 // floor over water at full pad, K
	rng    *rand.Rand
	onWhen string // text of a relay that is on

	mu    sync.Mutex
	water float64 // °C
	pad   float64 // share of the pad's heat that arrives
	ails  trouble
	held  [9]byte
}

const (
	serialControl = "0000000000a1"
	serialGuard   = "0000000000a2"
	serialFloor   = "0000000000a3"
)

// newPlayer lays out a folder with everything that a bench has. With text the
// configuration can be changed.
func newPlayer(t *testing.T, change ...string) *player {
	t.Helper()
	dir, err := os.MkdirTemp("", "sw") // short: a socket's path is bounded
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(dir) })
	p := &player{dir: dir, rng: rand.New(rand.NewPCG(1, 2)), onWhen: "0"}
	text := strings.NewReplacer(append(change, "DIR", dir)...).Replace(quickTub)
	put(t, p.file("tub.toml"), text)
	for _, name := range []string{"pad", "series"} {
		put(t, p.file(name), "1") // off
	}
	cfg, problems := config.Parse("tub.toml", []byte(text))
	if cfg == nil {
		t.Fatalf("the configuration has mistakes: %v", problems)
	}
	p.cfg = cfg
	limits, err := sizing.Limits(cfg, 0)
	if err != nil {
		t.Fatal(err)
	}
	k := float64(controller.Kelvin)
	p.gain, p.loss = float64(limits.GainPerHour)/k/3600, float64(limits.LossPerHour)/k/3600
	p.coast, p.rise = max(1, limits.Coast.Seconds()), float64(limits.FloorRise)/k
	return p
}

const quickTub = `
name = "small and quick"
invented = true
state = "DIR/state"
[journal]
path = "DIR/state/journal.db"
[page]
listen = "127.0.0.1:0"
[[bus]]
name = "header"
kind = "kernel"
path = "DIR/w1"
[[relay]]
name = "pad"
kind = "file"
path = "DIR/pad"
on_when = "low"
[[relay]]
name = "series"
kind = "file"
path = "DIR/series"
on_when = "low"
[[station]]
name = "north"
kind = "tub"
species = "python"
set_point = "29C"
differential = "0.2K"
cutoff = "31C"
min_on = "10s"
min_off = "10s"
pad_relay = "pad"
series_relay = "series"
room_coldest = "16C"
room_warmest = "27C"
cutout = "35C"
tub = { length = "100mm", width = "100mm", depth = "25mm", pad = "16W", pad_length = "90mm", pad_width = "90mm", pad_insulation = "5mm", lid = false }
[[station.probe]]
role = "control"
bus = "header"
rom = "28-0000000000a1"
offset = "0K"
uncertainty = "0.2K"
calibrated = 2026-03-01
due = 2036-03-01
[[station.probe]]
role = "guard"
bus = "header"
rom = "28-0000000000a2"
offset = "0K"
uncertainty = "0.2K"
calibrated = 2026-03-01
due = 2036-03-01
[[station.probe]]
role = "floor"
bus = "header"
rom = "28-0000000000a3"
offset = "0K"
uncertainty = "0.2K"
calibrated = 2026-03-01
due = 2036-03-01
`

func put(t *testing.T, path, text string) {
	t.Helper()
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

func (p *player) file(name string) string { return filepath.Join(p.dir, name) }

// heats says whether both relay files let current through.
func (p *player) heats() bool { return p.relay("pad") && p.relay("series") }

func (p *player) relay(name string) bool {
	text, err := os.ReadFile(p.file(name))
	return err == nil && strings.TrimSpace(string(text)) == p.onWhen
}

// pass lets the tub live for dt seconds.
func (p *player) pass(dt float64, heat bool) {
	want := 0.0
	if heat {
		want = 1
	}
	p.pad += (want - p.pad) * min(1, dt/p.coast)
	p.water += (p.pad*p.gain - p.loss) * dt
}

// code is what a probe at t reads, in sixteenths of a degree, with the scatter
// that real ones have (0.03 K).
func (p *player) code(t float64) int16 {
	return int16((t+0.03*p.rng.NormFloat64())*16 + 0.5)
}

// scratchpad is a DS18B20's nine bytes at 12 bits.
// Source: DS18B20 data sheet, figure "memory map".
func scratchpad(code int16) (pad [9]byte) {
	pad = [9]byte{byte(code), byte(uint16(code) >> 8), 0x4b, 0x46, 0x7f, 0xff, byte(0x10 - code&0x0f), 0x10}
	pad[8] = onewire.CalcCRC(pad[:8])
	return pad
}

// text is what w1_slave reads for a scratchpad.
func text(pad [9]byte, verdict string) string {
	hex := fmt.Sprintf("% x", pad[:])
	return fmt.Sprintf("%s : crc=%02x %s\n%s t=%d\n", hex, pad[8], verdict, hex, int(int16(uint16(pad[1])<<8|uint16(pad[0])))*1000/16)
}

// writeProbes writes every probe's file, whole and at once, as a driver does.
func (p *player) writeProbes(t *testing.T) {
	for serial, value := range map[string]float64{
		serialControl: p.water, serialGuard: p.water, serialFloor: p.water + p.rise*p.pad,
	} {
		folder := filepath.Join(p.file("w1"), "28-"+serial)
		body := text(scratchpad(p.code(value)), "YES")
		if serial == serialControl {
			if body = p.ailing(body); p.ails == vanished {
				os.RemoveAll(folder)
				continue
			}
		}
		if err := os.MkdirAll(folder, 0o755); err != nil {
			t.Error(err)
			return
		}
		fresh := filepath.Join(folder, "fresh")
		if err := os.WriteFile(fresh, []byte(body), 0o644); err != nil {
			t.Error(err)
			return
		}
		if err := os.Rename(fresh, filepath.Join(folder, "w1_slave")); err != nil {
			t.Error(err)
		}
	}
}

func (p *player) ailing(body string) string {
	switch p.ails {
	case badCRC:
		pad := scratchpad(p.code(p.water))
		pad[0] ^= 0x40
		return text(pad, "NO")
	case empty:
		return ""
	case allZero:
		return text([9]byte{}, "YES")
	case powerOn:
		pad := [9]byte{0x50, 0x05, 0x4b, 0x46, 0x7f, 0xff, 0x0c, 0x10}
		pad[8] = onewire.CalcCRC(pad[:8])
		return text(pad, "YES")
	case frozen:
		return text(p.held, "YES")
	}
	return body
}

// play runs the tub beside the test until it ends.
func (p *player) play(t *testing.T) {
	stop := make(chan struct{})
	done := make(chan struct{})
	const step = 100 * time.Millisecond
	p.writeProbes(t)
	go func() {
		defer close(done)
		tick := time.NewTicker(step)
		defer tick.Stop()
		last := time.Now()
		for n := 1; ; n++ {
			select {
			case <-stop:
				return
			case now := <-tick.C:
				heat := p.heats()
				p.mu.Lock()
				p.pass(now.Sub(last).Seconds(), heat)
				if n%5 == 0 {
					p.writeProbes(t)
				}
				p.mu.Unlock()
				last = now
			}
		}
	}()
	t.Cleanup(func() { close(stop); <-done })
}

// ail gives the control probe a trouble.
func (p *player) ail(w trouble) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.ails, p.held = w, scratchpad(p.code(p.water))
}

func (p *player) temperature() float64 {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.water
}
