package procedure

import (
	"slices"
	"strings"
)

// Neighbour is one enclosure of a room, for the order of work.
type Neighbour struct {
	Name     string
	Infested bool // a case runs, or mites were seen
	Arrived  int  // days ago that its animal came into quarantine; 0 is today
	Settled  bool // not in quarantine
}

// Work gives the order in which a room is worked: settled and clean first, then
// quarantine from the longest to the newest, infested last, the newest of them
// at the very end.
func Work(room []Neighbour) []Neighbour {
	rank := func(n Neighbour) int {
		switch {
		case n.Infested:
			return 2
		case n.Settled:
			return 0
		}
		return 1
	}
	out := slices.Clone(room)
	slices.SortStableFunc(out, func(a, b Neighbour) int {
		if d := rank(a) - rank(b); d != 0 {
			return d
		}
		if d := b.Arrived - a.Arrived; d != 0 {
			return d
		}
		return strings.Compare(a.Name, b.Name)
	})
	return out
}

// Advice is one piece of the order of work.
type Advice struct {
	What string `json:"what"`
	How  string `json:"how"`
}

// RoomAdvice is how a room with mites is worked. Common practice, no published
// source, unless a source is named; local rules and the veterinarian come
// first.
func RoomAdvice() []Advice {
	return []Advice{
		{"order", "Clean before infested, newest quarantine last. Nothing goes back the other way on that day."},
		{"hands", "Wash hands and forearms between animals; change gloves; clothes into a sealed bag when done."},
		{"tools", "One set a tub. Hooks, tongs, thermometers, cables and probes are wiped and dried between animals."},
		{"tub", "Empty, wash and dry tub, lid, weights and probes between animals. Unplug first."},
		{"water", "Drained water goes down a drain at once, followed by hot water; never onto soil or into a bucket that stays."},
		{"throw away", "Paper, bark, moss, soil and anything that cannot be heated through: sealed in a bag, out of the house today."},
		{"heat", "Wood, cork, hides, slate: in the chamber, to a schedule, with a probe in the slowest piece."},
		{"freeze", "What heat would spoil: deep enough and long enough for the slowest piece; a shed in winter is no freezer."},
		{"wash", "Cloth and plastic that bears it: hot. 60 °C (140 °F) killed every stage of bed bugs (Naylor & Boase 2010); no such figure exists for the snake mite."},
		{"chemicals", "Written down as a record only: what, who, when, which label. Many are poisonous to reptiles, more so wet or warm. This program gives no dose; the veterinarian does."},
		{"after", "Treated things stay sealed and labelled with the record's number until a treated enclosure is ready. Opened or unlabelled: again."},
	}
}

// Filled is what a tub wants before it warms.
func Filled() []string {
	return []string{
		"Clean before you fill: tub, lid, weights and probes washed and dried. Unplug first.",
		"Fill with plain water of about the set point, about half the height of the resting animal. Lid on, weights on it, air holes free.",
	}
}

// Unplaced lists the animals whose place nobody named: before a treatment every
// animal that lives in the furnishings is named and where it is now.
func Unplaced(cases []*Case) []string {
	var all []string
	for _, c := range cases {
		s := &c.s
		if s.Stage == NoStage || s.Stage.Over() || s.IsIn || s.Animal.Place != "" {
			continue
		}
		all = append(all, s.Animal.Label)
	}
	return all
}
