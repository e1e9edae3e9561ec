package journal

import (
	"bufio"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"soakwarden/internal/journal/entry"
)

// The child of TestKilledProcess: it writes acts until it is killed and says
// which were acknowledged.
func TestKilledChild(t *testing.T) {
	path := os.Getenv("SOAKWARDEN_KILLED_CHILD")
	if path == "" {
		return // it has nothing to do but as a child
	}
	j := mustOpen(t, path, Options{Block: 5 * time.Second})
	b := newBench(2, 3)
	for {
		for range 7 {
			j.Tick(b.tick())
		}
		why := fmt.Sprintf("after %s in %d", b.now, os.Getpid())
		await(t, j.Tick(b.act(0, "A. Keeper", why)))
		fmt.Println("acknowledged " + why)
	}
}

// A program that is killed loses nothing acknowledged, and the next start goes
// on in the same chain. SOAKWARDEN_KILL_DIR puts the journal on another file
// system.
func TestKilledProcess(t *testing.T) {
	dir := os.Getenv("SOAKWARDEN_KILL_DIR")
	if dir == "" {
		dir = t.TempDir()
	}
	path := filepath.Join(dir, "journal.db")
	promised := map[string]bool{}
	for round := range 4 {
		cmd := exec.Command(os.Args[0], "-test.run=^TestKilledChild$")
		cmd.Env = append(os.Environ(), "SOAKWARDEN_KILLED_CHILD="+path)
		out, err := cmd.StdoutPipe()
		if err != nil {
			t.Fatal(err)
		}
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		lines := bufio.NewScanner(out)
		for n := 0; lines.Scan(); n++ {
			if text, ok := strings.CutPrefix(lines.Text(), "acknowledged "); ok {
				promised[text] = true
			}
			if n == 20+7*round {
				if err := cmd.Process.Kill(); err != nil {
					t.Fatal(err)
				}
			}
		}
		if err := cmd.Wait(); err == nil || len(promised) < 20 {
			t.Fatalf("the child was not killed at work: %v, %d acts", err, len(promised))
		}
		rep := mustVerify(t, path)
		r, err := OpenReader(path)
		if err != nil {
			t.Fatal(err)
		}
		missing := len(promised)
		err = r.Entries(func(e *entry.Entry) error {
			if a, ok := e.Body.(*entry.Act); ok && promised[a.Why] {
				missing--
			}
			return nil
		})
		if err != nil || r.Close() != nil || missing != 0 {
			t.Fatalf("round %d: %d of %d acknowledged acts are missing (%v)", round, missing, len(promised), err)
		}
		t.Log("round " + strconv.Itoa(round) + ": " + strconv.Itoa(len(promised)) + " acts, " + strconv.FormatUint(rep.Entries, 10) + " entries")
	}
}
