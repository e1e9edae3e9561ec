package relay

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"syscall"
)

// file is a relay behind a plain file: the LED class, or an old value file.
type file struct {
	path      string
	activeLow bool
}

// openFile looks at the file and never makes one: a mistyped path must not
// become a relay that seems to work. A device, pipe or socket could block the
// tick and is refused.
func openFile(spec Spec) (*file, error) {
	info, err := os.Stat(spec.Path)
	if err != nil {
		return nil, err
	}
	if !info.Mode().IsRegular() {
		return nil, fmt.Errorf("%s is %s: a relay needs a plain file", spec.Path, info.Mode().Type())
	}
	f := &file{spec.Path, spec.ActiveLow}
	if err := f.stopTrigger(); err != nil {
		return nil, err
	}
	return f, nil
}

// stopTrigger takes an LED out of the hands of a kernel trigger, which would
// otherwise switch the relay by itself. The kernel writes 0 when the trigger
// goes.
func (f *file) stopTrigger() error {
	if filepath.Base(f.path) != "brightness" {
		return nil
	}
	path := filepath.Join(filepath.Dir(f.path), "trigger")
	text, err := os.ReadFile(path)
	if os.IsNotExist(err) {
		return nil
	}
	if err != nil {
		return fmt.Errorf("read the trigger: %w", err)
	}
	if strings.Contains(string(text), "[none]") || strings.TrimSpace(string(text)) == "none" {
		return nil
	}
	if err := write(path, "none"); err != nil {
		return fmt.Errorf("stop the trigger: %w", err)
	}
	return nil
}

// write puts the text into the file in one system call: a reader sees the old
// or the new value and never an empty file. O_NONBLOCK because a file that was
// replaced by a pipe must not hang the caller.
func write(path, text string) error {
	fd, err := os.OpenFile(path, os.O_WRONLY|syscall.O_NONBLOCK, 0)
	if err != nil {
		return err
	}
	n, err := fd.Write([]byte(text))
	if err == nil && n < len(text) {
		err = io.ErrShortWrite
	}
	if err == nil {
		// A plain file may have held more; the kernel's files have no length
		// to cut, and whether they refuse does not matter.
		_ = fd.Truncate(int64(len(text)))
	}
	if closed := fd.Close(); err == nil {
		err = closed
	}
	return err
}

func (f *file) set(closed bool) error {
	if closed != f.activeLow {
		return write(f.path, "1")
	}
	return write(f.path, "0")
}

func (f *file) get() (bool, error) {
	fd, err := os.OpenFile(f.path, os.O_RDONLY|syscall.O_NONBLOCK, 0)
	if err != nil {
		return false, err
	}
	defer fd.Close()
	buf := make([]byte, 16)
	n, err := fd.Read(buf)
	if err != nil && err != io.EOF {
		return false, err
	}
	text := strings.TrimSpace(string(buf[:n]))
	if text == "" || strings.Trim(text, "0123456789") != "" {
		return false, fmt.Errorf("%s reads %q, which is neither 0 nor a brightness", f.path, text)
	}
	lit := strings.Trim(text, "0") != "" // an LED may answer 255 for 1
	return lit != f.activeLow, nil
}

func (f *file) close() error { return nil }
