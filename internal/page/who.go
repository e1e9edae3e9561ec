package page

import (
	"net/http"
	"net/url"
	"strings"

	"soakwarden/internal/status"
)

// A phone belongs to a person: the name that was written on it once stands in
// the journal behind everything that is tapped on it. It proves nothing.
const whoCookie = "soakwarden-who"

// who is the name that stands in the form, else the one that this browser was
// told before.
func who(r *http.Request, form url.Values) string {
	if name := strings.TrimSpace(form.Get("who")); name != "" {
		return name
	}
	c, err := r.Cookie(whoCookie)
	if err != nil {
		return ""
	}
	name, err := url.QueryUnescape(c.Value)
	if err != nil || status.CheckText("who", name, status.MaxWho) != nil {
		return ""
	}
	return name
}

// postWho remembers the name in the browser; an empty one is forgotten.
func (p *Page) postWho(w http.ResponseWriter, r *http.Request) {
	form, ok := p.form(w, r)
	if !ok {
		return
	}
	name := strings.TrimSpace(form.Get("who"))
	if err := status.CheckText("the name", name, status.MaxWho); err != nil {
		p.messageBack(w, p.frame(), http.StatusBadRequest, "Nothing was done: "+err.Error()+".", "/cases")
		return
	}
	age := 90 * 24 * 3600
	if name == "" {
		age = -1
	}
	http.SetCookie(w, &http.Cookie{
		Name: whoCookie, Value: url.QueryEscape(name), Path: "/", MaxAge: age, HttpOnly: true, SameSite: http.SameSiteStrictMode,
	})
	http.Redirect(w, r, "/cases", http.StatusSeeOther)
}
