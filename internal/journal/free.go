package journal

import (
	"fmt"
	"path/filepath"

	"golang.org/x/sys/unix"
)

// freeBytes is what an ordinary user may still write where path lies.
func freeBytes(path string) (uint64, error) {
	var s unix.Statfs_t
	if err := unix.Statfs(filepath.Dir(path), &s); err != nil {
		return 0, fmt.Errorf("asking for the free space of %s: %w", filepath.Dir(path), err)
	}
	return s.Bavail * uint64(s.Bsize), nil
}
