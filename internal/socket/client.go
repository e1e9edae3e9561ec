package socket

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"time"

	"soakwarden/internal/casebook"
	"soakwarden/internal/status"
)

// DefaultPath is where the socket is when neither a configuration nor a flag
// says otherwise.
const DefaultPath = "/var/lib/soakwarden/socket"

// ErrNoDaemon is returned when nobody answers on the socket.
var ErrNoDaemon = errors.New("no daemon answers")

// askWithin bounds a whole exchange: an act waits for a tick, a remark for the
// disk.
const askWithin = 10 * time.Second

// maxAnswer is the most that a client reads: two hundred stations need a tenth
// of it.
const maxAnswer = 16 << 20

// Client speaks to a daemon through its socket.
type Client struct {
	path string
	http http.Client
}

// NewClient makes a client of the socket at path. It does not connect yet.
func NewClient(path string) *Client {
	c := &Client{path: path}
	c.http = http.Client{
		Timeout: askWithin,
		Transport: &http.Transport{
			DisableKeepAlives: true,
			DialContext: func(ctx context.Context, _, _ string) (net.Conn, error) {
				var d net.Dialer
				conn, err := d.DialContext(ctx, "unix", path)
				if err != nil {
					return nil, fmt.Errorf("%w on %s (%w): start soakwarden run, or name the right socket with --socket", ErrNoDaemon, path, err)
				}
				return conn, nil
			},
		},
	}
	return c
}

// Status asks for the status.
func (c *Client) Status(ctx context.Context) (status.Status, error) {
	var s status.Status
	err := c.ask(ctx, http.MethodGet, "/status", nil, &s)
	return s, err
}

// Act asks for an act and returns what became of it.
func (c *Client) Act(ctx context.Context, r status.Request) (Reply, error) {
	return c.post(ctx, "/act", r)
}

// Order gives a case an order. What was refused is in the reply.
func (c *Client) Order(ctx context.Context, w casebook.Words) (casebook.Reply, error) {
	var r casebook.Reply
	data, err := json.Marshal(w)
	if err != nil {
		return r, fmt.Errorf("writing the order: %w", err)
	}
	err = c.ask(ctx, http.MethodPost, "/case", data, &r)
	return r, err
}

// Cases lists the cases.
func (c *Client) Cases(ctx context.Context) ([]casebook.Line, error) {
	var all []casebook.Line
	err := c.ask(ctx, http.MethodGet, "/cases", nil, &all)
	return all, err
}

// Note writes a remark into the journal. It returns once it is on disk.
func (c *Client) Note(ctx context.Context, n Remark) (Reply, error) {
	return c.post(ctx, "/note", n)
}

// Off asks the daemon to open every relay and end.
func (c *Client) Off(ctx context.Context) error {
	_, err := c.post(ctx, "/off", struct{}{})
	return err
}

func (c *Client) post(ctx context.Context, path string, body any) (Reply, error) {
	var r Reply
	data, err := json.Marshal(body)
	if err != nil {
		return r, fmt.Errorf("writing the request: %w", err)
	}
	err = c.ask(ctx, http.MethodPost, path, data, &r)
	return r, err
}

// Ask sends a request to a path of the socket and reads the answer into into.
// A nil body asks by GET. The error of the daemon comes back as it was written.
func (c *Client) Ask(ctx context.Context, path string, body, into any) error {
	if body == nil {
		return c.ask(ctx, http.MethodGet, path, nil, into)
	}
	data, err := json.Marshal(body)
	if err != nil {
		return fmt.Errorf("writing the request: %w", err)
	}
	return c.ask(ctx, http.MethodPost, path, data, into)
}

func (c *Client) ask(ctx context.Context, method, path string, body []byte, into any) error {
	req, err := http.NewRequestWithContext(ctx, method, "http://board"+path, bytes.NewReader(body))
	if err != nil {
		return fmt.Errorf("asking the daemon: %w", err)
	}
	res, err := c.http.Do(req)
	if err != nil {
		if errors.Is(err, ErrNoDaemon) {
			var inner interface{ Unwrap() error }
			if errors.As(err, &inner) {
				return inner.Unwrap() // without the address that only we gave it
			}
		}
		return fmt.Errorf("asking the daemon on %s: %w", c.path, err)
	}
	defer res.Body.Close()
	data, err := io.ReadAll(io.LimitReader(res.Body, maxAnswer))
	if err != nil {
		return fmt.Errorf("reading the daemon's answer: %w", err)
	}
	if res.StatusCode != http.StatusOK {
		var p problem
		if json.Unmarshal(data, &p) == nil && p.Error != "" {
			return errors.New(p.Error)
		}
		return fmt.Errorf("the daemon on %s answers %s: is it another program's socket?", c.path, res.Status)
	}
	if err := json.Unmarshal(data, into); err != nil {
		return fmt.Errorf("the daemon's answer could not be read: %w", err)
	}
	return nil
}
