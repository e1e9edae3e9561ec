package controller

// The words in which the enumerations are shown, written to the record and
// read back. A value that is not one of them is "unknown".

func word(names []string, i uint8) string {
	if int(i) < len(names) {
		return names[i]
	}
	return "unknown"
}

var (
	kindNames     = []string{"none", "tub", "chamber"}
	roleNames     = []string{"none", "control", "guard", "floor", "room", "core", "surface", "air"}
	qualityNames  = []string{"unknown", "bad", "suspect", "good"}
	flawNames     = []string{"none", "absent", "shorted", "bad CRC", "power-on value", "low power", "malformed", "out of range", "stale"}
	contactNames  = []string{"unknown", "open", "closed"}
	severityNames = []string{"none", "note", "warning", "heat off", "trip"}
	placeNames    = []string{"nowhere", "page", "board"}
	actNames      = []string{
		"none", "acknowledge", "reset", "begin attended", "extend attended", "end attended", "water changed",
		"animal in", "animal out", "presence", "shelve", "unshelve", "take out of service", "put in service",
		"confirm fill", "prove",
	}
	eventNames = []string{
		"none", "raised", "cleared", "latched", "reset", "act done", "act refused", "alarm", "heat", "series relay",
		"first heat", "ready", "attended mode", "proof",
	}
	refusalNames = []string{
		"none", "the cause persists", "reset it at the board", "say what you looked at",
		"three resets from the page within a day are the most", "nothing is latched", "no such alarm", "not now",
		"no more extensions",
	}
	animalNames = []string{"may be in", "in", "out"}
	waitNames   = []string{
		"nothing", "the latch store", "agreeing probes", "its turn", "the shared series relay", "hands out of the water",
		"being put in service", "a treatment", "the answer to its pulse",
	}
	proofNames = []string{"all off", "pairing", "series relay"}
	stageNames = []string{"watching with all off", "measuring the drift", "proving pulse", "waiting for the answer", "proving the series relay", "proven"}
)

// String is the kind in words.
func (k Kind) String() string { return word(kindNames, uint8(k)) }

// String is the role in words.
func (r Role) String() string { return word(roleNames, uint8(r)) }

// String is the quality in words.
func (q Quality) String() string { return word(qualityNames, uint8(q)) }

// String is the flaw in words.
func (f Flaw) String() string { return word(flawNames, uint8(f)) }

// String is the contact's state in words.
func (c Contact) String() string { return word(contactNames, uint8(c)) }

// String is the severity in words.
func (s Severity) String() string { return word(severityNames, uint8(s)) }

// String is the place in words.
func (p Place) String() string { return word(placeNames, uint8(p)) }

// String is the act in words.
func (a ActKind) String() string { return word(actNames, uint8(a)) }

// String is the event in words.
func (e EventKind) String() string { return word(eventNames, uint8(e)) }

// String says why, in words for the person who was refused.
func (r Refusal) String() string { return word(refusalNames, uint8(r)) }

// String is the animal's place in words.
func (a Animal) String() string { return word(animalNames, uint8(a)) }

// String is what is waited for, in words that follow "waits for".
func (w Wait) String() string { return word(waitNames, uint8(w)) }

// String is the proof in words.
func (p ProofKind) String() string { return word(proofNames, uint8(p)) }

// String is the stage in words.
func (s Stage) String() string { return word(stageNames, uint8(s)) }
