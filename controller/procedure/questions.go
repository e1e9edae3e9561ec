package procedure

// Question is asked before a case begins.
type Question uint8

// The questions.
const (
	Hatchling Question = iota
	FedLately
	InShed
	Gravid
	Prolapse
	Wound
	Thin
	Breathing
	Venomous
	QuestionCount = int(Venomous) + 1
)

// Asked is one question with what follows from a yes. Every yes means:
// veterinarian first. The rules are cautions of the trade, common practice, no
// published source; the two days after a meal are from memory.
type Asked struct {
	Word   string // for a command line
	Text   string
	Follow string
}

// Ask is the question in words.
func (q Question) Ask() Asked { return asked[q] }

var asked = [QuestionCount]Asked{
	Hatchling: {"hatchling", "Is it a hatchling or very small?", "Veterinarian first. Depth by the body's height, short times, never alone: attended only."},
	FedLately: {"fed", "Was it fed within the last two days?", "Veterinarian first. Wait until two days after the meal; no feeding during a soak."},
	InShed:    {"shed", "Is it in shed, or are the eyes blue?", "Veterinarian first. Skin and eyes are delicate now."},
	Gravid:    {"gravid", "Is it gravid, or could it be?", "Veterinarian first. A soak and its handling can harm animal and clutch."},
	Prolapse:  {"prolapse", "Does anything hang out of the vent?", "Veterinarian first, today: a prolapse is an emergency."},
	Wound:     {"wound", "Is there blood, a wound, a burn or a blister?", "Veterinarian first. Soiled water gets into wounds."},
	Thin:      {"thin", "Is it thin, weak or limp?", "Veterinarian first. A weak animal drowns and chills."},
	Breathing: {"breathing", "Does it breathe with noise, an open mouth or bubbles?", "Veterinarian first. No soak with an infection of the airways."},
	Venomous:  {"venomous", "Is it venomous?", "Veterinarian first. Two trained people, hooks and a locked tub; nobody reaches in."},
}

// QuestionOf finds a question by its word.
func QuestionOf(word string) (Question, bool) {
	for q := range asked {
		if asked[q].Word == word {
			return Question(q), true
		}
	}
	return 0, false
}

// Answer is what was answered to a question or seen of a check. The zero value
// is no answer.
type Answer uint8

// The answers.
const (
	Unanswered Answer = iota
	No
	Yes
)
