package procedure

import (
	"fmt"
	"time"

	"periph.io/x/conn/v3/physic"
)

// Request is one order with what it needs. Times are the caller's.
type Request struct {
	Order Order
	Now   time.Time // wall clock; the zero value is a clock that nobody trusts
	At    time.Time // of a round that was done earlier; zero is now

	// Begin.
	ID, Station string
	Animal      Animal
	Plan        Plan
	Answers     [QuestionCount]Answer
	Vet         string // the veterinarian's answer, when anything is yes
	Occupied    string // the case whose animal has this tub already
	Verdict     string // of the heat budget
	AlwaysSeen  bool   // the station heats only while a person is present

	Seen      Station            // the station as it is now
	Value     physic.Temperature // of the box or the room
	Grams     int
	Words     string // condition, place, reason
	Who       string
	Item      string
	Way       Way
	Enclosure bool
	Record    string
	Passed    bool // the record is known as passed and released
	Round     Round
	Mites     int
	Date      time.Time // of a return or a look; zero is today
	Off       time.Duration
	Unknown   bool // nobody knows how long the power was off
	Hurry     bool // lifted out at once: the box's temperature comes later
}

// may says in which stages an order is in order.
var may = [orderCount][]Stage{
	Begin:       {NoStage, Stopped, Cleared},
	PutIn:       {Ready},
	Open:        {Filling, Ready, Drinking, Soaking},
	MoreTime:    {Attended},
	Change:      {Attended},
	Detergent:   {Attended},
	Close:       {Attended},
	LiftOut:     {Ready, Drinking, Soaking, Attended},
	Box:         {DryRest},
	Fill:        {DryRest},
	DoRinse:     {DryRest, Drinking, Soaking, Attended, Ready},
	Paper:       {Rinse},
	Return:      {OnPaper},
	Look:        {OnPaper, Watch},
	Clear:       {Watch},
	Again:       {OnPaper, Watch},
	DoRound:     {Ready, Drinking, Soaking, Attended, DryRest, Rinse, OnPaper, Watch, Filling},
	Outage:      {Filling, Ready, Drinking, Soaking, Attended, DryRest, Rinse, OnPaper, Watch},
	Weigh:       {Filling, Ready, Attended, DryRest, Rinse, OnPaper, Watch, Cleared},
	Place:       {Filling, Ready, Rinse, OnPaper, DryRest, Watch},
	Furnish:     {Filling, Ready, Drinking, Soaking, Attended, DryRest, Rinse, OnPaper},
	Treat:       {Filling, Ready, Drinking, Soaking, Attended, DryRest, Rinse, OnPaper},
	Seal:        {Filling, Ready, Drinking, Soaking, Attended, DryRest, Rinse, OnPaper},
	Unseal:      {Filling, Ready, Drinking, Soaking, Attended, DryRest, Rinse, OnPaper},
	UseChemical: {Filling, Ready, Drinking, Soaking, Attended, DryRest, Rinse, OnPaper, Watch},
	Air:         {Filling, Ready, Drinking, Soaking, Attended, DryRest, Rinse, OnPaper, Watch},
	Heat:        {Filling, Ready, Drinking, Soaking},
	Stop:        {Filling, Ready, Drinking, Soaking, Attended, DryRest, Rinse, OnPaper, Watch},
}

// allowed says whether a stage takes an order.
func (c *Case) allowed(o Order) bool {
	for _, s := range may[o] {
		if s == c.s.Stage {
			return true
		}
	}
	return false
}

// goesOn are the orders that a paused case takes: those that answer it, and
// those that take the animal out of danger.
func (c *Case) goesOn(o Order) bool {
	switch o {
	case LiftOut, Stop, Place, Weigh, Open, Close, MoreTime:
		return true
	case Outage:
		return c.s.Pause == AskOutage
	case DoRound:
		return c.s.Pause == AskRound
	case Box:
		return c.s.Pause == AskBox
	}
	return false
}

