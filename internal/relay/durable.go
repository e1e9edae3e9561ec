package relay

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
)

// WriteDurable replaces a file as a whole: a reader and a power cut find the
// old bytes or the new ones. It returns only when file and folder are on disk.
func WriteDurable(path string, data []byte) error {
	dir := filepath.Dir(path)
	f, err := os.CreateTemp(dir, filepath.Base(path)+".new-*")
	if err != nil {
		return err
	}
	fail := func(err error) error {
		return errors.Join(err, f.Close(), os.Remove(f.Name()))
	}
	if _, err := f.Write(data); err != nil {
		return fail(err)
	}
	if err := f.Sync(); err != nil {
		return fail(err)
	}
	if err := f.Close(); err != nil {
		return errors.Join(err, os.Remove(f.Name()))
	}
	if err := os.Rename(f.Name(), path); err != nil {
		return errors.Join(err, os.Remove(f.Name()))
	}
	return syncFolder(dir)
}

func syncFolder(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return err
	}
	if err := d.Sync(); err != nil {
		return errors.Join(fmt.Errorf("sync %s: %w", dir, err), d.Close())
	}
	return d.Close()
}
