package main

import (
	"bytes"
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// said runs the program in this process.
func said(t *testing.T, args ...string) (code int, out, errOut string) {
	t.Helper()
	var o, e bytes.Buffer
	code = run(args, &o, &e)
	return code, o.String(), e.String()
}

func TestOffCommand(t *testing.T) {
	p := newPlayer(t)
	put(t, p.file("pad"), "0")
	code, out, errOut := said(t, "off", "-c", p.file("tub.toml"), "--json")
	var got struct {
		AllOff bool `json:"all_off"`
		Lines  []struct {
			Name, Place            string
			Off, Remembered, Error any
		}
		Problems []string
	}
	if err := json.Unmarshal([]byte(out), &got); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	if code != 0 || !got.AllOff || len(got.Lines) != 2 || len(got.Problems) != 1 || errOut != "" {
		t.Errorf("exit %d: %s%s", code, out, errOut)
	}
	p.allOff(t, "off of a bench that never ran")

	code, out, _ = said(t, "off", "-c", p.file("missing.toml"), "--state", p.file("none"))
	if code != 2 || out != "" {
		t.Errorf("nothing is known: exit %d, %s", code, out)
	}
	if _, err := os.Stat(p.file("none")); err == nil {
		t.Error("off made a state folder")
	}
}

// A line on which no relay hangs any more can be forgotten, by a person.
func TestOffForgets(t *testing.T) {
	p := newPlayer(t)
	put(t, p.file("state/lines"), "soakwarden lines 1 1 00000000\n") // damaged: its lines are lost
	old := p.file("old")
	put(t, old, "0")
	text, err := os.ReadFile(p.file("tub.toml"))
	if err != nil {
		t.Fatal(err)
	}
	put(t, p.file("tub.toml"), strings.Replace(string(text), p.file("pad")+`"`, old+`"`, 1))
	code, _, errOut := said(t, "off", "-c", p.file("tub.toml"), "--forget", old)
	if code != 2 || !strings.Contains(errOut, "no such line is remembered") {
		t.Errorf("exit %d: %s", code, errOut)
	}
	if got, _ := os.ReadFile(old); string(got) != "1" {
		t.Errorf("the line reads %q", got)
	}
}

func TestRunRefuses(t *testing.T) {
	p := newPlayer(t)
	code, _, errOut := said(t, "run", "-c", p.file("missing.toml"))
	if code != 2 || !strings.Contains(errOut, "missing.toml") {
		t.Errorf("a missing configuration: exit %d, %s", code, errOut)
	}
	if code, _, errOut = said(t, "run"); code != 2 || !strings.Contains(errOut, "config") {
		t.Errorf("no configuration: exit %d, %s", code, errOut)
	}
	put(t, p.file("tub.toml"), "state = \""+p.file("state")+"\"\nset_point = 85\n")
	code, _, errOut = said(t, "run", "-c", p.file("tub.toml"))
	if code != 2 || !strings.Contains(errOut, "tub.toml:2:") {
		t.Errorf("a broken configuration: exit %d, %s", code, errOut)
	}
}

func TestProbesCommand(t *testing.T) {
	p := newPlayer(t)
	p.water = 28.5
	p.writeProbes(t)
	code, out, _ := said(t, "probes", "-c", p.file("tub.toml"))
	if code != 0 || strings.Count(out, "north/") != 3 || !strings.Contains(out, "28-0000000000a1") {
		t.Errorf("exit %d:\n%s", code, out)
	}
	if err := os.RemoveAll(filepath.Join(p.file("w1"), "28-"+serialGuard)); err != nil {
		t.Fatal(err)
	}
	code, out, _ = said(t, "probes", "-c", p.file("tub.toml"), "--json")
	var got struct {
		Buses []struct {
			Probes []struct {
				ROM, Quality string
				Present      bool
				ValueC       *float64 `json:"value_c"`
				Flaw         *string
			}
		}
	}
	if err := json.Unmarshal([]byte(out), &got); err != nil {
		t.Fatal(err)
	}
	if code != 1 || len(got.Buses) != 1 || len(got.Buses[0].Probes) != 3 {
		t.Fatalf("a missing probe: exit %d:\n%s", code, out)
	}
	for _, probe := range got.Buses[0].Probes {
		missing := probe.ROM == "28-"+serialGuard
		if probe.Present == missing || (probe.ValueC == nil) != missing || (probe.Flaw == nil) == missing {
			t.Errorf("%+v", probe)
		}
	}
}

func TestNotifyTestCommand(t *testing.T) {
	asked := 0
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if asked++; r.URL.Path == "/bad" {
			w.WriteHeader(http.StatusForbidden)
		}
	}))
	defer server.Close()
	p := newPlayer(t)
	text, err := os.ReadFile(p.file("tub.toml"))
	if err != nil {
		t.Fatal(err)
	}
	if code, _, errOut := said(t, "notify", "test", "-c", p.file("tub.toml")); code != 2 || !strings.Contains(errOut, "[[notify.webhook]]") {
		t.Errorf("no webhook: exit %d, %s", code, errOut)
	}
	hook := "\n[[notify.webhook]]\nname = \"keeper\"\nurl = \"" + server.URL + "/good\"\n"
	put(t, p.file("tub.toml"), string(text)+hook)
	code, out, _ := said(t, "notify", "test", "-c", p.file("tub.toml"))
	if code != 0 || !strings.HasPrefix(out, "reached      keeper at 127.0.0.1") || asked != 1 {
		t.Errorf("exit %d: %s", code, out)
	}
	put(t, p.file("tub.toml"), string(text)+strings.Replace(hook, "/good", "/bad", 1))
	code, out, _ = said(t, "notify", "test", "-c", p.file("tub.toml"), "--json")
	if code != 1 || !strings.Contains(out, `"ok": false`) || !strings.Contains(out, "403") || strings.Contains(out, "/bad") {
		t.Errorf("exit %d: %s", code, out)
	}
}
