package relay

import (
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"time"

	"golang.org/x/sys/unix"
)

const lockFile = "lock"

// Holder is who holds a state folder. Start tells a process from a later one
// with the same number.
type Holder struct {
	PID   int    `json:"pid"`
	Start uint64 `json:"start"` // clock ticks after boot, from /proc/PID/stat
	What  string `json:"what"`  // "run", "off"
}

func (h Holder) String() string {
	if h.PID == 0 {
		return "an unknown process"
	}
	return fmt.Sprintf("process %d (%s)", h.PID, h.What)
}

// HeldError says that somebody else holds the state folder.
type HeldError struct {
	Dir    string
	Holder Holder
}

func (e *HeldError) Error() string {
	return fmt.Sprintf("the state folder %s is held by %s: nothing was touched", e.Dir, e.Holder)
}

// Lock is the right to touch the lines of one state folder. The kernel takes
// it back when the process ends, however it ends.
type Lock struct {
	f *os.File
}

// TakeLock locks a state folder, making it when it does not exist. It never
// waits: the error is a *HeldError when somebody else has it.
func TakeLock(dir, what string) (*Lock, error) {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return nil, fmt.Errorf("make the state folder: %w", err)
	}
	path := filepath.Join(dir, lockFile)
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o644)
	writable := err == nil
	if errors.Is(err, unix.EROFS) || errors.Is(err, unix.EACCES) {
		// A card that has gone read-only still locks.
		f, err = os.Open(path)
	}
	if err != nil {
		return nil, fmt.Errorf("lock the state folder: %w", err)
	}
	if err := unix.Flock(int(f.Fd()), unix.LOCK_EX|unix.LOCK_NB); err != nil {
		held := &HeldError{Dir: dir, Holder: holderOf(f)}
		if errors.Is(err, unix.EWOULDBLOCK) {
			return nil, errors.Join(held, f.Close())
		}
		return nil, errors.Join(fmt.Errorf("lock the state folder %s: %w", dir, err), f.Close())
	}
	if writable {
		start, _ := startOf(os.Getpid())
		text, err := json.Marshal(Holder{PID: os.Getpid(), Start: start, What: what})
		if err == nil {
			err = f.Truncate(0)
		}
		if err == nil {
			_, err = f.WriteAt(append(text, '\n'), 0)
		}
		if err != nil && !errors.Is(err, unix.ENOSPC) && !errors.Is(err, unix.EIO) {
			return nil, errors.Join(fmt.Errorf("lock the state folder %s: %w", dir, err), f.Close())
		}
		// A full or failing card does not keep anybody from switching off: the
		// holder is then found through /proc/locks.
	}
	return &Lock{f}, nil
}

// Release gives the folder back.
func (l *Lock) Release() error { return l.f.Close() }

// holderOf says who has locked an open file: as written in it when that process
// still lives, else as the kernel lists it.
func holderOf(f *os.File) Holder {
	var h Holder
	buf := make([]byte, 256)
	n, _ := f.ReadAt(buf, 0)
	if json.Unmarshal(buf[:n], &h) == nil && h.PID > 0 {
		if start, err := startOf(h.PID); err == nil && start == h.Start {
			return h
		}
	}
	info, err := f.Stat()
	if err != nil {
		return Holder{}
	}
	stat, ok := info.Sys().(*syscall.Stat_t)
	if !ok {
		return Holder{}
	}
	list, err := os.ReadFile("/proc/locks")
	if err != nil {
		return Holder{}
	}
	pid := lockerIn(string(list), stat.Ino)
	if pid <= 0 {
		return Holder{}
	}
	start, err := startOf(pid)
	if err != nil {
		return Holder{}
	}
	return Holder{PID: pid, Start: start, What: "found by its lock"}
}

// lockerIn finds the process that holds a flock on a file in the text of
// /proc/locks: "1: FLOCK  ADVISORY  WRITE 1234 08:01:5678 0 EOF".
func lockerIn(list string, inode uint64) int {
	for _, line := range strings.Split(list, "\n") {
		w := strings.Fields(line)
		if len(w) < 6 || w[1] != "FLOCK" || !strings.HasSuffix(w[5], ":"+strconv.FormatUint(inode, 10)) {
			continue
		}
		if pid, err := strconv.Atoi(w[4]); err == nil {
			return pid
		}
	}
	return 0
}

// startOf reads when a process started: field 22 of /proc/PID/stat, counted
// after the name, which may hold blanks and brackets. Source: proc(5).
func startOf(pid int) (uint64, error) {
	text, err := os.ReadFile("/proc/" + strconv.Itoa(pid) + "/stat")
	if err != nil {
		return 0, err
	}
	_, after, ok := strings.Cut(string(text[max(0, strings.LastIndexByte(string(text), ')')):]), ")")
	w := strings.Fields(after)
	if !ok || len(w) < 20 {
		return 0, fmt.Errorf("/proc/%d/stat is not understood", pid)
	}
	return strconv.ParseUint(w[19], 10, 64)
}

// Evict takes the lock from whoever holds it: it asks the holder to stop, gives
// it ask, kills it, and gives the kernel after to let go. A stopped process
// cannot answer but can be killed.
func Evict(dir, what string, ask, after time.Duration) (*Lock, error) {
	lock, err := TakeLock(dir, what)
	var held *HeldError
	if !errors.As(err, &held) {
		return lock, err
	}
	signals := []struct {
		signal syscall.Signal
		wait   time.Duration
	}{{syscall.SIGTERM, ask}, {syscall.SIGKILL, after}}
	for _, s := range signals {
		h := held.Holder
		if h.PID == os.Getpid() {
			return nil, fmt.Errorf("the state folder %s is held by this very process", dir)
		}
		var sent error
		if h.PID > 0 {
			sent = h.send(s.signal)
		}
		until := time.Now().Add(s.wait)
		for {
			lock, err = TakeLock(dir, what)
			if !errors.As(err, &held) {
				return lock, err
			}
			if held.Holder.PID != h.PID && held.Holder.PID > 0 {
				h = held.Holder // a restarted one came in between
				sent = h.send(s.signal)
			}
			if sent != nil || time.Now().After(until) {
				break
			}
			time.Sleep(20 * time.Millisecond)
		}
		err = errors.Join(err, sent)
	}
	return nil, err
}

// send signals the holder through a descriptor of the process, so that a number
// that was given to another process meanwhile is never hit.
func (h Holder) send(signal syscall.Signal) error {
	fd, err := unix.PidfdOpen(h.PID, 0)
	if errors.Is(err, unix.ESRCH) {
		return nil
	}
	if errors.Is(err, unix.ENOSYS) || errors.Is(err, unix.EPERM) {
		err = unix.Kill(h.PID, signal)
		if errors.Is(err, unix.ESRCH) {
			return nil
		}
		return err
	}
	if err != nil {
		return fmt.Errorf("find %s: %w", h, err)
	}
	defer unix.Close(fd)
	if start, err := startOf(h.PID); err != nil || start != h.Start {
		return nil // it is another process already
	}
	if err := unix.PidfdSendSignal(fd, signal, nil, 0); err != nil && !errors.Is(err, unix.ESRCH) {
		return fmt.Errorf("send %v to %s: %w", signal, h, err)
	}
	return nil
}
