package casebook

import (
	"testing"

	"soakwarden/internal/journal"
)

func TestReleasesAreRememberedByNumber(t *testing.T) {
	m := journal.NewMemory(journal.Options{})
	w := WatchReleases(m, nil)
	for _, d := range []struct{ topic, id, doc string }{
		{"treatment", "cabinet-0001", `{"step":"released","result":"PASS"}`},
		{"treatment", "cabinet-0001", `{"step":"released","result":"PASS"}`},
		{"treatment", "cabinet-0002", `{"step":"released","result":"FAIL"}`},
		{"treatment", "cabinet-0003", `{"step":"started","result":"PASS"}`},
		{"case", "cabinet-0004", `{"step":"released","result":"PASS"}`},
	} {
		if err := w.Document("cabinet", d.topic, d.id, []byte(d.doc)).Err(); err != nil {
			t.Fatal(err)
		}
	}
	w.Document("cabinet", "treatment", "cabinet-0005", []byte("not JSON"))
	states, err := m.LoadStates()
	if err != nil {
		t.Fatal(err)
	}
	again := WatchReleases(m, states[ReleasesKey])
	for number, want := range map[string]bool{
		"cabinet-0001": true, "cabinet-0002": false, "cabinet-0003": false, "cabinet-0004": false, "cabinet-0005": false, "": false,
	} {
		if w.Has(number) != want || again.Has(number) != want {
			t.Errorf("%q: %v, after a restart %v, want %v", number, w.Has(number), again.Has(number), want)
		}
	}
	if WatchReleases(m, []byte("{")).Has("cabinet-0001") {
		t.Error("a damaged list releases something")
	}
}
