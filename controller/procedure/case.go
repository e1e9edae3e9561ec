package procedure

import (
	"time"

	"periph.io/x/conn/v3/physic"
)

// Animal is who the case is about.
type Animal struct {
	Label   string             `json:"label"`
	Species string             `json:"species"` // group, as the configuration names it
	Lower   physic.Temperature `json:"lower"`   // published clinical zone of the group
	Upper   physic.Temperature `json:"upper"`
	Before  int                `json:"mass_before_g"` // 0 when not weighed
	After   int                `json:"mass_after_g"`
	State   string             `json:"condition"`
	Place   string             `json:"place"` // where it is now, empty when nobody said
}

// Seen is one look of the follow-up that was done.
type Seen struct {
	Day   int `json:"day"` // after the treatment
	Mites int `json:"mites"`
}

// Pause is why a case waits for a person. The zero value is no pause.
type Pause uint8

// The pauses.
const (
	NoPause   Pause = iota
	AskOutage       // an outage of unknown length: a person says how long it was
	AskRound        // heat was away for long: a round says how the animal is
	AskRest         // the animal was in water past its limit: out, dry rest
	AskBox          // the box may have cooled: a person says its temperature
	pauseCount
)

// Say is what a paused case asks for; it begins with a verb.
func (p Pause) Say() string {
	switch p {
	case AskOutage:
		return "Look at the animal. Then say how long the power was off (outage), or that nobody knows."
	case AskRound:
		return "Look at the animal and feel the water: the heat was off. Then do a round (round)."
	case AskRest:
		return "Lift the snake out. Dry box. It may have been in water too long (rest)."
	case AskBox:
		return "Feel the dry box: is it warm, dry and dark? Then write its temperature (box)."
	}
	return ""
}

// state is everything that a case must not forget.
type state struct {
	ID       string                `json:"id"`
	Station  string                `json:"station"`
	Animal   Animal                `json:"animal"`
	Plan     Plan                  `json:"plan"`
	Answers  [QuestionCount]Answer `json:"answers"`
	Vet      string                `json:"veterinarian"` // what was said, when anything was answered with yes
	Verdict  string                `json:"size"`         // of the heat budget at the start
	Stage    Stage                 `json:"stage"`
	Back     Stage                 `json:"back"` // where attended returns to
	Pause    Pause                 `json:"pause"`
	Age      time.Duration         `json:"age"`   // since it began, as far as known
	In       time.Duration         `json:"in"`    // in the stage
	Wet      time.Duration         `json:"wet"`   // the animal in water, unbroken
	Soak     time.Duration         `json:"soak"`  // since the first soak water
	Water    time.Duration         `json:"water"` // age of the water
	Round    time.Duration         `json:"round"` // since the last round
	Plain    time.Duration         `json:"plain"` // the animal in this plain water
	IsIn     bool                  `json:"in_tub"`
	Changed  bool                  `json:"changed"`   // the water, in this attended stage
	SoakMade bool                  `json:"soak_made"` // soak water, in this attended stage
	Soaks    int                   `json:"soaks"`     // begun
	Box      physic.Temperature    `json:"box"`
	Room     physic.Temperature    `json:"room"` // where it lives after the return
	Treated  string                `json:"treated"`
	Items    []Item                `json:"items"`
	Looks    []Seen                `json:"looks"`
	// A state of before there were records of chemicals stays canonical.
	Chemicals []Chemical `json:"chemicals,omitempty"`
}

// Case is one animal on its way. The zero value is no case.
type Case struct{ s state }

// View is a copy of what a person may want to know of a case.
type View struct {
	ID, Station string
	Animal      Animal
	Plan        Plan
	Answers     [QuestionCount]Answer
	Vet         string
	Verdict     string
	Stage, Back Stage
	Pause       Pause
	Age, In     time.Duration
	Wet, Soak   time.Duration
	Water       time.Duration
	Round       time.Duration
	Plain       time.Duration
	InTub       bool
	Soaks       int
	Box, Room   physic.Temperature
	Treated     string
	Items       []Item
	Looks       []Seen
	Chemicals   []Chemical
}

// View gives the view.
func (c *Case) View() View {
	s := &c.s
	return View{
		ID: s.ID, Station: s.Station, Animal: s.Animal, Plan: s.Plan, Answers: s.Answers, Vet: s.Vet, Verdict: s.Verdict,
		Stage: s.Stage, Back: s.Back, Pause: s.Pause, Age: s.Age, In: s.In, Wet: s.Wet, Soak: s.Soak, Water: s.Water,
		Round: s.Round, Plain: s.Plain, InTub: s.IsIn, Soaks: s.Soaks, Box: s.Box, Room: s.Room, Treated: s.Treated,
		Items: append([]Item(nil), s.Items...), Looks: append([]Seen(nil), s.Looks...),
		Chemicals: append([]Chemical(nil), s.Chemicals...),
	}
}

// ID is the number of the case.
func (c *Case) ID() string { return c.s.ID }

// Tub is the name of the case's station.
func (c *Case) Tub() string { return c.s.Station }

// Stage is where the case stands.
func (c *Case) Stage() Stage { return c.s.Stage }

// Pass lets time go by with the program running. A paused case gets older, and
// so do its limits; nothing is credited to it.
func (c *Case) Pass(d time.Duration) {
	s := &c.s
	if d <= 0 || s.Stage == NoStage || s.Stage.Over() {
		return
	}
	s.Age += d
	s.Round += d
	if s.Stage.AtTub() {
		s.Water += d
	}
	if s.IsIn {
		s.Wet += d
	}
	if s.Pause != NoPause {
		return
	}
	s.In += d
	if s.Soaks > 0 && (s.Stage.AtTub() || s.Stage == DryRest) {
		s.Soak += d
	}
	if s.Stage == Drinking {
		s.Plain += d
	}
}

// Station is what the program sees of the case's station.
type Station struct {
	Ready   bool // in band for ten minutes, the probes agreeing
	Tripped bool // a latch is held
	MayBeIn bool // an animal is in the tub, or nobody has said that none is
}

// See lets the case follow its station. It says whether the stage changed.
func (c *Case) See(now Station) bool {
	good := now.Ready && !now.Tripped
	switch {
	case c.s.Pause != NoPause:
		return false
	case c.s.Stage == Filling && good:
		c.enter(Ready)
	case c.s.Stage == Ready && !good:
		c.enter(Filling)
	default:
		return false
	}
	return true
}

func (c *Case) enter(s Stage) { c.s.Stage, c.s.In = s, 0 }

// no makes a refusal.
func (c *Case) no(o Order, why, instead string) error {
	return &Refusal{Order: o, Stage: c.s.Stage, Why: why, Instead: instead}
}

// text says whether a name is one: not empty, not too long.
func text(s string) bool { return s != "" && len([]rune(s)) <= 80 }
