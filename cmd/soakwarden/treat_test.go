package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
	"soakwarden/internal/config"
	"soakwarden/internal/journal"
	"soakwarden/internal/loop"
	"soakwarden/internal/socket"
	"soakwarden/internal/treat"
)

// cabinet is a desk behind a socket, with readings that the test sets.
type cabinet struct {
	socket string
	desk   *treat.Desk
	now    time.Duration
}

func newCabinet(t *testing.T) *cabinet {
	t.Helper()
	cfg, problems, err := config.Load("../../testdata/treatments/cabinet.toml")
	if err != nil || cfg == nil {
		t.Fatal(err, problems)
	}
	c := &cabinet{socket: filepath.Join(t.TempDir(), "s")}
	c.desk = treat.NewDesk(treat.Options{
		Config: cfg, Version: "test", Record: journal.NewMemory(journal.Options{Clock: func() journal.Moment { return journal.Moment{} }}),
		Code: func() string { return "1234" },
	})
	l, err := socket.Listen(c.socket)
	if err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() {
		done <- socket.Serve(ctx, l, socket.Options{Latest: func() *loop.Snapshot { return nil }, Treat: c.desk.Handler()})
	}()
	t.Cleanup(func() {
		stop()
		if err := <-done; err != nil {
			t.Error(err)
		}
	})
	c.pass(time.Second, 20)
	return c
}

// pass lets time pass with every probe at that temperature in °C.
func (c *cabinet) pass(d time.Duration, celsius int64) {
	for end := c.now + d; c.now < end; {
		c.now += time.Second
		l := loop.Looked{Now: c.now, Wall: time.Date(2025, 11, 3, 12, 0, 0, 0, time.UTC).Add(c.now), Trusted: true, Last: controller.Command{Fan: true}}
		l.Health.AirflowSeen = true
		for range 4 {
			l.Readings = append(l.Readings, controller.Reading{Value: physic.ZeroCelsius + physic.Temperature(celsius)*physic.Kelvin, At: c.now, Quality: controller.Good})
		}
		c.desk.Driver("cabinet").Drive(l)
	}
}

// typing runs a command at whose prompt a person types.
func typing(typed string, args ...string) (string, string, int) {
	var out, errOut bytes.Buffer
	root := newRoot()
	root.SetArgs(args)
	root.SetIn(strings.NewReader(typed))
	root.SetOut(&out)
	root.SetErr(&errOut)
	switch err := root.Execute(); {
	case err == nil:
		return out.String(), errOut.String(), 0
	case errors.Is(err, errBadNews):
		return out.String(), errOut.String(), 1
	default:
		return out.String(), errOut.String() + err.Error(), 2
	}
}

func TestTreatAtTheBoard(t *testing.T) {
	c := newCabinet(t)
	at := []string{"--socket", c.socket}
	do := func(status int, words, typed string, args ...string) string {
		t.Helper()
		out, errOut, got := typing(typed, append(args, at...)...)
		if got != status || !strings.Contains(out+errOut, words) {
			t.Errorf("%v: status %d, want %d with %q\n%s%s", args, got, status, words, out, errOut)
		}
		return out
	}
	do(0, "cabinet: no treatment", "", "treat", "status")
	do(0, "cabinet, core-56-30min: FITS", "", "treat", "plan", "cabinet", "--schedule", "core-56-30min")
	do(1, "DOES NOT FIT", "", "treat", "plan", "cabinet", "--target", "60C", "--hold", "1h")
	start := []string{"treat", "start", "cabinet", "--schedule", "core-56-30min", "--who", "Ada Example"}
	do(2, "who lives in cabinet?", "", start...)
	start = append(start, "--resident", "corn snake=tub south")
	do(2, "is not what had to be typed", "yes\n", start...)
	do(2, "nothing was typed", "", start...)
	do(2, "unknown flag: --yes", "", append(start, "--yes")...)
	do(2, "write the animal and where it is", "", append(start, "--resident", "python")...)
	do(0, "started: cabinet-0001", "nothing alive is inside cabinet 1234\n", start...)
	c.pass(time.Minute, 20)
	do(0, "ten minutes of warning", "", "treat", "status", "cabinet")
	do(2, "cabinet-0001 is in cabinet", "nothing alive is inside cabinet 1234\n", start...)
	do(0, "stopped: heat is off in cabinet", "", "treat", "stop", "cabinet", "--who", "Ada Example", "--why", "smoke")
	do(2, "no treatment is under way", "", "treat", "stop", "cabinet", "--who", "Ada Example")
	do(2, "who releases it?", "", "treat", "release", "cabinet")
	c.pass(time.Minute, 50)
	do(2, "not safe to open", "", "treat", "release", "cabinet", "--who", "Ada Example")
	c.pass(time.Minute, 25)
	out := do(1, "stopped by Ada Example: smoke", "", "treat", "release", "cabinet", "--who", "Ada Example", "--after", "28-0000a2000001=+0.10K,ice point")
	if !strings.HasPrefix(out, "TREATMENT cabinet-0001: FAIL") || !strings.Contains(out, "+0.10K, ice point; shifted by +0.04 K") {
		t.Error(out)
	}
	do(2, "28-0000a2000001", "", "treat", "release", "cabinet", "--who", "Ada Example", "--after", "28-0000a2000001")
	var list []map[string]any
	if err := json.Unmarshal([]byte(do(0, "", "", "treat", "status", "--json")), &list); err != nil || len(list) != 1 {
		t.Errorf("%v %v", list, err)
	}
}

func TestTreatWithoutADaemon(t *testing.T) {
	for args, want := range map[string]int{
		"treat":             2,
		"treat list":        0,
		"treat list --json": 0,
		"treat plan cabinet -c ../../testdata/treatments/cabinet.toml --start 18C --schedule core-56-30min":        0,
		"treat plan cabinet -c ../../testdata/treatments/cabinet.toml --start 18C --schedule core-56-30min --json": 0,
		"treat plan freezer -c ../../testdata/treatments/freezer.toml --start 18C --schedule core-56-30min":        1,
		"treat plan cabinet -c ../../testdata/treatments/cabinet.toml --start 18C --schedule heat-110F":            2,
		"treat plan cabinet -c ../../testdata/treatments/cabinet.toml --start 18 --schedule core-56-30min":         2,
		"treat plan cabinet --start 18C --schedule core-56-30min":                                                  2,
		"treat plan":     2,
		"treat stop a b": 2,
		"treat status --socket /nowhere/at/all.sock": 2,
	} {
		if out, errOut, got := answer(strings.Fields(args)...); got != want || (got == 2) != (errOut != "") {
			t.Errorf("%s: status %d, want %d\n%s%s", args, got, want, out, errOut)
		}
	}
	out, _, _ := answer("treat", "list")
	for _, words := range []string{"core-56-30min: 56.0 °C (132.8 °F) or above for 30m0s", "ISPM 15", "OURS    the hour", "REFUSED: two days in a freezer", "heat-110F: REFUSED"} {
		if !strings.Contains(out, words) {
			t.Errorf("no %q in\n%s", words, out)
		}
	}
}
