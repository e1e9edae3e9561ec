package journal

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	sqlite3 "modernc.org/sqlite/lib"
)

// Damaged says whether an error of Open or LoadStates means that the file was a
// journal once and cannot be relied upon any more. A database of another
// program, a newer journal and a card that cannot be read are not damage.
func Damaged(err error) bool {
	return errors.Is(err, ErrDamaged) || errors.Is(err, ErrNotDatabase) || code(err) == sqlite3.SQLITE_CORRUPT
}

// SetAside gives a damaged journal and its log another name, so that a new one
// can begin in its place, and returns that name. Nothing in it is changed:
// `soakwarden journal verify` still says what it holds.
func SetAside(path string) (string, error) {
	aside := ""
	for n := 1; ; n++ {
		aside = asideName(path, n)
		there, err := thereIs(aside, aside+"-wal")
		if err != nil {
			return "", err
		}
		if !there {
			break
		}
	}
	// The log goes last: without its database it is damage as well, so that a
	// cut in between is met by the next start.
	for _, end := range []string{"", "-shm", "-wal"} {
		if err := os.Rename(path+end, aside+end); err != nil && !errors.Is(err, os.ErrNotExist) {
			return "", fmt.Errorf("setting the damaged journal aside: %w", err)
		}
	}
	return aside, syncFile(filepath.Dir(path))
}

// Aside says whether a damaged journal lies beside the one at path. What it knew
// of a station is not known any more.
func Aside(path string) (bool, error) {
	files, err := os.ReadDir(filepath.Dir(path))
	if err != nil {
		return false, fmt.Errorf("looking for a damaged journal: %w", err)
	}
	for _, f := range files {
		if strings.HasPrefix(f.Name(), filepath.Base(path)+asideMark) {
			return true, nil
		}
	}
	return false, nil
}

const asideMark = "-damaged-"

func asideName(path string, n int) string { return fmt.Sprintf("%s%s%d", path, asideMark, n) }

func thereIs(paths ...string) (bool, error) {
	for _, p := range paths {
		if _, err := os.Lstat(p); err == nil {
			return true, nil
		} else if !errors.Is(err, os.ErrNotExist) {
			return false, fmt.Errorf("looking for a damaged journal: %w", err)
		}
	}
	return false, nil
}
