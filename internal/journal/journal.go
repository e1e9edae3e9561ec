package journal

import "errors"

// Journal is the record on a card. It satisfies Recorder.
type Journal struct {
	Recorder
}

// Open opens or creates the journal at path for writing and records a start.
// It refuses a file that is foreign, damaged or newer, and changes nothing in
// such a file.
func Open(path string, o Options) (*Journal, error) {
	return nil, errors.New("opening " + path + ": no writer yet")
}
