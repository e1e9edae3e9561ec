package main

import (
	"os"
	"strings"
	"syscall"
	"testing"
	"time"
)

// killed starts a bench that heats and kills it with the heat on.
func killed(t *testing.T) *player {
	t.Helper()
	p, c := warming(t)
	if err := c.cmd.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	<-c.ended
	if !p.heats() {
		t.Fatal("a killed daemon cannot have switched off: the test shows nothing")
	}
	return p
}

func (p *player) mustOff(t *testing.T, args ...string) string {
	t.Helper()
	code, out := p.off(t, args...)
	if code != 0 {
		t.Errorf("off ended with %d:\n%s", code, out)
	}
	return out
}

func offAfterKill(t *testing.T) {
	p := killed(t)
	p.mustOff(t, "-c", p.file("tub.toml"))
	p.allOff(t, "off after kill -9")

	// With the heat on again by whatever means: no configuration at all.
	put(t, p.file("pad"), "0")
	p.mustOff(t, "--state", p.file("state"))
	p.allOff(t, "off with the state folder alone")

	// A configuration that is no TOML any more: its relays may be unreadable,
	// the list of lines ever driven is not.
	put(t, p.file("pad"), "0")
	put(t, p.file("series"), "0")
	whole, err := os.ReadFile(p.file("tub.toml"))
	if err != nil {
		t.Fatal(err)
	}
	put(t, p.file("tub.toml"), strings.Replace(string(whole), "[journal]", "[[[journal\nx = = 5\n", 1))
	p.mustOff(t, "-c", p.file("tub.toml"))
	p.allOff(t, "off with a broken configuration")

	// A pad that was moved to another line while the old one is still on.
	put(t, p.file("pad"), "0")
	put(t, p.file("moved"), "0")
	put(t, p.file("tub.toml"), strings.Replace(string(whole), p.file("pad")+`"`, p.file("moved")+`"`, 1))
	out := p.mustOff(t, "-c", p.file("tub.toml"))
	p.allOff(t, "off with a moved pin")
	if text, _ := os.ReadFile(p.file("moved")); string(text) != "1" {
		t.Errorf("the line of the changed configuration reads %q\n%s", text, out)
	}

	// The list of lines is damaged and its copy gone: the configuration's
	// relays are driven off all the same, and it is said.
	put(t, p.file("pad"), "0")
	put(t, p.file("tub.toml"), string(whole))
	put(t, p.file("state/lines"), "\x00\x00")
	if err := os.Remove(p.file("state/lines.copy")); err != nil {
		t.Fatal(err)
	}
	out = p.mustOff(t, "-c", p.file("tub.toml"))
	p.allOff(t, "off with a damaged list")
	if !strings.Contains(out, "lines.unreadable") {
		t.Errorf("the damage is not said:\n%s", out)
	}

	// One relay cannot be written: the other is off, and the answer is bad news.
	put(t, p.file("series"), "0")
	if err := os.Remove(p.file("pad")); err != nil {
		t.Fatal(err)
	}
	code, out := p.off(t, "-c", p.file("tub.toml"))
	if text, _ := os.ReadFile(p.file("series")); code != 1 || string(text) != "1" || !strings.Contains(out, "Pull the plug") {
		t.Errorf("a relay that is gone: exit %d, series reads %q\n%s", code, text, out)
	}
}

func offEndsARunningDaemon(t *testing.T)  { offEndsADaemon(t, false) }
func offKillsAStoppedDaemon(t *testing.T) { offEndsADaemon(t, true) }

func offEndsADaemon(t *testing.T, stopped bool) {
	t.Helper()
	p, c := warming(t)
	if stopped {
		if err := c.cmd.Process.Signal(syscall.SIGSTOP); err != nil {
			t.Fatal(err)
		}
	}
	start := time.Now()
	p.mustOff(t, "-c", p.file("tub.toml"))
	p.allOff(t, "off with a daemon")
	t.Logf("off took %v", time.Since(start).Round(10*time.Millisecond))
	<-c.ended
	if orderly := c.err == nil; orderly == stopped {
		t.Errorf("the daemon ended with %v", c.err)
	}
	// Nothing switches on again.
	time.Sleep(1500 * time.Millisecond)
	p.allOff(t, "a while after off")
}

func secondDaemonTouchesNothing(t *testing.T) {
	p, _ := warming(t)
	before := p.folder(t)
	cmd := program("run", "-c", p.file("tub.toml"))
	out, _ := cmd.CombinedOutput()
	if cmd.ProcessState.ExitCode() != 2 || !strings.Contains(string(out), "nothing was touched") {
		t.Errorf("the second daemon ended with %d:\n%s", cmd.ProcessState.ExitCode(), out)
	}
	if !p.heats() {
		t.Error("the second daemon switched the heat off")
	}
	if after := p.folder(t); after != before {
		t.Errorf("the state folder held %s and now holds %s", before, after)
	}
	if _, err := p.status(); err != nil {
		t.Errorf("the first daemon no longer answers: %v", err)
	}
}

// folder lists the names in the state folder and what the lock says.
func (p *player) folder(t *testing.T) string {
	t.Helper()
	entries, err := os.ReadDir(p.file("state"))
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, e := range entries {
		names = append(names, e.Name())
	}
	lock, err := os.ReadFile(p.file("state/lock"))
	if err != nil {
		t.Fatal(err)
	}
	return strings.Join(names, " ") + " " + string(lock)
}

func latchSurvives(t *testing.T) {
	p, c := warming(t)
	p.mu.Lock()
	p.water = 32.5 // over the cutoff of 31 °C
	p.mu.Unlock()
	took := until(t, 15*time.Second, "both relays open over the cutoff", func() bool { return !p.relay("pad") && !p.relay("series") })
	t.Logf("both relays open %v after the water was over the cutoff", took.Round(100*time.Millisecond))
	until(t, 10*time.Second, "the trip is latched", p.latched)
	time.Sleep(500 * time.Millisecond) // the latch is on its way to the card
	if err := c.cmd.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	<-c.ended

	// The water is cool again and the station has another name: the latch
	// belongs to the line.
	p.mu.Lock()
	p.water, p.pad = 28.86, 0
	p.mu.Unlock()
	whole, err := os.ReadFile(p.file("tub.toml"))
	if err != nil {
		t.Fatal(err)
	}
	put(t, p.file("tub.toml"), strings.Replace(string(whole), `name = "north"`, `name = "renamed"`, 1))
	p.start(t)
	until(t, 10*time.Second, "the latch is still there", p.latched)
	for end := time.Now().Add(5 * time.Second); time.Now().Before(end); time.Sleep(50 * time.Millisecond) {
		if p.relay("pad") || p.relay("series") {
			t.Fatal("a relay closed under a latch")
		}
	}
}

func (p *player) latched() bool {
	s, err := p.status()
	if err != nil {
		return false
	}
	for _, a := range s.Alarms {
		if a.Name == "over the cutoff" {
			return a.Latched
		}
	}
	return false
}
