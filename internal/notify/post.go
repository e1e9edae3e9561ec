package notify

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"os"
	"strings"
)

// host is all of an address that is ever printed.
func host(address string) string {
	u, err := url.Parse(address)
	if err != nil || u.Host == "" {
		return "an address that cannot be read"
	}
	return u.Host
}

// bare takes the address out of an error of net/http.
func bare(err error) error {
	var u *url.Error
	if errors.As(err, &u) {
		return u.Err
	}
	return err
}

// post sends one message, one try.
func (l *lane) post(ctx context.Context, m Message) error {
	body, err := json.Marshal(m)
	if err != nil {
		return fmt.Errorf("encode the message: %w", err)
	}
	ctx, cancel := context.WithTimeout(ctx, l.target.Timeout)
	defer cancel()
	req, err := http.NewRequestWithContext(ctx, http.MethodPost, l.target.URL, bytes.NewReader(body))
	if err != nil {
		return fmt.Errorf("the address of %s cannot be used: %w", l.target.Name, bare(err))
	}
	req.Header.Set("Content-Type", "application/json")
	req.Header.Set("User-Agent", "soakwarden")
	if l.target.TokenFile != "" {
		token, err := readToken(l.target.TokenFile)
		if err != nil {
			return err
		}
		req.Header.Set("Authorization", "Bearer "+token)
	}
	return fetch(l.client, req)
}

// fetch does a request and takes only a 2xx for an answer.
func fetch(client *http.Client, req *http.Request) error {
	res, err := client.Do(req)
	if err != nil {
		return fmt.Errorf("%s: %w", req.URL.Host, bare(err))
	}
	_, _ = io.CopyN(io.Discard, res.Body, 4096) // what it says is of no interest
	_ = res.Body.Close()
	switch {
	case res.StatusCode >= 200 && res.StatusCode < 300:
		return nil
	case res.StatusCode >= 300 && res.StatusCode < 400:
		return fmt.Errorf("%s answers %s and sends elsewhere: write the address it sends to", req.URL.Host, res.Status)
	}
	return fmt.Errorf("%s answers %s", req.URL.Host, res.Status)
}

// readToken reads the first line of a small file.
func readToken(path string) (string, error) {
	f, err := os.Open(path)
	if err != nil {
		return "", fmt.Errorf("read the token: %w", err)
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, 8192))
	if err != nil {
		return "", fmt.Errorf("read the token: %w", err)
	}
	line, _, _ := strings.Cut(string(data), "\n")
	if line = strings.TrimSpace(line); line == "" {
		return "", fmt.Errorf("read the token: the first line of %s is empty", path)
	}
	return line, nil
}
