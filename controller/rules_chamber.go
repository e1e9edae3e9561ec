package controller

// At is the row of a cause as it is read at a kind of station. A chamber holds
// no animal and no water and its heater is no pad, so that what is looked at,
// and what a person looks at and does first, are others there. What the
// protective control does is the same.
func (c Cause) At(kind Kind) Rule {
	r := c.Rule()
	if kind != Chamber {
		return r
	}
	for i := range chamberRows {
		if w := &chamberRows[i]; w.cause == c {
			r.LooksAt, r.Seen, r.Advice = w.looksAt, w.seen, w.advice
		}
	}
	return r
}

// The rows whose words are others in a chamber. Whoever opens a chamber that
// smokes gives it air.
var chamberRows = [...]struct {
	cause   Cause
	looksAt string
	seen    Seen
	advice  string
}{
	{
		UnaskedRise, "the air, over 35 °C, warms by 2 K within 20 min with heat commanded off: tripped", SeenPad,
		"Unplug the heater. Let it cool with the door shut, then change the heat relay.",
	},
	{
		NoRise, "the air warms by less than 0.5 K in ten minutes of heat: heater, cut-out, relay, fan or door", SeenPad,
		"Look at heater, plug, cut-out, fan and door.",
	},
	{
		RelayDisagrees, "the heat relay's feedback against its command", SeenPad,
		"Unplug the heater. Change the heat relay.",
	},
	{
		RelayUnwritable, "a relay of this chamber could not be written: heat off, then trip", SeenPad,
		"Unplug the heater. Look at the relay board.",
	},
	{
		SeriesWelded, "the series relay's feedback", SeenPad,
		"Unplug the heater. Change the series relay.",
	},
	{
		BothWelded, "the feedback of both relays", SeenPad,
		"PULL THE PLUG. Keep the door shut while anything smokes, and call for help.",
	},
	{
		TooManyRestarts, "unclean starts: heat waits five minutes, doubling; the third in an hour trips", SeenPad,
		"Find out what stops the program: power, heat, card.",
	},
}
