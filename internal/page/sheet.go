package page

import (
	"bytes"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"html/template"
	"io/fs"
	"net/http"
	"net/url"
	"strconv"

	"soakwarden/internal/loop"
	"soakwarden/internal/status"
)

//go:embed assets
var assets embed.FS

var templates = template.Must(template.ParseFS(assets, "assets/*.html"))

// manyStations is how many stations one sheet still draws; past it the sheet
// is a list and every station has its own.
const manyStations = 12

// sheetView is a whole page.
type sheetView struct {
	Heading   string // of the browser's tab: alarms first
	Name      string
	Key       string // changes when the page must be loaded anew
	Stream    string // where its events come from
	Live      bool
	One       bool // the sheet of one station
	Invented  bool
	Speed     string
	Said      string
	UnitLinks []unitLink
	List      []stationView
	Stations  []stationView
	Demo      *demoView
	Title     titleView
	HasCases  bool
}

// unitLink is one choice of units.
type unitLink struct {
	URL, Word string
	Chosen    bool
}

// demoView is the chooser of faults.
type demoView struct {
	Token  string
	Kinds  []FaultKind
	Active []string
}

func (p *Page) serveSheet(w http.ResponseWriter, r *http.Request) {
	f := p.frame()
	if f.snap == nil {
		p.starting(w)
		return
	}
	only := -1
	if name := r.PathValue("name"); name != "" {
		if only = stationIndex(f.snap, name); only < 0 {
			p.message(w, f, http.StatusNotFound, "There is no station of that name.")
			return
		}
	}
	u := p.units(w, r)
	v := sheetView{
		Heading: f.snap.Name, Name: f.snap.Name, Key: f.key(p.token), Live: f.live, One: only >= 0,
		Said: saidWord(r), Title: f.title(), HasCases: f.cases, Invented: f.snap.Demo,
		Stream: "/events?" + url.Values{"units": {unitsWord(u)}, "station": {strconv.Itoa(only)}}.Encode(),
	}
	v.Speed = v.Title.Speed
	for _, choice := range [...]struct {
		u    status.Units
		word string
	}{{status.Both, "°C and °F"}, {status.Celsius, "°C"}, {status.Fahrenheit, "°F"}} {
		v.UnitLinks = append(v.UnitLinks, unitLink{
			URL: r.URL.EscapedPath() + "?units=" + unitsWord(choice.u), Word: choice.word, Chosen: choice.u == u,
		})
	}
	for i := range f.snap.Stations {
		s := f.station(i, u)
		v.List = append(v.List, s)
		if drawn(only, i, len(f.snap.Stations)) {
			f.draw(&s, i, u)
			f.drawTrend(&s, i, u)
			v.Stations = append(v.Stations, s)
		}
	}
	if only < 0 {
		v.Demo = f.demo
	}
	render(w, http.StatusOK, "sheet", v)
}

// drawn says whether station i is drawn on the sheet of only (−1: of all).
func drawn(only, i, count int) bool {
	return only == i || only < 0 && count <= manyStations
}

// key changes with the program's run, its configuration and its stations: a
// page of another key is loaded anew.
func (f *frame) key(token string) string {
	h := sha256.New()
	for _, s := range []string{token, f.snap.Version, f.snap.Config} {
		h.Write([]byte(s + "\x00"))
	}
	for i := range f.snap.Stations {
		h.Write([]byte(f.snap.Stations[i].Name + "\x00"))
	}
	return hex.EncodeToString(h.Sum(nil)[:8])
}

// units is what the browser chose, by the address and from then on by cookie.
func (p *Page) units(w http.ResponseWriter, r *http.Request) status.Units {
	const name = "soakwarden-units"
	if q := r.URL.Query().Get("units"); q != "" {
		if u, err := status.ParseUnits(q); err == nil {
			http.SetCookie(w, &http.Cookie{
				Name: name, Value: unitsWord(u), Path: "/", MaxAge: 365 * 24 * 3600,
				HttpOnly: true, SameSite: http.SameSiteStrictMode,
			})
			return u
		}
	}
	if c, err := r.Cookie(name); err == nil {
		if u, err := status.ParseUnits(c.Value); err == nil {
			return u
		}
	}
	return p.opt.Units
}

func unitsWord(u status.Units) string {
	if u == status.Both {
		return "both"
	}
	return string(u)
}

func stationPath(name string) string { return "/station/" + url.PathEscape(name) }

func stationIndex(s *loop.Snapshot, name string) int {
	for i := range s.Stations {
		if s.Stations[i].Name == name {
			return i
		}
	}
	return -1
}

// starting answers before the first tick.
func (p *Page) starting(w http.ResponseWriter) {
	w.Header().Set("Retry-After", "2")
	w.Header().Set("Refresh", "2")
	http.Error(w, "starting: no tick was run yet, nothing is heated", http.StatusServiceUnavailable)
}

// messageView is a page with one sentence.
type messageView struct {
	Heading, Name, Key, Stream, Text, Back string
	Live                                   bool
}

func (p *Page) message(w http.ResponseWriter, f *frame, code int, text string) {
	p.messageBack(w, f, code, text, "/")
}

// messageBack says where the person came from.
func (p *Page) messageBack(w http.ResponseWriter, f *frame, code int, text, back string) {
	name := "soakwarden"
	if f.snap != nil {
		name = f.snap.Name
	}
	render(w, code, "message", messageView{Heading: name, Name: name, Text: text, Back: back})
}

// render writes a page whole or not at all.
func render(w http.ResponseWriter, code int, name string, view any) {
	var b bytes.Buffer
	if err := templates.ExecuteTemplate(&b, name, view); err != nil {
		http.Error(w, "the page could not be drawn: "+err.Error(), http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(code)
	w.Write(b.Bytes())
}

// assetHandler serves style sheet, script and mark from the program itself.
func assetHandler() http.Handler {
	sub, err := fs.Sub(assets, "assets")
	if err != nil {
		panic(err) // the folder is embedded: only a broken build gets here
	}
	files := http.StripPrefix("/assets/", http.FileServerFS(sub))
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		switch r.URL.Path {
		case "/assets/sheet.css", "/assets/sheet.js", "/assets/mark.svg":
			w.Header().Set("Cache-Control", "no-cache")
			files.ServeHTTP(w, r)
		default:
			http.NotFound(w, r)
		}
	})
}