// Do carries out an order, or refuses it with a *Refusal that says what to do
// instead and changes nothing. The answer is what the station must be told, in
// this order.
func (c *Case) Do(r Request) ([]Tell, error) {
	if r.Order == NoOrder || r.Order >= orderCount {
		return nil, c.no(NoOrder, "there is no such order", "write one that the stage takes: "+c.s.Stage.Rule().Next)
	}
	switch {
	case !c.allowed(r.Order):
		return nil, c.no(r.Order, "it is not its turn", instead(r.Order, c.s.Stage))
	case r.Order == Outage && c.s.Pause != AskOutage:
		return nil, c.no(r.Order, "nothing is asked about an outage", "the case goes on; next: "+c.s.Stage.Rule().Next)
	case c.s.Pause != NoPause && !c.goesOn(r.Order):
		return nil, c.no(r.Order, "the case is paused", c.s.Pause.Say())
	}
	switch r.Order {
	case Begin:
		return c.begin(&r)
	case Furnish, Treat, Seal, Unseal:
		return c.furnishing(&r)
	case UseChemical, Air:
		return c.chemical(&r)
	case DoRound:
		return c.round(&r)
	case Outage:
		return c.outage(&r)
	case Return, Look, Clear, Again:
		return c.watch(&r)
	case Weigh, Place, Stop:
		return c.note(&r)
	}
	return c.atTub(&r)
}

// begin asks what must be asked.
func (c *Case) begin(r *Request) ([]Tell, error) {
	no := func(why, instead string) ([]Tell, error) { return nil, c.no(Begin, why, instead) }
	plan := r.Plan.For(r.Answers)
	switch {
	case !text(r.ID) || !text(r.Station):
		return no("case or station has no name", "write both, at most 80 characters")
	case !text(r.Animal.Label):
		return no("the animal has no label", "write its label as it stands on its enclosure")
	case r.Animal.Upper <= r.Animal.Lower || r.Animal.Lower < modelColdest || r.Animal.Upper > degreesC(36):
		return no("the species group has no published zone", "write a group of the configuration: python, boa, colubrid …")
	case r.Occupied != "":
		return no("the tub belongs to "+r.Occupied, "one animal a tub, always: use another tub, or end that case first")
	}
	if r.Seen.MayBeIn {
		return no("an animal is in this tub, or nobody has said that none is", "look; lift it out and say so (animal-out), and begin with an empty tub")
	}
	if err := r.Plan.check(); err != nil {
		return no(err.Error(), "write a time within the bounds")
	}
	for q := range r.Answers {
		switch {
		case r.Answers[q] == Unanswered:
			return no("not answered: "+asked[q].Text, "answer every question: --asked when all were asked, and --yes with those that are so")
		case r.Answers[q] == Yes && !text(r.Vet):
			return no(asked[q].Text+" yes", asked[q].Follow+" Then write who said what (--vet)")
		}
	}
	switch {
	case r.Answers[FedLately] == Yes:
		return no("it was fed within two days", asked[FedLately].Follow)
	case r.Verdict == "":
		return no("the heat budget of the station is not known", "run soakwarden size on the configuration")
	case r.Verdict == "dangerous" && !r.AlwaysSeen:
		return no("the heat budget says that this pad is dangerous", "use the pad that soakwarden size advises, or write attended_only = true for the station and stay with it")
	case plan.AttendedOnly && !r.AlwaysSeen:
		return no("this animal must never be alone in the water", "write attended_only = true for the station")
	}
	c.s = state{
		ID: r.ID, Station: r.Station, Animal: r.Animal, Plan: plan, Answers: r.Answers, Vet: r.Vet, Verdict: r.Verdict, Stage: Filling,
	}
	return []Tell{TellInService, TellFill, TellOut, TellPresent}, nil
}

// boxFits says whether a box suits the animal.
func (c *Case) boxFits(o Order, t physic.Temperature) error {
	a := &c.s.Animal
	switch {
	case t == 0:
		return c.no(o, "the temperature of the dry box is not given", "measure it with a second thermometer and write it, --box 27C or --box 81F")
	case t < a.Lower || t > a.Upper:
		return c.no(o, fmt.Sprintf("a box of %s does not suit the animal", both(t)),
			fmt.Sprintf("bring a warm, dry, dark box, not heated by this station, to %s to %s and put the animal in there", both(a.Lower), both(a.Upper)))
	}
	return nil
}

