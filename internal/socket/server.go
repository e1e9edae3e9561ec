package socket

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"time"

	"soakwarden/controller"
	"soakwarden/internal/casebook"
	"soakwarden/internal/loop"
	"soakwarden/internal/status"
)

// Bounds of what comes through the socket.
const (
	maxBody    = 16 << 10 // bytes of a request
	maxRemark  = 2000     // runes of a remark
	readWithin = 5 * time.Second
)

// Options is what the socket serves. Latest is required.
type Options struct {
	// Latest returns the newest snapshot, nil before the first tick.
	Latest func() *loop.Snapshot
	// Act hands an act to the loop and waits for its answer.
	Act func(loop.ActRequest) (loop.Answer, error)
	// Cases takes orders of the procedure. Nil: there are none.
	Cases Cases
	// Treat answers under /treat/. Nil: there are no treatments.
	Treat http.Handler
	// Note writes a remark into the journal and returns once it is on disk.
	// Nil: remarks are refused.
	Note func(ctx context.Context, n Remark) error
	// Off opens every relay and ends the daemon. Nil: refused.
	Off func(ctx context.Context) error
	// Guard stands around everything that answers, so that a panic there is not
	// swallowed. Nil: nothing does.
	Guard func(http.Handler) http.Handler
}

// Cases is the book of the running cases.
type Cases interface {
	Do(ctx context.Context, w casebook.Words, place controller.Place) (casebook.Reply, error)
	List() []casebook.Line
}

// Remark is a free text for the journal.
type Remark struct {
	Station string `json:"station"` // empty: about the whole bench
	Who     string `json:"who"`
	Text    string `json:"text"`
}

// Reply answers an act, a remark or off.
type Reply struct {
	Done    bool   `json:"done"`
	Refused string `json:"refused,omitempty"` // why not, and what to do instead
	Next    string `json:"next,omitempty"`    // what comes next in the case, a line for each thing
}

// problem is the body of an answer that is an error.
type problem struct {
	Error string `json:"error"`
}

// Handler answers what comes through the socket: GET /status, POST /act,
// GET /cases, POST /case, POST /note, POST /off.
func Handler(opt Options) http.Handler {
	h := handler{opt}
	mux := http.NewServeMux()
	mux.HandleFunc("GET /status", h.status)
	mux.HandleFunc("POST /act", h.act)
	mux.HandleFunc("GET /cases", h.cases)
	mux.HandleFunc("POST /case", h.order)
	mux.HandleFunc("POST /note", h.note)
	mux.HandleFunc("POST /off", h.off)
	if opt.Treat != nil {
		mux.Handle("/treat/", opt.Treat)
	}
	if opt.Guard != nil {
		return opt.Guard(mux)
	}
	return mux
}

type handler struct{ opt Options }

func (h handler) status(w http.ResponseWriter, r *http.Request) {
	s := h.opt.Latest()
	if s == nil {
		fail(w, http.StatusServiceUnavailable, errStarting)
		return
	}
	answer(w, status.Of(s))
}

var errStarting = errors.New("starting: no tick was run yet; ask again in a moment")

func (h handler) act(w http.ResponseWriter, r *http.Request) {
	var req status.Request
	if err := read(w, r, &req); err != nil {
		fail(w, http.StatusBadRequest, err)
		return
	}
	act, err := req.Parse(controller.Board)
	if err != nil {
		fail(w, http.StatusBadRequest, err)
		return
	}
	s := h.opt.Latest()
	switch {
	case s == nil:
		fail(w, http.StatusServiceUnavailable, errStarting)
		return
	case h.opt.Act == nil:
		fail(w, http.StatusNotImplemented, errors.New("this daemon takes no acts"))
		return
	}
	if err := known(s, act.Station); err != nil {
		fail(w, http.StatusNotFound, err)
		return
	}
	got, err := h.opt.Act(act)
	if err != nil {
		fail(w, http.StatusServiceUnavailable, fmt.Errorf("it is not known whether this was done: %w; look at soakwarden status before you try again", err))
		return
	}
	reply := Reply{Done: got.Done, Next: got.Next}
	if !got.Done {
		reply.Refused = got.Why
		if reply.Refused == "" {
			reply.Refused = status.RefusalWord(got.Refusal)
		}
		if reply.Refused == "" {
			reply.Refused = "no reason was given"
		}
	}
	answer(w, reply)
}

var errNoCases = errors.New("this daemon leads no cases")

func (h handler) cases(w http.ResponseWriter, r *http.Request) {
	if h.opt.Cases == nil {
		fail(w, http.StatusNotImplemented, errNoCases)
		return
	}
	answer(w, h.opt.Cases.List())
}

func (h handler) order(w http.ResponseWriter, r *http.Request) {
	var words casebook.Words
	if err := read(w, r, &words); err != nil {
		fail(w, http.StatusBadRequest, err)
		return
	}
	if h.opt.Cases == nil {
		fail(w, http.StatusNotImplemented, errNoCases)
		return
	}
	reply, err := h.opt.Cases.Do(r.Context(), words, controller.Board)
	if errors.Is(err, casebook.ErrNotOnDisk) {
		fail(w, http.StatusInternalServerError, fmt.Errorf("%s %w: look at the card", reply.Says, err))
		return
	}
	if err != nil {
		fail(w, http.StatusBadRequest, err)
		return
	}
	answer(w, reply)
}

