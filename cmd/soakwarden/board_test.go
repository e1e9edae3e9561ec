package main

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"soakwarden/controller"
	"soakwarden/controller/alarm"
	"soakwarden/internal/loop"
	"soakwarden/internal/socket"
)

// board is a daemon that answers on a socket and keeps what it was asked.
type board struct {
	path    string
	late    time.Duration // age of the snapshot
	alarms  []loop.AlarmView
	refusal controller.Refusal
	acts    []loop.ActRequest
	notes   []socket.Remark
}

func newBoard(t *testing.T) *board {
	t.Helper()
	b := &board{path: filepath.Join(t.TempDir(), "s")}
	l, err := socket.Listen(b.path)
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() {
		done <- socket.Serve(ctx, l, socket.Options{
			Latest: func() *loop.Snapshot {
				return &loop.Snapshot{Name: "bench", Wall: time.Now().Add(-b.late), Journal: loop.JournalView{OK: true}, Trusted: true, Stations: []loop.StationView{
					{Name: "north", Kind: controller.Tub, Alarms: b.alarms},
				}}
			},
			Act: func(r loop.ActRequest) (loop.Answer, error) {
				b.acts = append(b.acts, r)
				return loop.Answer{Done: b.refusal == controller.NoRefusal, Refusal: b.refusal}, nil
			},
			Note: func(_ context.Context, n socket.Remark) error { b.notes = append(b.notes, n); return nil },
		})
	}()
	t.Cleanup(func() {
		cancel()
		if err := <-done; err != nil {
			t.Error(err)
		}
	})
	return b
}

// ask runs a command and returns its exit status and what it printed.
func ask(args ...string) (code int, out, errOut string) {
	var o, e bytes.Buffer
	code = run(args, &o, &e)
	return code, o.String(), e.String()
}

func TestStatusEndsWithOneWhileAnAlarmIsActive(t *testing.T) {
	b := newBoard(t)
	if code, out, errOut := ask("status", "--socket", b.path); code != 0 || !strings.Contains(out, "north") {
		t.Errorf("quiet: %d %q %q", code, out, errOut)
	}
	b.alarms = []loop.AlarmView{{Cause: controller.NoRise, State: alarm.Returned, Severity: controller.Warning}}
	if code, _, _ := ask("status", "--socket", b.path); code != 0 {
		t.Errorf("an alarm that is over: %d", code)
	}
	b.alarms[0].State = alarm.Acknowledged
	code, out, errOut := ask("status", "--json", "--socket", b.path)
	var s struct {
		Stations []struct {
			Alarms []struct{ Name string }
		}
	}
	if err := json.Unmarshal([]byte(out), &s); code != 1 || err != nil || s.Stations[0].Alarms[0].Name != "no rise" || errOut != "" {
		t.Errorf("an active alarm: %d %v %q %q", code, err, out, errOut)
	}
}

func TestOldNumbersAreNoAnswer(t *testing.T) {
	b := newBoard(t)
	b.late = time.Hour
	code, out, errOut := ask("status", "--socket", b.path)
	if code != 2 || !strings.Contains(errOut, "NOT LIVE") || !strings.Contains(out, "north") {
		t.Errorf("a snapshot an hour old: %d %q %q", code, out, errOut)
	}
}

func TestNobodyAnswers(t *testing.T) {
	none := filepath.Join(t.TempDir(), "s")
	for _, args := range [][]string{
		{"status"}, {"ack", "north", "no-rise"}, {"reset", "north", "no-rise", "--who", "a", "--why", "b"},
		{"stage", "north", "done"}, {"round", "north"}, {"note", "fed"},
	} {
		code, _, errOut := ask(append(args, "--socket", none)...)
		if code != 2 || !strings.Contains(errOut, "no daemon answers on "+none) {
			t.Errorf("%v: %d %q", args, code, errOut)
		}
	}
}

