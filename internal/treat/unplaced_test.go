package treat

import (
	"strings"
	"testing"
)

// An animal of a running case whose place nobody named keeps a treatment from
// being announced: it could be in the furnishings.
func TestNoTreatmentWhileAnAnimalIsUnplaced(t *testing.T) {
	w := newWorld(t, "cabinet")
	names := []string{"carpet python"}
	w.desk.o.Unplaced = func() []string { return names }
	if _, err := w.desk.Announce(w.order("core-56-30min")); err == nil || !strings.Contains(err.Error(), "where carpet python is now: name its place first") {
		t.Errorf("%v", err)
	}
	names = nil
	if _, err := w.desk.Announce(w.order("core-56-30min")); err != nil {
		t.Error(err)
	}
}
