package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"soakwarden/internal/socket"
	"soakwarden/internal/status"
)

// long asks for the long variant: minutes of cycling, and the faults that take
// minutes to be sure of.
var long = os.Getenv("SOAKWARDEN_REALTIME") != ""

// child is the program in a process of its own.
type child struct {
	cmd   *exec.Cmd
	errs  *locked
	ended chan struct{}
	err   error
}

type locked struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (l *locked) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.Write(p)
}

func (l *locked) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.String()
}

func program(args ...string) *exec.Cmd {
	exe, err := os.Executable()
	if err != nil {
		panic(err)
	}
	cmd := exec.Command(exe, args...)
	cmd.Env = append(os.Environ(), asProgram+"=1", "GOMAXPROCS=1")
	return cmd
}

// start runs the daemon and waits until its socket answers.
func (p *player) start(t *testing.T) *child {
	t.Helper()
	c := &child{cmd: program("run", "-c", p.file("tub.toml")), errs: &locked{}, ended: make(chan struct{})}
	c.cmd.Stderr = c.errs
	if err := c.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	go func() { c.err = c.cmd.Wait(); close(c.ended) }()
	t.Cleanup(func() {
		_ = c.cmd.Process.Kill()
		<-c.ended
		if t.Failed() {
			t.Logf("the daemon said:\n%s", c.errs)
		}
	})
	until(t, 20*time.Second, "the daemon answers", func() bool {
		_, err := p.status()
		return err == nil
	})
	return c
}

// stop ends the daemon in order.
func (c *child) stop(t *testing.T) {
	t.Helper()
	if err := c.cmd.Process.Signal(syscall.SIGTERM); err != nil {
		t.Fatal(err)
	}
	<-c.ended
	if c.err != nil {
		t.Errorf("the daemon ended with %v", c.err)
	}
}

func (p *player) status() (status.Station, error) {
	ctx, cancel := context.WithTimeout(context.Background(), 2*time.Second)
	defer cancel()
	s, err := socket.NewClient(p.cfg.Socket).Status(ctx)
	if err != nil {
		return status.Station{}, err
	}
	if len(s.Stations) != 1 {
		return status.Station{}, fmt.Errorf("%d stations", len(s.Stations))
	}
	return s.Stations[0], nil
}

func (p *player) alarms() string {
	s, err := p.status()
	if err != nil {
		return err.Error()
	}
	text, _ := json.Marshal(s)
	return string(text)
}

// until waits for something; it fails the test when it does not come.
func until(t *testing.T, within time.Duration, what string, is func() bool) time.Duration {
	t.Helper()
	start := time.Now()
	for time.Since(start) < within {
		if is() {
			return time.Since(start)
		}
		time.Sleep(20 * time.Millisecond)
	}
	t.Fatalf("not within %v: %s", within, what)
	return 0
}

// warming lays out a proven bench with water a little under its band, starts
// the daemon and waits for the heat.
func warming(t *testing.T, change ...string) (*player, *child) {
	t.Helper()
	p := newPlayer(t, change...)
	prove(t, p)
	p.water, p.pad = 28.86, 0
	p.play(t)
	c := p.start(t)
	took := until(t, 15*time.Second, "the heat comes on", p.heats)
	t.Logf("heat %v after the socket answered", took.Round(100*time.Millisecond))
	return p, c
}

// every relay's file.
func (p *player) allOff(t *testing.T, when string) {
	t.Helper()
	for _, name := range []string{"pad", "series"} {
		text, err := os.ReadFile(p.file(name))
		if err != nil || string(text) != "1" {
			t.Errorf("%s: relay %s reads %q, %v; off is \"1\"", when, name, text, err)
		}
	}
}

// off runs the program's off and returns its exit status.
func (p *player) off(t *testing.T, args ...string) (code int, out string) {
	t.Helper()
	cmd := program(append([]string{"off"}, args...)...)
	text, err := cmd.CombinedOutput()
	if err != nil && cmd.ProcessState == nil {
		t.Fatal(err)
	}
	return cmd.ProcessState.ExitCode(), string(text)
}