func TestActsOfTheBoard(t *testing.T) {
	b := newBoard(t)
	for _, try := range []struct {
		args []string
		want controller.Act
	}{
		{[]string{"ack", "north", "over-the-cutoff"}, controller.Act{Kind: controller.Acknowledge, Cause: controller.OverCutoff}},
		{[]string{"reset", "north", "no water", "--seen", "animal,level,pad", "--who", "keeper", "--why", "filled"}, controller.Act{Kind: controller.Reset, Cause: controller.NoWater, Seen: controller.SeenAnimal | controller.SeenLevel | controller.SeenPad}},
		{[]string{"stage", "north", "attended"}, controller.Act{Kind: controller.BeginAttended}},
		{[]string{"stage", "north", "extend"}, controller.Act{Kind: controller.ExtendAttended}},
		{[]string{"stage", "north", "done"}, controller.Act{Kind: controller.EndAttended}},
		{[]string{"stage", "north", "animal-in"}, controller.Act{Kind: controller.AnimalIn}},
		{[]string{"stage", "north", "out-of-service"}, controller.Act{Kind: controller.TakeOutOfService}},
		{[]string{"ack", "north", "no-rise", "--shelve", "30m"}, controller.Act{Kind: controller.Shelve, Cause: controller.NoRise, Span: 30 * time.Minute}},
		{[]string{"ack", "north", "no-rise", "--unshelve"}, controller.Act{Kind: controller.Unshelve, Cause: controller.NoRise}},
		{[]string{"round", "north"}, controller.Act{Kind: controller.Presence}},
	} {
		try.want.Place = controller.Board
		code, out, errOut := ask(append(try.args, "--socket", b.path)...)
		if code != 0 || !strings.Contains(out, "done: ") || errOut != "" {
			t.Errorf("%v: %d %q %q", try.args, code, out, errOut)
			continue
		}
		if got := b.acts[len(b.acts)-1]; got.Act != try.want || got.Station != "north" {
			t.Errorf("%v was handed on as %+v", try.args, got)
		}
	}
	if _, out, _ := ask("stage", "north", "attended", "--socket", b.path); !strings.HasPrefix(out, "Unplug before you reach in.") {
		t.Errorf("attended does not begin with the plug: %q", out)
	}
	b.refusal = controller.CausePersists
	if code, out, _ := ask("ack", "north", "no-rise", "--socket", b.path); code != 1 || !strings.Contains(out, "refused, nothing was done") {
		t.Errorf("a refusal: %d %q", code, out)
	}
	if code, _, _ := ask("note", "--socket", b.path, "--station", "north", "shed", "its", "skin"); code != 0 || len(b.notes) != 1 || b.notes[0].Text != "shed its skin" {
		t.Errorf("a remark: %d %+v", code, b.notes)
	}
}

func TestMistakesOfTheBoard(t *testing.T) {
	b := newBoard(t)
	bad := filepath.Join(t.TempDir(), "bad.toml")
	if err := os.WriteFile(bad, []byte("name = \n"), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, try := range []struct {
		args []string
		say  string
	}{
		{[]string{"reset", "north", "no-rise"}, "--who NAME --why REASON"},
		{[]string{"ack", "north"}, "write the station and the cause"},
		{[]string{"stage", "north", "asleep"}, "write the station and one of"},
		{[]string{"stage", "east", "done"}, "write one of north"},
		{[]string{"stage", "north", "water-changed", "--water", "85"}, "like 26C or 79F"},
		{[]string{"ack", "north", "no-rise", "--shelve", "1h", "--unshelve"}, "contradict"},
		{[]string{"round"}, "write the station"},
		{[]string{"status", "--units", "K"}, "write C, F or both"},
	} {
		code, _, errOut := ask(append(try.args, "--socket", b.path)...)
		if code != 2 || !strings.Contains(errOut, try.say) {
			t.Errorf("%v: %d %q", try.args, code, errOut)
		}
	}
	if code, _, errOut := ask("status", "-c", filepath.Join(t.TempDir(), "none.toml")); code != 2 || !strings.Contains(errOut, "configuration") {
		t.Errorf("a configuration that is none: %d %q", code, errOut)
	}
	if len(b.acts) != 0 {
		t.Errorf("%d acts came through", len(b.acts))
	}
	code, _, errOut := ask("status", "-c", bad)
	if code != 2 || errOut == "" {
		t.Errorf("a configuration that cannot be read: %d %q", code, errOut)
	}
}
