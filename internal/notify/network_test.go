package notify

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"log/slog"
	"net"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"go.uber.org/goleak"

	"soakwarden/controller"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

const secret = "s3cret-in-the-path"

func TestTargetsOfAllKinds(t *testing.T) {
	got := make(chan *http.Request, 1)
	bodies := make(chan []byte, 1)
	release := make(chan struct{})
	mux := http.NewServeMux()
	mux.HandleFunc("/good/"+secret, func(w http.ResponseWriter, r *http.Request) {
		b, _ := io.ReadAll(r.Body)
		got <- r
		bodies <- b
	})
	mux.HandleFunc("/broken/"+secret, func(w http.ResponseWriter, _ *http.Request) { w.WriteHeader(500) })
	mux.HandleFunc("/login/"+secret, func(w http.ResponseWriter, r *http.Request) {
		http.Redirect(w, r, "/page", http.StatusFound)
	})
	mux.HandleFunc("/page", func(http.ResponseWriter, *http.Request) {})
	mux.HandleFunc("/hangs/"+secret, func(http.ResponseWriter, *http.Request) { <-release })
	mux.HandleFunc("/trickles/"+secret, func(w http.ResponseWriter, _ *http.Request) {
		for range 100 {
			_, _ = w.Write([]byte("."))
			w.(http.Flusher).Flush()
			select {
			case <-release:
				return
			case <-time.After(20 * time.Millisecond):
			}
		}
	})
	server := httptest.NewServer(mux)
	defer server.Close()
	defer close(release)
	refused, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	closed := refused.Addr().String()
	refused.Close()

	token := filepath.Join(t.TempDir(), "token")
	if err := os.WriteFile(token, []byte("t0ken\nanother line\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	target := func(name, url string) Target {
		return Target{Name: name, URL: url, Timeout: 300 * time.Millisecond}
	}
	good := target("good", server.URL+"/good/"+secret)
	good.TokenFile = token
	missing := target("missing token", server.URL+"/good/"+secret)
	missing.TokenFile = token + "x"
	var log bytes.Buffer
	n := New(Options{
		Bench: "bench", Phone: "+00 1234", Log: slog.New(slog.NewTextHandler(&log, nil)),
		Targets: []Target{
			good, missing,
			target("broken", server.URL+"/broken/"+secret),
			target("login", server.URL+"/login/"+secret),
			target("hangs", server.URL+"/hangs/"+secret),
			target("trickles", server.URL+"/trickles/"+secret),
			target("refused", "http://"+closed+"/"+secret),
			target("nonsense", "http://%zz"+secret),
			target("no scheme", secret),
		},
	})
	outcomes := n.Test(t.Context())
	<-got
	<-bodies
	for i, o := range outcomes {
		wantOK := i == 0 || o.Target == "trickles"
		if o.OK != wantOK {
			t.Errorf("%s: ok %v, %s", o.Target, o.OK, o.Error)
		}
		if strings.Contains(o.Error+o.Host, secret) || strings.Contains(o.Error, "t0ken") {
			t.Errorf("%s tells its secret: %s %s", o.Target, o.Host, o.Error)
		}
	}

	ctx, cancel := context.WithCancel(t.Context())
	stopped := make(chan struct{})
	go func() { n.Run(ctx); close(stopped) }()
	a := raised("north", controller.OverCutoff, controller.Trip)
	a.Celsius, a.HasValue, a.Latched = 32.07, true, true
	n.Tell(a)
	// The hung and broken ones delay neither Tell nor the good one.
	r := <-got
	if r.Header.Get("Authorization") != "Bearer t0ken" || r.Header.Get("Content-Type") != "application/json" {
		t.Errorf("headers: %v", r.Header)
	}
	var m Message
	if err := json.Unmarshal(<-bodies, &m); err != nil {
		t.Fatal(err)
	}
	for _, part := range []string{"north: over the cutoff, 32.1 °C (89.7 °F)", "stays off", "+00 1234"} {
		if !strings.Contains(m.Text, part) {
			t.Errorf("%q is not in: %s", part, m.Text)
		}
	}
	if !strings.HasPrefix(m.Text, controller.OverCutoff.Rule().Advice) {
		t.Errorf("does not begin with what to do: %s", m.Text)
	}
	if m.ValueC == nil || *m.ValueC != 32.07 || m.Cause != "over the cutoff" || m.Severity != "trip" || !m.Latched {
		t.Errorf("%+v", m)
	}
	short, done := context.WithTimeout(t.Context(), 400*time.Millisecond)
	n.Drain(short)
	done()
	cancel()
	<-stopped
	if strings.Contains(log.String(), secret) || strings.Contains(log.String(), "t0ken") {
		t.Errorf("the log tells a secret:\n%s", log.String())
	}
	if !strings.Contains(log.String(), "target=refused") {
		t.Errorf("a refusal is not in the log:\n%s", log.String())
	}
}

func TestTellNeverWaits(t *testing.T) {
	n := New(Options{Targets: []Target{{Name: "nobody runs", URL: "http://127.0.0.1:1/"}}})
	for i := range 10 * queueMost {
		n.Tell(raised(string(rune(0x4e00+i)), controller.TooCold, controller.Warning))
	}
	if s := n.Stats()[0]; s.Waiting != queueMost || s.Dropped != 9*queueMost {
		t.Errorf("%+v", s)
	}
}

// A target that cannot be reached at all still costs its own goroutine only.
func BenchmarkTell(b *testing.B) {
	n := New(Options{Targets: []Target{{Name: "nobody runs", URL: "http://127.0.0.1:1/"}}})
	a := raised("north", controller.TooCold, controller.Warning)
	for b.Loop() {
		n.Tell(a)
	}
}
