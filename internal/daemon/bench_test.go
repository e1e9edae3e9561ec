package daemon

import (
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"periph.io/x/conn/v3/gpio"
	"periph.io/x/conn/v3/onewire"

	"soakwarden/internal/config"
	"soakwarden/internal/loop"
	"soakwarden/sensors"
)

// tub is a configuration on file relays and a folder in the kernel's 1-Wire
// format. Invented data.
const tub = `
name = "bench"
invented = true
state = "DIR/state"
[journal]
path = "DIR/journal/journal.db"
[page]
listen = "127.0.0.1:0"
[watchdog]
device = "DIR/watchdog"
[heartbeat]
output = "beat"
[notify]
lamp = "lamp"
buzzer = "buzzer"
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
on_when = "high"
[[output]]
name = "beat"
kind = "file"
path = "DIR/beat"
on_when = "high"
[[output]]
name = "lamp"
kind = "file"
path = "DIR/lamp"
on_when = "high"
[[output]]
name = "buzzer"
kind = "file"
path = "DIR/buzzer"
on_when = "high"
[[station]]
name = "north"
kind = "tub"
species = "python"
set_point = "85F"
cutoff = "89F"
pad_relay = "pad"
series_relay = "series"
room_coldest = "16C"
room_warmest = "27C"
cutout = "35C"
tub = { length = "400mm", width = "280mm", depth = "60mm", pad = "20W", lid = true }
[[station.probe]]
role = "control"
bus = "header"
rom = "28-0000000000a1"
offset = "+0.25K"
[[station.probe]]
role = "guard"
bus = "header"
rom = "28-0000000000a2"
offset = "0K"
`

// folder lays out the bench; every relay's file says on.
func folder(t *testing.T) string {
	t.Helper()
	dir, err := os.MkdirTemp("", "sw") // short: a socket's path is bounded
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(dir) })
	for name, text := range map[string]string{
		"tub.toml": strings.ReplaceAll(tub, "DIR", dir), "watchdog": "",
		"pad": "0", "series": "1", "beat": "1", "lamp": "1", "buzzer": "1",
	} {
		put(t, dir, name, text)
	}
	probe(t, dir, "0000000000a1", 29)
	probe(t, dir, "0000000000a2", 29.125)
	return dir
}

func put(t *testing.T, dir, name, text string) {
	t.Helper()
	path := filepath.Join(dir, name)
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

func get(t *testing.T, dir, name string) string {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(dir, name))
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// probe writes a probe's file. Source of the format: Linux,
// Documentation/w1/slaves/w1_therm.rst; of the bytes: DS18B20 data sheet.
func probe(t *testing.T, dir, serial string, celsius float64) {
	t.Helper()
	code := int16(celsius * 16)
	pad := []byte{byte(code), byte(code >> 8), 0x4b, 0x46, 0x7f, 0xff, byte(0x10 - code&0x0f), 0x10}
	crc := onewire.CalcCRC(pad)
	put(t, dir, "w1/28-"+serial+"/w1_slave", fmt.Sprintf("% x %02x : crc=%02x YES\n% x %02x t=%d\n", pad, crc, crc, pad, crc, int(celsius*1000)))
}

// running starts a daemon on a folder.
func running(t *testing.T, dir string, change ...func(*Options)) *Daemon {
	t.Helper()
	o := Options{File: filepath.Join(dir, "tub.toml"), Version: "test", Log: slog.New(slog.NewTextHandler(testLog{t}, &slog.HandlerOptions{Level: slog.LevelError}))}
	for _, c := range change {
		c(&o)
	}
	d := New(o)
	if err := d.Start(t.Context()); err != nil {
		t.Fatal(err)
	}
	return d
}

type testLog struct{ t *testing.T }

func (l testLog) Write(p []byte) (int, error) {
	l.t.Log(strings.TrimSpace(string(p)))
	return len(p), nil
}

func waitFor(t *testing.T, what string, is func() bool) {
	t.Helper()
	for end := time.Now().Add(10 * time.Second); time.Now().Before(end); time.Sleep(10 * time.Millisecond) {
		if is() {
			return
		}
	}
	t.Fatalf("not within 10 s: %s", what)
}

// model is a bench without hardware whose parts do what a test says.
type model struct {
	mu    sync.Mutex
	pins  []*pin
	tick  int
	every func(tick int)
	input loop.Feedback
}

type still struct{ c sensors.Cycle }

func (s *still) Latest() *sensors.Cycle { return &s.c }

func (m *model) bench(cfg *config.Config) (Bench, error) {
	b := Bench{Advance: func(time.Duration) {
		m.mu.Lock()
		defer m.mu.Unlock()
		m.tick++
		if m.every != nil {
			m.every(m.tick)
		}
	}}
	for range cfg.Relays {
		p := &pin{}
		m.pins = append(m.pins, p)
		b.Pins = append(b.Pins, p)
	}
	for range cfg.Buses {
		b.Buses = append(b.Buses, loop.Bus(&still{}))
	}
	b.Output = func(string) gpio.PinOut { return nil }
	if m.input != nil {
		b.Input = func(string) loop.Feedback { return m.input }
	}
	return b, nil
}

func (m *model) withDemo(cfg *config.Config) (Bench, error) {
	b, err := m.bench(cfg)
	b.Demo = faulty{}
	return b, err
}

func withAdvance(bench func(*config.Config) (Bench, error), advance func(time.Duration)) func(*config.Config) (Bench, error) {
	return func(cfg *config.Config) (Bench, error) {
		b, err := bench(cfg)
		b.Advance = advance
		return b, err
	}
}

func lampLevel(on bool) gpio.Level { return gpio.Level(on) }