func (h handler) note(w http.ResponseWriter, r *http.Request) {
	var n Remark
	if err := read(w, r, &n); err != nil {
		fail(w, http.StatusBadRequest, err)
		return
	}
	n.Text, n.Who = strings.TrimSpace(n.Text), strings.TrimSpace(n.Who)
	// A remark may have lines and tabs; nothing in it may steer the screen or the
	// sheet on which it is read.
	plain := strings.NewReplacer("\n", " ", "\t", " ").Replace(n.Text)
	bad := errors.Join(status.CheckText("the remark", plain, maxRemark), status.CheckText("who", n.Who, status.MaxWho))
	switch {
	case n.Text == "":
		fail(w, http.StatusBadRequest, errors.New("the remark is empty: write a text"))
		return
	case bad != nil:
		fail(w, http.StatusBadRequest, bad)
		return
	case h.opt.Note == nil:
		fail(w, http.StatusNotImplemented, errors.New("this daemon keeps no journal: nothing was written"))
		return
	}
	if n.Station != "" {
		s := h.opt.Latest()
		if s == nil {
			fail(w, http.StatusServiceUnavailable, errStarting)
			return
		}
		if err := known(s, n.Station); err != nil {
			fail(w, http.StatusNotFound, err)
			return
		}
	}
	if err := h.opt.Note(r.Context(), n); err != nil {
		fail(w, http.StatusInternalServerError, fmt.Errorf("the remark is not on disk: %w", err))
		return
	}
	answer(w, Reply{Done: true})
}

func (h handler) off(w http.ResponseWriter, r *http.Request) {
	if h.opt.Off == nil {
		fail(w, http.StatusNotImplemented, errors.New("this daemon cannot be ended through its socket"))
		return
	}
	if err := h.opt.Off(r.Context()); err != nil {
		fail(w, http.StatusInternalServerError, fmt.Errorf("not every relay is off: %w", err))
		return
	}
	answer(w, Reply{Done: true})
}

// known says which stations there are when one is not.
func known(s *loop.Snapshot, name string) error {
	var names []string
	for i := range s.Stations {
		if s.Stations[i].Name == name {
			return nil
		}
		names = append(names, s.Stations[i].Name)
	}
	return fmt.Errorf("there is no station %q: write one of %s", name, strings.Join(names, ", "))
}

// read takes one JSON object without unknown keys and nothing after it.
func read(w http.ResponseWriter, r *http.Request, into any) error {
	d := json.NewDecoder(http.MaxBytesReader(w, r.Body, maxBody))
	d.DisallowUnknownFields()
	if err := d.Decode(into); err != nil {
		return fmt.Errorf("the request could not be read: %w", err)
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return errors.New("the request could not be read: something stands after it")
	}
	return nil
}

func answer(w http.ResponseWriter, v any) {
	data, err := json.Marshal(v)
	if err != nil {
		fail(w, http.StatusInternalServerError, fmt.Errorf("writing the answer: %w", err))
		return
	}
	w.Header().Set("Content-Type", "application/json")
	w.Write(append(data, '\n'))
}

func fail(w http.ResponseWriter, code int, err error) {
	data, _ := json.Marshal(problem{err.Error()}) // a string always has a JSON form
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(code)
	w.Write(append(data, '\n'))
}

// Listen makes the socket at path with mode 0660. A socket file that nobody
// answers on is taken over; one that is answered is an error, and so is a file
// that is no socket.
func Listen(path string) (net.Listener, error) {
	if len(path) > maxPath {
		return nil, fmt.Errorf("socket %s: the path has %d bytes and a socket's may have %d: choose a shorter one", path, len(path), maxPath)
	}
	if info, err := os.Lstat(path); err == nil {
		if info.Mode()&os.ModeSocket == 0 {
			return nil, fmt.Errorf("socket %s: a file that is no socket is in its place; remove it or choose another path", path)
		}
		if c, err := net.DialTimeout("unix", path, time.Second); err == nil {
			c.Close()
			return nil, fmt.Errorf("socket %s: another daemon answers on it; stop that one first", path)
		}
		if err := os.Remove(path); err != nil {
			return nil, fmt.Errorf("removing the socket of an earlier run: %w", err)
		}
	}
	if err := os.MkdirAll(filepath.Dir(path), 0o750); err != nil {
		return nil, fmt.Errorf("folder of the socket: %w", err)
	}
	l, err := net.Listen("unix", path)
	if err != nil {
		return nil, fmt.Errorf("socket: %w", err)
	}
	if err := os.Chmod(path, 0o660); err != nil {
		l.Close()
		return nil, fmt.Errorf("rights of the socket: %w", err)
	}
	return l, nil
}

// maxPath is what fits into a sockaddr_un of Linux with its closing zero.
const maxPath = 107

// Serve answers on l until ctx ends, then removes the socket.
func Serve(ctx context.Context, l net.Listener, opt Options) error {
	s := &http.Server{Handler: Handler(opt), ReadTimeout: readWithin, MaxHeaderBytes: 8 << 10}
	ended := make(chan error, 1)
	go func() { ended <- s.Serve(l) }()
	select {
	case err := <-ended:
		return fmt.Errorf("serving the socket: %w", err)
	case <-ctx.Done():
	}
	grace, cancel := context.WithTimeout(context.Background(), readWithin)
	defer cancel()
	err := s.Shutdown(grace)
	<-ended
	if err != nil {
		s.Close()
		return fmt.Errorf("ending the socket: %w", err)
	}
	return nil
}
