package procedure

// Stage is where a case stands. The zero value is no case.
type Stage uint8

// The stages, in their usual order.
const (
	NoStage  Stage = iota
	Filling        // filling and warming
	Ready          // in band, no animal in
	Drinking       // animal in plain water
	Soaking        // animal in soak water
	Attended       // lid off, hands in: both relays open
	DryRest        // animal in a second warm, dry, dark box; the tub is drained
	Rinse          // rinsed with plain lukewarm water and looked over
	OnPaper        // back on paper in a bare box, its furnishings being treated
	Watch          // back in its treated enclosure, looked at on the days of the follow-up
	Cleared        // nothing was seen until the earliest all-clear
	Stopped        // ended by a person before its end
	stageCount
)

// StageRule is what a stage is: the row that page, wall sheet and messages show.
type StageRule struct {
	Name     string
	Checks   string // what the program looks at
	Confirms string // what the keeper says
	Lasts    string
	Next     string // and with which order
	Stops    string // what ends it early
}

// Rule is the row of a stage.
func (s Stage) Rule() StageRule { return stageRules[min(s, stageCount-1)] }

// String is the stage's name.
func (s Stage) String() string { return s.Rule().Name }

// InWater says whether the animal lies in water in that stage.
func (s Stage) InWater() bool { return s == Drinking || s == Soaking }

// AtTub says whether the stage needs a tub that holds water.
func (s Stage) AtTub() bool { return s >= Filling && s <= Attended }

// Over says that the case takes no more orders.
func (s Stage) Over() bool { return s == Cleared || s == Stopped }

// The table is written once and never changed.
var stageRules = [stageCount]StageRule{
	NoStage: {Name: "no case", Next: "begin a case (begin)"},
	Filling: {
		Name: "filling and warming", Checks: "in band for ten minutes, both probes agreeing", Confirms: "plain water, depth half the height of the resting animal",
		Lasts: "until ready", Next: "ready, by itself", Stops: "a trip",
	},
	Ready: {
		Name: "ready", Checks: "still in band, nothing tripped", Confirms: "the animal goes in, alone (animal-in)",
		Lasts: "until the animal is in", Next: "drinking", Stops: "a trip or a cooling tub: filling and warming again",
	},
	Drinking: {
		Name: "drinking", Checks: "time in plain water", Confirms: "soak water made with the lid off (attended, detergent, done)",
		Lasts: "30 min of plain water at least", Next: "soaking", Stops: "an alarm, anything wrong with the animal (rest)",
	},
	Soaking: {
		Name: "soaking", Checks: "band, level, time in water, age of the water, time since the round", Confirms: "rounds; water changes (attended, water-changed, done)",
		Lasts: "at most 24 h unbroken", Next: "dry rest (rest), then again; rinse at the end", Stops: "an alarm, anything wrong with the animal (rest), vent or breathing (veterinarian)",
	},
	Attended: {
		Name: "attended", Checks: "both relays open, 30 min and two extensions", Confirms: "unplugged; lid on and hands out (done)",
		Lasts: "minutes", Next: "back to the stage before; plain water after a change", Stops: "the alarm attended too long",
	},
	DryRest: {
		Name: "dry rest", Checks: "the tub does not heat; time since the animal came out", Confirms: "box warm, dry, dark, not heated by this station, its temperature; drinking water offered, no food",
		Lasts: "the planned rest at least", Next: "fill again (fill) or rinse (rinse)", Stops: "a box that is too cold or too warm",
	},
	Rinse: {
		Name: "rinse", Checks: "the tub does not heat", Confirms: "rinsed in plain lukewarm water, looked over, weighed",
		Lasts: "minutes", Next: "back on paper (paper)", Stops: "anything wrong with the animal",
	},
	OnPaper: {
		Name: "back on paper", Checks: "whether every furnishing is treated, sealed and labelled", Confirms: "paper changed daily, drinking water clean, room temperature",
		Lasts: "until everything is treated and released", Next: "return (return)", Stops: "mites seen: a new soak (again)",
	},
	Watch: {
		Name: "watch", Checks: "the days of the follow-up", Confirms: "looks, with the mites counted (look)",
		Lasts: "until the earliest all-clear", Next: "cleared (clear)", Stops: "mites seen: a new soak (again)",
	},
	Cleared: {Name: "cleared", Next: "nothing; keep looking as everybody does"},
	Stopped: {Name: "stopped", Next: "a new case (begin)"},
}

// Order is what a keeper says.
type Order uint8

// The orders.
const (
	NoOrder     Order = iota
	Begin             // a case
	PutIn             // the animal is in the tub
	Open              // the lid comes off: attended
	MoreTime          // attended goes on
	Change            // the water was changed, in attended
	Detergent         // soak water was made, in attended
	Close             // lid on, hands out
	LiftOut           // the animal is in the dry box
	Box               // the box's temperature, during a dry rest
	Fill              // the tub is filled again with plain water
	DoRinse           // rinse and look over
	Paper             // back on paper
	Return            // furnishings and animal back in the enclosure
	Look              // on a day of the follow-up
	Clear             // all-clear
	Again             // mites were seen: a new soak
	DoRound           // a round with its list
	Outage            // how long the power was off
	Weigh             // mass, condition
	Place             // where the animal is now
	Furnish           // name a furnishing and what will be done with it
	Treat             // a furnishing passed its treatment and was released
	Seal              // it is sealed and labelled with the record's number
	Unseal            // it was opened, or its label is gone
	UseChemical       // a product was used somewhere: a record
	Air               // the place is aired
	Heat              // somebody asks for heat outside the stages
	Stop              // end the case
	orderCount
)

// orderWords are the words on command line and page.
var orderWords = [orderCount]string{
	"", "begin", "animal-in", "attended", "extend", "water-changed", "detergent", "done", "rest", "box", "fill",
	"rinse", "paper", "return", "look", "clear", "again", "round", "outage", "weigh", "place",
	"furnish", "treated", "sealed", "opened", "chemical", "aired", "in-service", "stop",
}

// String is the order's word.
func (o Order) String() string { return orderWords[min(o, orderCount-1)] }

// Orders lists every order.
func Orders() []Order {
	var all []Order
	for o := Begin; o < orderCount; o++ {
		all = append(all, o)
	}
	return all
}

// OrderOf finds an order by its word; NoOrder when there is none.
func OrderOf(word string) Order {
	for o := Begin; o < orderCount; o++ {
		if orderWords[o] == word {
			return o
		}
	}
	return NoOrder
}

// Tell is what the station must be told because of an order, in order.
type Tell uint8

// What a station is told.
const (
	TellNothing Tell = iota
	TellAttended
	TellExtend
	TellDone
	TellWaterChanged
	TellFill
	TellIn
	TellOut
	TellPresent
	TellOutOfService
	TellInService
)

// Refusal is an order that is not in order now, and what to do instead.
type Refusal struct {
	Order   Order
	Stage   Stage
	Why     string
	Instead string
}

func (r *Refusal) Error() string {
	where := ""
	if r.Stage != NoStage {
		where = " in the stage " + r.Stage.String()
	}
	return "refused, nothing was done: " + r.Order.String() + where + ": " + r.Why + "; instead: " + r.Instead
}
