package rehearsal

import (
	"path/filepath"
	"testing"

	"soakwarden/internal/journal"
	"soakwarden/internal/replay"
)

// Every scenario without a death of the program is recorded whole and decided
// again from its record: each decision must come out the same.
func TestScenariosDecideTheSameAgain(t *testing.T) {
	for _, name := range []string{"relay-welded", "probe-out-of-water", "bus-shorted", "water-changed", "drained"} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			s, err := LoadScenario(filepath.Join(scenarios, name+".toml"))
			if err != nil {
				t.Fatal(err)
			}
			record := journal.NewMemory(journal.Options{})
			if _, err := s.Run(Options{Recorder: record}); err != nil {
				t.Fatal(err)
			}
			if err := record.Close(); err != nil {
				t.Fatal(err)
			}
			report, err := replay.Run(record, "rehearsal")
			if err != nil {
				t.Fatal(err)
			}
			for _, st := range report.Stations {
				if st.Compared == 0 || st.Compared != st.Ticks || st.Different != 0 {
					t.Errorf("%+v", st)
				}
			}
			if !report.OK || len(report.Stations) == 0 {
				t.Errorf("%+v", report.Differences)
			}
		})
	}
}
