package controller

// Cause is what makes the protective control act. The zero value is no cause.
type Cause uint8

// The causes, in the order in which they are listed to a person.
const (
	NoCause Cause = iota
	OverCutoff
	OverBand
	FloorTooHot
	TooCold
	ProbeSilent
	ProbeImplausible
	ProbeJumped
	ProbesDiffer
	ProbeFrozen
	UnaskedRise
	NoRise
	HeatFromOutside
	NoWater
	WaterLow
	WrongTub
	OnTooLong
	RelayDisagrees
	RelayUnwritable
	SeriesWelded
	BothWelded
	AttendedTooLong
	NobodyPresent
	Unproven
	TooManyRestarts
	LoopLate
	ClockStepped
	JournalFailing
	CardNearlyFull
	SupplyLow
	CalibrationOverdue
	ProofOverdue
	OverLimit   // chamber: hottest probe over the limit of the furnishings
	AirflowLost // chamber
	OverTime    // chamber: the treatment takes far longer than planned
	OutOfPiece  // chamber: a core probe follows the air
	DoorOpened  // chamber
	causeCount
)