// atTub carries out the orders at the tub.
func (c *Case) atTub(r *Request) ([]Tell, error) {
	s := &c.s
	switch r.Order {
	case PutIn:
		if !r.Seen.Ready || r.Seen.Tripped {
			return nil, c.no(PutIn, "the tub is not ready now", instead(PutIn, Filling))
		}
		if k, yes := c.unaired(true); yes {
			return nil, c.no(PutIn, k.reeks(), airIt)
		}
		c.enter(Drinking)
		s.IsIn, s.Wet, s.Plain, s.Round, s.Animal.Place = true, 0, 0, 0, ""
		return []Tell{TellIn, TellPresent}, nil
	case Open:
		s.Back, s.Changed, s.SoakMade = s.Stage, false, false
		c.enter(Attended)
		return []Tell{TellAttended}, nil
	case MoreTime:
		return []Tell{TellExtend}, nil
	case Change:
		s.Changed, s.SoakMade, s.Water, s.Plain = true, false, 0, 0
		return []Tell{TellWaterChanged}, nil
	case Detergent:
		switch {
		case !s.IsIn:
			return nil, c.no(Detergent, "no animal is in", "plain water for drinking comes before every soak water: done, animal-in, 30 min, then detergent")
		case s.Plain < s.Plan.Plain:
			return nil, c.no(Detergent, "it had plain water for "+Clock(s.Plain)+" of "+Clock(s.Plan.Plain), "close the tub (done) and wait another "+Clock(s.Plan.Plain-s.Plain))
		case r.Seen.Tripped:
			return nil, c.no(Detergent, "the station has tripped", "look at what tripped, lift the animal out, reset at the board")
		}
		s.SoakMade = true
		return nil, nil
	case Close:
		return c.shut(), nil
	case LiftOut:
		return c.liftOut(r)
	case Box:
		if err := c.boxFits(Box, r.Value); err != nil {
			return nil, err
		}
		s.Box, s.Round = r.Value, 0
		c.answered(AskBox)
		return nil, nil
	case Fill:
		if s.In < s.Plan.Rest {
			return nil, c.no(Fill, "it has rested for "+Clock(s.In)+" of "+Clock(s.Plan.Rest), "let it rest for another "+Clock(s.Plan.Rest-s.In)+", with drinking water")
		}
		c.enter(Filling)
		s.Water, s.Plain = 0, 0
		return []Tell{TellInService, TellWaterChanged, TellFill, TellPresent}, nil
	case DoRinse:
		if s.Soak < s.Plan.Soak && !text(r.Words) {
			return nil, c.no(DoRinse, "the soak has run for "+Clock(s.Soak)+" of "+Clock(s.Plan.Soak), "go on, or say why it ends early (--why)")
		}
		from := s.Stage
		c.dry(Rinse)
		switch from {
		case DryRest:
			return nil, nil
		case Attended:
			return []Tell{TellOut, TellDone, TellOutOfService}, nil
		}
		return []Tell{TellOut, TellOutOfService}, nil
	case Paper:
		c.enter(OnPaper)
		s.Animal.Place = "on paper, in a bare box"
		return nil, nil
	}
	return []Tell{TellInService}, nil // Heat, in a stage that heats
}

// shut ends the attended stage.
func (c *Case) shut() []Tell {
	s := &c.s
	to := s.Back
	switch {
	case s.SoakMade:
		to = Soaking
		if s.Soaks == 0 {
			s.Soaks = 1
		}
	case s.Changed && to.InWater():
		to = Drinking // new plain water: time to drink before the next soak water
	case s.Changed:
		to = Filling
	}
	c.enter(to)
	s.Back = NoStage
	return []Tell{TellDone}
}

// liftOut begins a dry rest.
func (c *Case) liftOut(r *Request) ([]Tell, error) {
	if !c.s.IsIn {
		return nil, c.no(LiftOut, "the animal is not in the tub", "write where it is (place)")
	}
	hurry := r.Hurry && r.Value == 0
	if err := c.boxFits(LiftOut, r.Value); err != nil && !hurry {
		return nil, err
	}
	open := c.s.Stage == Attended
	c.dry(DryRest)
	c.s.Box, c.s.Animal.Place = r.Value, "in the dry box"
	if hurry {
		c.s.Pause = AskBox
	}
	tells := []Tell{TellOut, TellOutOfService}
	if open {
		tells = []Tell{TellOut, TellDone, TellOutOfService}
	}
	return tells, nil
}

// dry takes the animal out of the water.
func (c *Case) dry(to Stage) {
	s := &c.s
	c.enter(to)
	s.IsIn, s.Wet, s.Plain, s.Water, s.Back, s.Pause, s.Round = false, 0, 0, 0, NoStage, NoPause, 0
	s.Changed, s.SoakMade = false, false
}

func degreesC(t int64) physic.Temperature {
	return physic.ZeroCelsius + physic.Temperature(t)*physic.Celsius
}

func both(t physic.Temperature) string {
	return fmt.Sprintf("%.1f °C / %.1f °F", celsius(t), fahrenheit(t))
}
