package casebook

import (
	"encoding/json"
	"slices"
	"sync"

	"soakwarden/internal/journal"
)

// ReleasesKey is where the numbers of released treatments are kept.
const ReleasesKey = "treatments released"

// mostReleases bounds the list; the oldest are forgotten first.
const mostReleases = 1000

// Releases is the record with an eye on treatments: it remembers which passed
// and were released, so that a case can be told by number what may go back.
type Releases struct {
	journal.Recorder

	mu     sync.Mutex
	passed []string
}

// WatchReleases begins with what an earlier run kept; what cannot be read is
// forgotten, and the furnishings are treated again.
func WatchReleases(r journal.Recorder, kept []byte) *Releases {
	w := &Releases{Recorder: r}
	if json.Unmarshal(kept, &w.passed) != nil {
		w.passed = nil
	}
	return w
}

// Document keeps a document and notes a release that passed.
func (w *Releases) Document(station, topic, id string, doc []byte) journal.Receipt {
	receipt := w.Recorder.Document(station, topic, id, doc)
	var d struct {
		Step   string `json:"step"`
		Result string `json:"result"`
	}
	if topic == "treatment" && json.Unmarshal(doc, &d) == nil && d.Step == "released" && d.Result == "PASS" {
		w.add(id)
	}
	return receipt
}

func (w *Releases) add(number string) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if slices.Contains(w.passed, number) {
		return
	}
	w.passed = append(w.passed, number)
	w.passed = w.passed[max(0, len(w.passed)-mostReleases):]
	if data, err := json.Marshal(w.passed); err == nil {
		w.Recorder.SaveState(ReleasesKey, data)
	}
}

// Has says whether a treatment passed and was released.
func (w *Releases) Has(number string) bool {
	w.mu.Lock()
	defer w.mu.Unlock()
	return slices.Contains(w.passed, number)
}
