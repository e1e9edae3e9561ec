package status

import (
	"strings"

	"soakwarden/controller"
	"soakwarden/controller/alarm"
)

// KindWord names a kind of station.
func KindWord(k controller.Kind) string {
	switch k {
	case controller.Tub:
		return "tub"
	case controller.Chamber:
		return "chamber"
	}
	return "unknown"
}

// RoleWord names the role of a probe, as the configuration writes it.
func RoleWord(r controller.Role) string {
	switch r {
	case controller.RoleControl:
		return "control"
	case controller.RoleGuard:
		return "guard"
	case controller.RoleFloor:
		return "floor"
	case controller.RoleRoom:
		return "room"
	case controller.RoleCore:
		return "core"
	case controller.RoleSurface:
		return "surface"
	case controller.RoleAir:
		return "air"
	}
	return "unknown"
}

// QualityWord names how far a reading can be believed.
func QualityWord(q controller.Quality) string {
	switch q {
	case controller.Good:
		return "good"
	case controller.Suspect:
		return "suspect"
	case controller.Bad:
		return "bad"
	}
	return "unknown"
}

// FlawWord says what is wrong with a reading, empty for nothing.
func FlawWord(f controller.Flaw) string {
	switch f {
	case controller.NoFlaw:
		return ""
	case controller.Absent:
		return "absent"
	case controller.Shorted:
		return "shorted"
	case controller.BadCRC:
		return "CRC"
	case controller.PowerOnValue:
		return "power-on value"
	case controller.LowPower:
		return "low power"
	case controller.Malformed:
		return "malformed"
	case controller.OutOfRange:
		return "out of range"
	case controller.Stale:
		return "stale"
	}
	return "unknown"
}

// SeverityWord names what a cause does.
func SeverityWord(s controller.Severity) string {
	switch s {
	case controller.NoSeverity:
		return "none"
	case controller.Note:
		return "note"
	case controller.Warning:
		return "warning"
	case controller.HeatOff:
		return "heat off"
	case controller.Trip:
		return "trip"
	}
	return "unknown"
}

// Active says whether an alarm in this state is about something that is so now
// or is latched, and that nobody has set aside.
func Active(s alarm.State) bool {
	switch s {
	case alarm.Normal, alarm.Returned, alarm.Shelved, alarm.SuppressedByDesign, alarm.OutOfService:
		return false
	}
	return true
}

// RefusalWord says why an act was refused and what to do instead.
func RefusalWord(r controller.Refusal) string {
	switch r {
	case controller.NoRefusal:
		return ""
	case controller.CausePersists:
		return "what caused it is still there: put that right first, then reset"
	case controller.WrongPlace:
		return "this is reset only at the board: soakwarden reset STATION CAUSE --seen … on the computer itself, or its button"
	case controller.NotSeen:
		return "not everything that must be looked at was named: look, then name it (animal, level, probe, pad)"
	case controller.TooManyResets:
		return "reset from the page three times within 24 h already: go to the board and find out why it comes back"
	case controller.NothingLatched:
		return "nothing is latched under this name: see soakwarden status"
	case controller.NotActive:
		return "there is no such alarm now: see soakwarden status"
	case controller.NotNow:
		return "the station's mode does not allow it now: see soakwarden status, end attended mode or put it back in service first"
	case controller.NoMoreExtensions:
		return "attended was extended twice already: end it (done), then begin again"
	}
	return "refused for a reason that this program has no word for"
}

// seenWords are the things to look at before a reset, in the order in which
// they are asked.
var seenWords = [...]struct {
	word string
	seen controller.Seen
}{
	{"animal", controller.SeenAnimal},
	{"level", controller.SeenLevel},
	{"probe", controller.SeenProbe},
	{"pad", controller.SeenPad},
	{heaterWord, controller.SeenPad},
}

// heaterWord is what a chamber has in the place of a pad.
const heaterWord = "heater"

// SeenWords names every thing in a set, as a kind of station has it.
func SeenWords(s controller.Seen, kind controller.Kind) []string {
	var words []string
	for _, w := range seenWords {
		if s&w.seen == 0 || w.seen == controller.SeenPad && (w.word == heaterWord) != (kind == controller.Chamber) {
			continue
		}
		words = append(words, w.word)
	}
	return words
}

// plain makes two writings of a name comparable: "Over-the-cutoff" and
// "over the cutoff" are the same cause.
func plain(s string) string {
	return strings.Join(strings.FieldsFunc(strings.ToLower(s), func(r rune) bool {
		return r == ' ' || r == '-' || r == '_' || r == ',' || r == '\t'
	}), " ")
}

// activeWord is Active for a state that is known only by its word; a word that
// is not known counts as active.
func activeWord(w string) bool {
	for s := alarm.Normal; s <= alarm.OutOfService; s++ {
		if s.String() == w {
			return Active(s)
		}
	}
	return true
}
