package socket

import (
	"context"
	"errors"
	"net"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"go.uber.org/goleak"
	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
	"soakwarden/internal/loop"
	"soakwarden/internal/status"
)

func snapshot() *loop.Snapshot {
	return &loop.Snapshot{Name: "bench", Stations: []loop.StationView{{Name: "north", Kind: controller.Tub}, {Name: "south", Kind: controller.Tub}}}
}

// daemon serves a socket in a folder of the test until the test ends.
func daemon(t *testing.T, opt Options) *Client {
	t.Helper()
	path := filepath.Join(t.TempDir(), "s")
	l, err := Listen(path)
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() { done <- Serve(ctx, l, opt) }()
	t.Cleanup(func() {
		cancel()
		if err := <-done; err != nil {
			t.Error(err)
		}
		if _, err := os.Lstat(path); !os.IsNotExist(err) {
			t.Errorf("the socket is still there: %v", err)
		}
	})
	return NewClient(path)
}

func TestActStandsAtTheBoard(t *testing.T) {
	defer goleak.VerifyNone(t)
	t.Run("served", func(t *testing.T) {
		var got loop.ActRequest
		answer := loop.Answer{Done: true}
		c := daemon(t, Options{Latest: snapshot, Act: func(r loop.ActRequest) (loop.Answer, error) {
			got = r
			return answer, nil
		}})
		ctx := context.Background()
		reply, err := c.Act(ctx, status.Request{
			Station: "north", Act: "reset", Cause: "over-the-cutoff", Seen: []string{"animal", "level", "probe"}, Who: "keeper on duty", Why: "probe was out",
		})
		want := loop.ActRequest{Station: "north", Who: "keeper on duty", Why: "probe was out", Act: controller.Act{
			Kind: controller.Reset, Cause: controller.OverCutoff, Place: controller.Board,
			Seen: controller.SeenAnimal | controller.SeenLevel | controller.SeenProbe,
		}}
		if err != nil || !reply.Done || got != want {
			t.Errorf("%+v, %v; handed on %+v", reply, err, got)
		}
		if _, err = c.Act(ctx, status.Request{Station: "south", Act: "water-changed", Water: "26C"}); err != nil || got.Act.Value != physic.ZeroCelsius+26*physic.Celsius {
			t.Errorf("%v; handed on %+v", err, got)
		}
		answer = loop.Answer{Refusal: controller.NotSeen}
		if reply, err = c.Act(ctx, status.Request{Station: "north", Act: "reset", Cause: "no rise"}); err != nil || reply.Done || !strings.Contains(reply.Refused, "look, then name it") {
			t.Errorf("%+v, %v", reply, err)
		}
	})
}

func TestErrorsSayWhatToDo(t *testing.T) {
	c := daemon(t, Options{Latest: snapshot, Act: func(loop.ActRequest) (loop.Answer, error) {
		return loop.Answer{}, errors.New("no tick for 2 s")
	}})
	ctx := context.Background()
	for _, try := range []struct {
		r   status.Request
		say string
	}{
		{status.Request{Station: "east", Act: "present"}, "write one of north, south"},
		{status.Request{Station: "north", Act: "sleep"}, "write one of acknowledge"},
		{status.Request{Station: "north", Act: "present"}, "look at soakwarden status before you try again"},
	} {
		if _, err := c.Act(ctx, try.r); err == nil || !strings.Contains(err.Error(), try.say) {
			t.Errorf("%+v: %v", try.r, err)
		}
	}
	if _, err := c.Note(ctx, Remark{Text: "fed"}); err == nil || !strings.Contains(err.Error(), "nothing was written") {
		t.Errorf("a remark without a journal: %v", err)
	}
	if err := c.Off(ctx); err == nil {
		t.Error("off without a hand for it did not fail")
	}
	if s, err := c.Status(ctx); err != nil || len(s.Stations) != 2 {
		t.Errorf("%+v, %v", s, err)
	}
}

func TestStartingAndNobody(t *testing.T) {
	c := daemon(t, Options{Latest: func() *loop.Snapshot { return nil }})
	if _, err := c.Status(context.Background()); err == nil || !strings.Contains(err.Error(), "starting") {
		t.Errorf("before the first tick: %v", err)
	}
	if _, err := c.Act(context.Background(), status.Request{Station: "n", Act: "present"}); err == nil || !strings.Contains(err.Error(), "starting") {
		t.Errorf("an act before the first tick: %v", err)
	}
	nobody := NewClient(filepath.Join(t.TempDir(), "s"))
	_, err := nobody.Status(context.Background())
	if !errors.Is(err, ErrNoDaemon) || !strings.Contains(err.Error(), "start soakwarden run") || strings.Contains(err.Error(), "http://") {
		t.Errorf("nobody there: %v", err)
	}
}

