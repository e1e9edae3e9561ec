package page

import (
	"crypto/rand"
	"crypto/subtle"
	"net"
	"net/http"
	"net/netip"
	"os"
	"strings"
)

// policy forbids everything that the page does not need. Scripts and styles
// come from its own files only; nothing may frame it.
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; " +
	"connect-src 'self'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'"

// maxForm is the most that a form may hold, in bytes.
const maxForm = 16 << 10

// guard stands before every request: headers, and the name it was asked under.
type guard struct {
	next  http.Handler
	hosts map[string]bool
}

// newGuard accepts addresses, localhost, this computer's name (also with
// .local) and the given names. Another name means that somebody's page makes
// the browser believe this computer is theirs (DNS rebinding).
func newGuard(next http.Handler, extra []string) *guard {
	g := &guard{next: next, hosts: map[string]bool{"localhost": true}}
	if name, err := os.Hostname(); err == nil {
		name = strings.ToLower(name)
		g.hosts[name], g.hosts[name+".local"] = true, true
	}
	for _, name := range extra {
		g.hosts[strings.ToLower(name)] = true
	}
	return g
}

func (g *guard) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	h := w.Header()
	h.Set("Content-Security-Policy", policy)
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("Referrer-Policy", "no-referrer")
	h.Set("Cross-Origin-Opener-Policy", "same-origin")
	h.Set("Cross-Origin-Resource-Policy", "same-origin")
	h.Set("Cache-Control", "no-store")
	if !g.known(r.Host) {
		http.Error(w, "this page is not served under that name; ask for it by address or add the name to the configuration", http.StatusMisdirectedRequest)
		return
	}
	g.next.ServeHTTP(w, r)
}

func (g *guard) known(host string) bool {
	if name, _, err := net.SplitHostPort(host); err == nil {
		host = name
	}
	host = strings.ToLower(strings.Trim(host, "[]"))
	if _, err := netip.ParseAddr(host); err == nil {
		return true
	}
	return g.hosts[host]
}

// newToken makes the token that every form of this run carries. A page of an
// earlier run has another one, and is told to reload.
func newToken() string { return rand.Text() }

// tokenIs compares in constant time.
func tokenIs(want, got string) bool {
	return subtle.ConstantTimeCompare([]byte(want), []byte(got)) == 1
}
