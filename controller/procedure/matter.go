package procedure

// Matter is what an alarm of a case is about. Each matter of a case is one
// alarm, with a state of its own.
type Matter uint8

// The matters, the most urgent first.
const (
	NoMatter Matter = iota
	CaseWaits
	TooLongWet
	WaterLate
	RoundLate
	LookLate
	DaysUncounted
	MatterCount = int(DaysUncounted) + 1
)

var matterWords = [MatterCount]string{
	"", "case waits", "too long in water", "water change overdue", "round overdue", "look overdue", "days not counted",
}

// String is the name of the alarm.
func (m Matter) String() string { return matterWords[min(int(m), MatterCount-1)] }

// Matters lists every matter.
func Matters() []Matter {
	var all []Matter
	for m := CaseWaits; int(m) < MatterCount; m++ {
		all = append(all, m)
	}
	return all
}

// MatterOf finds a matter by its name; NoMatter when there is none.
func MatterOf(name string) Matter {
	for m := CaseWaits; int(m) < MatterCount; m++ {
		if matterWords[m] == name {
			return m
		}
	}
	return NoMatter
}