// TestRealTime runs the program in processes of their own, on folders in the
// kernel's 1-Wire format and on file relays, in real time and all at once.
func TestRealTime(t *testing.T) {
	stories := map[string]func(*testing.T){
		"holds":                         holds,
		"bad CRC":                       fault(badCRC),
		"empty file":                    fault(empty),
		"probe vanishes":                fault(vanished),
		"all-zero frame":                fault(allZero),
		"power-on frame":                fault(powerOn),
		"off after kill -9":             offAfterKill,
		"off ends a running daemon":     offEndsARunningDaemon,
		"off kills a stopped daemon":    offKillsAStoppedDaemon,
		"second daemon touches nothing": secondDaemonTouchesNothing,
		"latch survives":                latchSurvives,
	}
	if long {
		stories["frozen frame"] = fault(frozen)
	}
	var all sync.WaitGroup
	for name, story := range stories {
		all.Go(func() { t.Run(name, story) })
	}
	all.Wait()
}

// The band is 28.9 to 29.1 °C. In a few seconds this tub does not cross it by
// itself, so the short variant pours in water that is a little warmer.
func holds(t *testing.T) {
	p, c := warming(t)
	t.Logf("gain %.4f K/s, loss %.4f K/s, coast %.0f s", p.gain, p.loss, p.coast)
	if long {
		p.holds(t, 10*time.Minute)
	} else {
		p.pour(0.25)
		until(t, 15*time.Second, "the heat goes off over the band", func() bool { return !p.heats() })
		p.pour(-0.3)
		until(t, 15*time.Second, "the heat comes on again under the band", p.heats)
	}
	s, err := p.status()
	if err != nil {
		t.Fatal(err)
	}
	for _, a := range s.Alarms {
		t.Errorf("alarm %s on a healthy bench", a.Name)
	}
	c.stop(t)
	p.allOff(t, "after an orderly stop")
}

func (p *player) pour(k float64) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.water += k
}

// holds watches the water while the program cycles.
func (p *player) holds(t *testing.T, span time.Duration) {
	t.Helper()
	lowest, highest, switchings := 99.0, 0.0, 0
	was := p.heats()
	for end := time.Now().Add(span); time.Now().Before(end); time.Sleep(100 * time.Millisecond) {
		w := p.temperature()
		lowest, highest = min(lowest, w), max(highest, w)
		if on := p.heats(); on != was {
			was = on
			switchings++
		}
	}
	t.Logf("%v: %.2f to %.2f °C, %d switchings", span, lowest, highest, switchings)
	if lowest < 28.5 || highest > 29.4 || switchings < 4 {
		t.Errorf("it does not hold 29 °C: %.2f to %.2f °C, %d switchings", lowest, highest, switchings)
	}
}

// fault is a story in which the probe that governs ails. Each ends in heat off
// within the time in which a silent or implausible probe must: 10 s, and the
// polls of a bus.
func fault(what trouble) func(*testing.T) {
	return func(t *testing.T) {
		p, _ := warming(t)
		p.ail(what)
		if what == frozen {
			p.endsDisbelieved(t, 10*time.Minute)
			return
		}
		took := until(t, 15*time.Second, "the heat goes off", func() bool { return !p.heats() })
		t.Logf("heat off after %v", took.Round(100*time.Millisecond))
		until(t, 2*time.Second, "an alarm says why", func() bool {
			s, err := p.status()
			return err == nil && len(s.Alarms) > 0 && strings.HasPrefix(s.Alarms[0].Name, "probe ")
		})
		if w := p.temperature(); w > 29.4 {
			t.Errorf("the water is at %.2f °C", w)
		}
	}
}

// endsDisbelieved waits until a frozen probe is found out: heat off with an
// alarm about a probe, while the water stays safe.
func (p *player) endsDisbelieved(t *testing.T, within time.Duration) {
	t.Helper()
	took := until(t, within, "a frozen probe is found out", func() bool {
		s, err := p.status()
		if err != nil || s.Permitted {
			return false
		}
		for _, a := range s.Alarms {
			if strings.HasPrefix(a.Name, "probe") {
				return !p.heats()
			}
		}
		return false
	})
	t.Logf("found out after %v: %s", took.Round(time.Second), p.alarms())
	if w := p.temperature(); w > 30 {
		t.Errorf("the water is at %.2f °C", w)
	}
}
