package casebook

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"soakwarden/controller"
	"soakwarden/controller/procedure"
	"soakwarden/internal/loop"
	"soakwarden/internal/status"
)

// Reply is what became of an order.
type Reply struct {
	Done    bool     `json:"done"`
	Refused string   `json:"refused,omitempty"` // why not, and what to do instead
	Case    string   `json:"case,omitempty"`
	Stage   string   `json:"stage,omitempty"`
	Says    string   `json:"says,omitempty"`
	Do      []string `json:"do,omitempty"` // what to do now, most urgent first
}

func refused(format string, args ...any) Reply {
	return Reply{Refused: fmt.Sprintf(format, args...)}
}

// ErrNotOnDisk is wrapped by Do when an order was done and its record is not
// known to be on disk.
var ErrNotOnDisk = errors.New("it was done, and is not known to be on disk")

// Do carries out an order. An error says that the words could not be read or
// that nobody knows what became of it; a refusal is a Reply.
func (b *Book) Do(ctx context.Context, w Words, place controller.Place) (Reply, error) {
	req, err := w.parse()
	if err != nil {
		return Reply{}, err
	}
	reply, receipts, err := b.do(w, req, place)
	if err != nil {
		return Reply{}, err
	}
	// Nothing is held while the card is waited for: one that hangs must not keep
	// the next person from saying that the lid is off.
	for _, receipt := range receipts {
		select {
		case <-receipt.Done():
			if err := receipt.Err(); err != nil {
				return reply, fmt.Errorf("%w: %w", ErrNotOnDisk, err)
			}
		case <-ctx.Done():
			return reply, fmt.Errorf("%w: %w", ErrNotOnDisk, ctx.Err())
		}
	}
	return reply, nil
}

func (b *Book) do(w Words, req procedure.Request, place controller.Place) (Reply, []Receipt, error) {
	b.orders.Lock()
	defer b.orders.Unlock()
	if b.isTub(w.Case) && req.Order == procedure.Begin {
		req.Verdict = b.budget(w.Case).Verdict
	}
	b.mu.Lock()
	r, trial, err := b.try(&w, &req)
	b.mu.Unlock()
	if err != nil {
		return refused("%v", err), nil, nil
	}
	tells, err := trial.Do(req)
	if err != nil {
		return refused("%v", err), nil, nil
	}
	station := trial.Tub()
	if no, err := b.tell(tells, station, &w, place); err != nil || no != "" {
		return refused("%s", no), nil, err
	}
	reply, receipts, err := b.take(r, &w, &req, place)
	if err != nil {
		return refused("%v", err), nil, nil
	}
	return reply, receipts, nil
}

// take lets the case itself take the order: time has gone on since the trial.
func (b *Book) take(r *running, w *Words, req *procedure.Request, place controller.Place) (Reply, []Receipt, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if _, err := r.c.Do(*req); err != nil {
		return Reply{}, nil, err
	}
	if req.Order == procedure.Begin {
		b.cases = append(b.cases, r)
	}
	b.ring(r, true)
	says := sentence(&r.c, req, w)
	doc := b.write(r, entryOf{
		Order: req.Order.String(), Who: w.Who, Why: w.Why, Where: placeWord(place), Says: says, Words: w,
	})
	state := b.save(r)
	reply := Reply{Done: true, Case: r.c.ID(), Stage: r.c.Stage().String(), Says: says, Do: b.next(r)}
	first := req.Round.Advice()
	switch req.Order {
	case procedure.UseChemical:
		first = procedure.Cautions()
	case procedure.Begin, procedure.Fill, procedure.Again:
		first = procedure.Filled()
	}
	reply.Do = append(first, reply.Do...)
	return reply, []Receipt{doc, state}, nil
}

// try finds the case and fills in what the book knows. The lock is held.
func (b *Book) try(w *Words, req *procedure.Request) (*running, *procedure.Case, error) {
	now := b.o.Moment()
	if now.Trusted {
		req.Now = now.Wall.In(b.o.Zone)
	}
	if req.Order == procedure.Begin {
		return b.fresh(w, req)
	}
	r, err := b.find(w.Case)
	if err != nil {
		return nil, nil, err
	}
	if v := b.view(r.c.Tub()); v != nil {
		req.Seen = seen(v)
	}
	if other := b.at(r.c.Tub()); other != nil && other != r {
		req.Occupied = other.c.ID()
	}
	req.Passed = b.o.Released != nil && req.Record != "" && b.o.Released(req.Record)
	trial := new(procedure.Case)
	return r, trial, trial.Restore(r.c.Save())
}

func (b *Book) view(station string) *loop.StationView {
	snap := b.o.Latest()
	if snap == nil {
		return nil
	}
	return stationView(snap, station)
}

func (b *Book) isTub(name string) bool {
	for _, t := range b.o.Tubs {
		if t.Name == name {
			return true
		}
	}
	return false
}

