package relay

import (
	"bufio"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

// TestMain lets the test program stand in for a daemon that holds a folder.
func TestMain(m *testing.M) {
	if dir := os.Getenv("HOLD_FOLDER"); dir != "" {
		hold(dir, os.Getenv("HOLD_HOW"))
		return
	}
	os.Exit(m.Run())
}

func hold(dir, how string) {
	lock, err := TakeLock(dir, "run")
	if err != nil {
		fmt.Println(err)
		os.Exit(3)
	}
	term := make(chan os.Signal, 1)
	signal.Notify(term, syscall.SIGTERM)
	fmt.Println("held")
	for range term {
		if how == "obeys" {
			fmt.Println("asked")
			if err := lock.Release(); err != nil {
				os.Exit(4)
			}
			return
		}
	}
}

func holder(t *testing.T, dir, how string) (*exec.Cmd, *bufio.Scanner) {
	t.Helper()
	exe, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(exe)
	cmd.Env = append(os.Environ(), "HOLD_FOLDER="+dir, "HOLD_HOW="+how)
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = cmd.Process.Kill(); _ = cmd.Wait() })
	lines := bufio.NewScanner(out)
	if !lines.Scan() || lines.Text() != "held" {
		t.Fatalf("the holder says %q", lines.Text())
	}
	return cmd, lines
}

func TestLockKeepsOthersOut(t *testing.T) {
	dir := t.TempDir()
	cmd, _ := holder(t, dir, "ignores")
	_, err := TakeLock(dir, "run")
	var held *HeldError
	if !errors.As(err, &held) || held.Holder.PID != cmd.Process.Pid || held.Holder.What != "run" {
		t.Fatalf("second lock: %v", err)
	}
	if !strings.Contains(err.Error(), "nothing was touched") {
		t.Errorf("message: %v", err)
	}
	// The written holder is of another life: the kernel's list counts.
	put(t, filepath.Join(dir, lockFile), `{"pid":1,"start":1,"what":"run"}`)
	if _, err = TakeLock(dir, "run"); !errors.As(err, &held) || held.Holder.PID != cmd.Process.Pid {
		t.Errorf("found by its lock: %v", err)
	}
	if err := cmd.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	_ = cmd.Wait()
	lock, err := TakeLock(dir, "run")
	if err != nil {
		t.Fatalf("the kernel did not give the lock back: %v", err)
	}
	if err := lock.Release(); err != nil {
		t.Fatal(err)
	}
}

func TestEvict(t *testing.T) {
	for _, how := range []string{"obeys", "ignores", "stopped"} {
		t.Run(how, func(t *testing.T) {
			dir := t.TempDir()
			cmd, lines := holder(t, dir, how)
			if how == "stopped" {
				if err := cmd.Process.Signal(syscall.SIGSTOP); err != nil {
					t.Fatal(err)
				}
			}
			lock, err := Evict(dir, "off", 300*time.Millisecond, 5*time.Second)
			if err != nil {
				t.Fatal(err)
			}
			defer lock.Release()
			asked := lines.Scan() && lines.Text() == "asked"
			if asked != (how == "obeys") {
				t.Errorf("answered: %v", asked)
			}
			err = cmd.Wait()
			if killed := err != nil && strings.Contains(err.Error(), "killed"); killed != (how != "obeys") {
				t.Errorf("ended with %v", err)
			}
		})
	}
}

func TestEvictNeverKillsItself(t *testing.T) {
	dir := t.TempDir()
	lock, err := TakeLock(dir, "run")
	if err != nil {
		t.Fatal(err)
	}
	defer lock.Release()
	if _, err := Evict(dir, "off", time.Millisecond, time.Millisecond); err == nil || !strings.Contains(err.Error(), "this very process") {
		t.Errorf("evicting oneself: %v", err)
	}
}

// A process number that was given anew must not be signalled.
func TestSendSparesAnotherProcess(t *testing.T) {
	cmd := exec.Command("sleep", "60")
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	defer func() { _ = cmd.Process.Kill(); _ = cmd.Wait() }()
	start, err := startOf(cmd.Process.Pid)
	if err != nil {
		t.Fatal(err)
	}
	if err := (Holder{PID: cmd.Process.Pid, Start: start + 1}).send(syscall.SIGKILL); err != nil {
		t.Fatal(err)
	}
	time.Sleep(50 * time.Millisecond)
	if now, err := startOf(cmd.Process.Pid); err != nil || now != start {
		t.Errorf("another process was killed: %v", err)
	}
}

// The line is that of proc(5), /proc/locks.
func TestLockerIn(t *testing.T) {
	const list = `1: POSIX  ADVISORY  READ 5433 08:01:7864448 128 128
2: FLOCK  ADVISORY  WRITE 2001 08:01:7864554 0 EOF
3: FLOCK  ADVISORY  WRITE 1568 00:2f:32388 0 EOF
`
	for inode, want := range map[uint64]int{7864554: 2001, 32388: 1568, 7864448: 0, 388: 0} {
		if got := lockerIn(list, inode); got != want {
			t.Errorf("inode %d is locked by %d, want %d", inode, got, want)
		}
	}
}