func TestRemarkIsOnDiskBeforeTheAnswer(t *testing.T) {
	var got Remark
	full := error(nil)
	c := daemon(t, Options{Latest: snapshot, Note: func(_ context.Context, n Remark) error { got = n; return full }})
	if r, err := c.Note(context.Background(), Remark{Station: "north", Who: "keeper on duty", Text: " shed its skin \n"}); err != nil || !r.Done || got.Text != "shed its skin" {
		t.Errorf("%+v, %v, %+v", r, err, got)
	}
	full = errors.New("no space left")
	if _, err := c.Note(context.Background(), Remark{Text: "x"}); err == nil || !strings.Contains(err.Error(), "not on disk") {
		t.Errorf("a full card: %v", err)
	}
	for _, n := range []Remark{{}, {Text: strings.Repeat("x", maxRemark+1)}, {Text: "x", Station: "east"}, {Text: "x", Who: strings.Repeat("w", 81)}, {Text: "a\x1b[2Jb"}, {Text: "x", Who: "a\nb"}, {Text: "a\u202eb"}} {
		if _, err := c.Note(context.Background(), n); err == nil || strings.Contains(err.Error(), "not on disk") {
			t.Errorf("a bad remark: %v", err)
		}
	}
}

func TestSocketFile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "state", "s")
	l, err := Listen(path)
	if err != nil {
		t.Fatal(err)
	}
	info, err := os.Stat(path)
	if err != nil || info.Mode().Perm() != 0o660 {
		t.Errorf("mode %v, %v", info.Mode(), err)
	}
	if _, err := Listen(path); err == nil || !strings.Contains(err.Error(), "another daemon answers") {
		t.Errorf("a second daemon: %v", err)
	}
	// A killed daemon leaves its file behind.
	l.(*net.UnixListener).SetUnlinkOnClose(false)
	l.Close()
	again, err := Listen(path)
	if err != nil {
		t.Fatalf("the socket of a killed daemon was not taken over: %v", err)
	}
	again.Close()
	if err := os.WriteFile(path, []byte("precious"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := Listen(path); err == nil || !strings.Contains(err.Error(), "no socket") {
		t.Errorf("a file that is no socket: %v", err)
	}
	if data, _ := os.ReadFile(path); string(data) != "precious" {
		t.Error("a file that is no socket was removed")
	}
	if _, err := Listen("/" + strings.Repeat("x", 108)); err == nil || !strings.Contains(err.Error(), "choose a shorter one") {
		t.Errorf("a path too long: %v", err)
	}
}

func TestAnotherProgramsSocket(t *testing.T) {
	path := filepath.Join(t.TempDir(), "s")
	l, err := net.Listen("unix", path)
	if err != nil {
		t.Fatal(err)
	}
	s := &http.Server{Handler: http.NotFoundHandler(), ReadHeaderTimeout: time.Second}
	go s.Serve(l)
	defer s.Close()
	if _, err := NewClient(path).Status(context.Background()); err == nil || !strings.Contains(err.Error(), "another program") {
		t.Errorf("%v", err)
	}
}

func FuzzRequest(f *testing.F) {
	for _, s := range []string{
		`{"station":"north","act":"present"}`, `{"station":"north","act":"reset","cause":"no rise","seen":["pad"]}`,
		`{"station":"north","act":"present"} {}`, `{"station":"north","act":"present","place":2}`, `[]`, `null`, ``, `{"station":1}`,
	} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, body string) {
		acts := 0
		h := Handler(Options{Latest: snapshot, Act: func(r loop.ActRequest) (loop.Answer, error) {
			acts++
			if r.Act.Place != controller.Board || r.Act.Kind == controller.NoAct {
				t.Errorf("%q was handed on as %+v", body, r)
			}
			return loop.Answer{Done: true}, nil
		}})
		w := httptest.NewRecorder()
		h.ServeHTTP(w, httptest.NewRequest("POST", "/act", strings.NewReader(body)))
		if (w.Code == http.StatusOK) != (acts == 1) {
			t.Errorf("%q: %d and %d acts", body, w.Code, acts)
		}
	})
}

// A panic in what answers must not be swallowed by the server: the daemon's
// guard stands around every path and decides.
func TestGuardSeesAPanic(t *testing.T) {
	var seen any
	h := Handler(Options{
		Latest: snapshot, Act: func(loop.ActRequest) (loop.Answer, error) { panic("act") },
		Treat: http.HandlerFunc(func(http.ResponseWriter, *http.Request) { panic("treat") }),
		Guard: func(next http.Handler) http.Handler {
			return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
				defer func() { seen = recover() }()
				next.ServeHTTP(w, r)
			})
		},
	})
	for path, want := range map[string]string{"/act": "act", "/treat/list": "treat"} {
		seen = nil
		body := strings.NewReader(`{"station":"north","act":"present"}`)
		h.ServeHTTP(httptest.NewRecorder(), httptest.NewRequest(http.MethodPost, path, body))
		if seen != want {
			t.Errorf("%s: the guard saw %v", path, seen)
		}
	}
}
