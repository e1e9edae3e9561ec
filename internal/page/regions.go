package page

import (
	"bytes"
	"fmt"
	"hash/maphash"
	"strconv"
	"strings"
	"time"

	"soakwarden/internal/status"
)

// region is one part of the sheet that is replaced when it changes.
type region struct {
	id      string
	station int // −1: not of a station
	trend   bool
	html    string
	sum     uint64
}

var regionSeed = maphash.MakeSeed()

// regions renders every part of the sheet once, for all browsers that chose
// these units. wanted says which stations somebody looks at.
//
// old are trends that were rendered before; one is taken again as long as it
// has no new sample. It may be nil.
func (f *frame) regions(u status.Units, wanted func(station int) bool, old trends) ([]region, error) {
	if f.snap == nil {
		return nil, nil
	}
	var out []region
	var failed error
	add := func(id, template string, station int, view any) {
		var b bytes.Buffer
		if err := templates.ExecuteTemplate(&b, template, view); err != nil {
			failed = fmt.Errorf("region %s: %w", id, err)
			return
		}
		out = append(out, region{id: id, station: station, trend: template == "trend", html: b.String(), sum: maphash.Bytes(regionSeed, b.Bytes())})
	}
	list := make([]stationView, 0, len(f.snap.Stations))
	for i := range f.snap.Stations {
		s := f.station(i, u)
		list = append(list, s)
		if !wanted(i) {
			continue
		}
		f.draw(&s, i, u)
		for _, part := range [...]struct{ id, template string }{
			{"-head", "station"}, {"-alarms", "alarms"}, {"-case", "case"}, {"-drawing", "drawing"},
			{"-parts", "parts"}, {"-acts", "acts"},
		} {
			add(s.ID+part.id, part.template, i, s)
		}
		of, newest := trendOf{u, i}, f.newest(i)
		if kept, ok := old[of]; ok && kept.newest == newest && newest != 0 {
			out = append(out, kept.region)
			continue
		}
		f.drawTrend(&s, i, u)
		add(s.ID+"-trend", "trend", i, s)
		if old != nil && failed == nil {
			old[of] = keptTrend{newest, out[len(out)-1]}
		}
	}
	add("list", "list", -1, list)
	if f.demo != nil {
		add("demo", "demo", -1, f.demo)
	}
	add("title", "title", -1, f.title())
	return out, failed
}

// trends are rendered trends by station and units.
type trends map[trendOf]keptTrend

type trendOf struct {
	units   status.Units
	station int
}

type keptTrend struct {
	newest time.Duration
	region region
}

// newest is the moment of the newest sample of a station, zero for none.
func (f *frame) newest(i int) time.Duration {
	if i >= len(f.samples) || len(f.samples[i]) == 0 {
		return 0
	}
	return f.samples[i][len(f.samples[i])-1].at
}

// parseOnly reads which station a browser looks at, −1 for all.
func parseOnly(s string, count int) (int, error) {
	if s == "" {
		return -1, nil
	}
	only, err := strconv.Atoi(strings.TrimSpace(s))
	if err != nil || only < -1 || only >= count {
		return 0, fmt.Errorf("station %q: write a number from -1 to %d", s, count-1)
	}
	return only, nil
}