// fresh prepares a case that begins.
func (b *Book) fresh(w *Words, req *procedure.Request) (*running, *procedure.Case, error) {
	for _, t := range b.o.Tubs {
		if t.Name != w.Case {
			continue
		}
		n := 1
		for _, r := range b.cases {
			if r.c.Tub() == t.Name {
				n = max(n, r.n+1)
			}
		}
		if r := b.at(t.Name); r != nil {
			req.Occupied = r.c.ID()
		}
		lower, _ := procedure.LowerOf(t.Species)
		req.ID, req.Station = fmt.Sprintf("%s-%d", t.Name, n), t.Name
		req.Animal = procedure.Animal{Label: w.Animal, Species: t.Species, Lower: lower, Upper: t.Upper}
		req.AlwaysSeen = t.AlwaysSeen
		if v := b.view(t.Name); v != nil {
			req.Seen = seen(v)
		}
		return &running{n: n, saved: b.heard}, new(procedure.Case), nil
	}
	var names []string
	for _, t := range b.o.Tubs {
		names = append(names, t.Name)
	}
	return nil, nil, fmt.Errorf("there is no tub %q: write one of %v", w.Case, names)
}

// acts are what a station is told, as the loop takes it. Already says that the
// station may have been told before, so that its refusal is no news.
var acts = map[procedure.Tell]struct {
	kind    controller.ActKind
	already bool
}{
	procedure.TellAttended:     {controller.BeginAttended, true},
	procedure.TellExtend:       {controller.ExtendAttended, false},
	procedure.TellDone:         {controller.EndAttended, true},
	procedure.TellWaterChanged: {controller.WaterChanged, false},
	procedure.TellFill:         {controller.ConfirmFill, false},
	procedure.TellIn:           {controller.AnimalIn, false},
	procedure.TellOut:          {controller.AnimalOut, false},
	procedure.TellPresent:      {controller.Presence, false},
	procedure.TellOutOfService: {controller.TakeOutOfService, true},
	procedure.TellInService:    {controller.PutInService, true},
}

// leaves are what a station is told that lets go of it: a case whose tub was
// taken out of the configuration can still be ended.
var leaves = map[procedure.Tell]bool{
	procedure.TellDone: true, procedure.TellOut: true, procedure.TellOutOfService: true, procedure.TellPresent: true,
}

// gone says whether the bench runs without a tub of that name.
func (b *Book) gone(station string) bool {
	snap := b.o.Latest()
	return snap != nil && stationView(snap, station) == nil
}

// tell tells the station. It returns why the station refused, empty when it did
// not.
func (b *Book) tell(tells []procedure.Tell, station string, w *Words, place controller.Place) (string, error) {
	if b.gone(station) {
		for _, t := range tells {
			if !leaves[t] {
				return "the configuration has no tub " + station + " any more: put it back, or lift the animal out (rest) and end the case (stop)", nil
			}
		}
		return "", nil
	}
	for _, t := range tells {
		a := acts[t]
		act := controller.Act{Kind: a.kind, Place: place}
		if a.kind == controller.WaterChanged && w.Water != "" && w.Order == procedure.Change.String() {
			v, err := status.ParseTemperature(w.Water)
			if err != nil {
				return "", err
			}
			act.Value = v
		}
		answer, err := b.o.Act(loop.ActRequest{Station: station, Act: act, Who: w.Who, Why: w.Why})
		switch {
		case err != nil:
			return "", fmt.Errorf("it is not known whether the station was told (%s): %w; look at soakwarden status before you try again", status.ActWord(a.kind), err)
		case !answer.Done && !(a.already && answer.Refusal == controller.NotNow):
			return "the station refuses " + status.ActWord(a.kind) + ": " + status.RefusalWord(answer.Refusal), nil
		}
	}
	return "", nil
}

// Act takes an act for a station: where a case has the tub, the acts that move
// the case go through it, and all others straight to the loop. It is a drop-in
// for the loop's own.
func (b *Book) Act(a loop.ActRequest) (loop.Answer, error) {
	if a.About != "" {
		return b.acknowledge(a), nil
	}
	order, moves := moved[a.Act.Kind]
	b.mu.Lock()
	r := b.at(a.Station)
	v := b.view(a.Station)
	open := r != nil && r.c.Stage() == procedure.Attended
	b.mu.Unlock()
	if !moves || r == nil {
		return b.o.Act(a)
	}
	if order == procedure.Close && !open && v != nil && v.Attended {
		return b.o.Act(a) // the station is open although the case is not: hands come first
	}
	w := Words{Case: a.Station, Order: order.String(), Who: a.Who, Why: a.Why}
	if a.Act.Value != 0 {
		w.Water = fmt.Sprintf("%.3fC", status.DegreesC(a.Act.Value))
	}
	// Like any act of the loop it does not wait for the card.
	reply, _, err := b.do(w, procedure.Request{Order: order, Hurry: true}, a.Act.Place)
	if order == procedure.Open && err == nil && !reply.Done {
		return b.o.Act(a) // the lid comes off whatever the case says: both relays open
	}
	if err != nil {
		return loop.Answer{}, err
	}
	return loop.Answer{Done: reply.Done, Why: reply.Refused, Next: strings.Join(reply.Do, "\n")}, nil
}

// moved are the acts that move a case.
var moved = map[controller.ActKind]procedure.Order{
	controller.BeginAttended:  procedure.Open,
	controller.ExtendAttended: procedure.MoreTime,
	controller.EndAttended:    procedure.Close,
	controller.WaterChanged:   procedure.Change,
	controller.AnimalIn:       procedure.PutIn,
	controller.AnimalOut:      procedure.LiftOut,
	controller.PutInService:   procedure.Heat,
}

func placeWord(p controller.Place) string {
	switch p {
	case controller.Board:
		return "board"
	case controller.Page:
		return "page"
	}
	return ""
}
