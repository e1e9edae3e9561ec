package page

import "soakwarden/controller/procedure"

// ordersView are the orders that a page offers for a case: the round, those
// that need nothing but a tap, and those that need one answer.
type ordersView struct {
	ID     string // prefix of its fields
	Case   string
	Back   string // the page that it stands on
	Token  string
	Sitter bool
	Steps  []stepView
	Asks   []askView
	Checks []seenView // of a round
}

// stepView is an order that needs nothing but a tap; Field has a value already.
type stepView struct{ Order, Words, Field, Value string }

// askView is an order that needs one answer.
type askView struct {
	Order, Field, Label, Words string
	Most                       int
}

// ordersOf fills in the orders of a stage, the next ones and not every one that
// it takes.
func ordersOf(stage string, paused bool, o ordersView) ordersView {
	o.Steps, o.Asks = stepsOf(stage)
	if paused {
		o.Asks = append(o.Asks, askView{"outage", "off", "how long the power was off: 30m, 5h, 2d, or unknown", "The power was off so long", 20})
	}
	for check := range procedure.CheckCount {
		s := procedure.Check(check).See()
		o.Checks = append(o.Checks, seenView{s.Word, s.Text})
	}
	return o
}

// stepsOf are the orders that are offered in a stage; the simple acts at the tub
// stand below them for every station.
func stepsOf(stage string) ([]stepView, []askView) {
	const warm = "temperature of the dry box, with its unit (27C or 81F)"
	rest := askView{"rest", "box", warm, "The animal is in its dry box", 20}
	rinse := askView{"rinse", "why", "why the soak ends early (empty when its time is over)", "Rinsed and looked over: the soak is over", 500}
	lid := stepView{Order: "attended", Words: "Lid comes off: attended (unplug before you reach in)"}
	switch stage {
	case procedure.Filling.String():
		return []stepView{lid}, nil
	case procedure.Ready.String():
		return []stepView{{Order: "animal-in", Words: "The animal is in, alone, in plain water"}, lid}, nil
	case procedure.Drinking.String(), procedure.Soaking.String():
		return []stepView{lid}, []askView{rest, rinse}
	case procedure.Attended.String():
		return []stepView{
				{Order: "detergent", Words: "Soak water was made"},
				{Order: "done", Words: "Lid is on, hands are out: done"}, {Order: "extend", Words: "I need more time"},
			}, []askView{
				{"water-changed", "water", "temperature of the new water, with its unit (26C or 79F; may stay empty)", "The water was changed", 12}, rest, rinse,
			}
	case procedure.DryRest.String():
		return []stepView{{Order: "fill", Words: "The tub is filled again with plain water"}},
			[]askView{{"box", "box", warm, "The dry box has this now", 20}, rinse}
	case procedure.Rinse.String():
		return []stepView{{Order: "paper", Words: "Back on paper"}}, nil
	case procedure.OnPaper.String():
		return []stepView{{"look", "I looked: no mite", "mites", "0"}},
			[]askView{
				{"look", "mites", "mites seen", "I looked and counted these", 6},
				{"return", "room", "temperature of the animal's room, with its unit (27C or 80F)", "Furnishings and animal are back in the treated enclosure", 20},
			}
	case procedure.Watch.String():
		return []stepView{{"look", "I looked: no mite", "mites", "0"}, {Order: "clear", Words: "All-clear"}},
			[]askView{{"look", "mites", "mites seen", "I looked and counted these", 6}}
	}
	return nil, nil
}
