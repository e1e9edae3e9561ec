//go:build linux

// Command boot is the first process of a virtual board: it drives relays
// through a real kernel's GPIO driver, with everything that can happen to a
// process that holds them. It is run by run.sh beside it
// and decides nothing: it is a test whose answer is printed on the console.
//
// The board is an emulated Raspberry Pi 3B with a stock kernel, whose own
// pinctrl-bcm2835 driver answers. The emulator has no pull resistors: where a
// line rests after its process is gone is shown for the level alone.
package main

import (
	"errors"
	"fmt"
	"os"
	"os/exec"
	"strings"
	"syscall"
	"time"

	"golang.org/x/sys/unix"
	"periph.io/x/conn/v3/gpio"

	"soakwarden/controller"
	"soakwarden/internal/relay"
)

// pad is low-active on a pin that is pulled down at power-up: the hard case.
var (
	pad    = relay.Spec{Name: "pad", Pin: "GPIO17", ActiveLow: true}
	series = relay.Spec{Name: "series", Pin: "GPIO27"}
)

const state = "/state"

func main() {
	if os.Getpid() != 1 {
		hold()
		return
	}
	// The console may still be busy with the kernel's own lines.
	failures := 0
	for _, c := range []struct {
		name string
		run  func() error
	}{
		{"file systems", mounts},
		{"a line is found, off, closes and opens", switches},
		{"a second request is refused with its holder", busy},
		{"a killed holder's lines are driven off", killed},
		{"a stopped holder's lines are driven off", stopped},
		{"a moved pin is driven off at its old place", moved},
	} {
		if err := c.run(); err != nil {
			failures++
			fmt.Printf("BOOT FAIL %s: %v\n", c.name, err)
			continue
		}
		fmt.Printf("BOOT ok %s\n", c.name)
	}
	fmt.Printf("BOOT end, %d failures\n", failures)
	// The board cannot switch itself off, and a first process must not end.
	for {
		time.Sleep(time.Hour)
	}
}

func mounts() error {
	var all error
	for _, m := range []struct{ kind, at string }{{"proc", "/proc"}, {"sysfs", "/sys"}, {"devtmpfs", "/dev"}, {"tmpfs", state}} {
		all = errors.Join(all, os.MkdirAll(m.at, 0o755), unix.Mount(m.kind, m.at, m.kind, 0, ""))
	}
	return all
}

func switches() error {
	for _, spec := range []relay.Spec{pad, series} {
		r, err := relay.System{}.Open(spec)
		if err != nil {
			return err
		}
		if err := look(r, false); err != nil {
			return errors.Join(err, r.Close())
		}
		if err := errors.Join(r.Out(gpio.High), look(r, true), r.Out(gpio.Low), look(r, false), r.Close()); err != nil {
			return err
		}
		if err := rests(spec); err != nil {
			return err
		}
	}
	return nil
}

func look(r *relay.Relay, want bool) error {
	closed, err := r.Closed()
	if err == nil && closed != want {
		err = fmt.Errorf("%s reads closed %v", r, closed)
	}
	return err
}

// rests says whether a free line lies at the off level. The line is asked as an
// input without a change of its resistor.
func rests(spec relay.Spec) error {
	in, err := relay.System{}.OpenInput(spec, "")
	if err != nil {
		return err
	}
	defer in.Close()
	if in.Seen() != controller.ContactOpen {
		return fmt.Errorf("%s does not rest at off", spec)
	}
	return nil
}

// hold is the child: it takes the folder and both lines as the daemon does,
// closes the relays and waits.
func hold() {
	lock, err := relay.TakeLock(state, "run")
	if err != nil {
		fmt.Println(err)
		os.Exit(1)
	}
	defer lock.Release()
	memory, err := relay.OpenMemory(state)
	if err != nil {
		fmt.Println(err)
		os.Exit(1)
	}
	bank := relay.NewBank(relay.System{}, memory)
	for _, spec := range []relay.Spec{pad, series} {
		r, err := bank.Open(spec)
		if err == nil {
			err = r.Out(gpio.High)
		}
		if err != nil {
			fmt.Println(err)
			os.Exit(1)
		}
	}
	fmt.Println("held")
	time.Sleep(time.Hour)
}

// holder starts the child and returns when both relays are closed.
func holder() (*exec.Cmd, error) {
	cmd := exec.Command("/proc/self/exe")
	out, err := cmd.StdoutPipe()
	if err != nil {
		return nil, err
	}
	if err := cmd.Start(); err != nil {
		return nil, err
	}
	line := make([]byte, 256)
	n, err := out.Read(line)
	if text := strings.TrimSpace(string(line[:n])); text != "held" {
		return cmd, errors.Join(err, fmt.Errorf("the holder says %q", text))
	}
	return cmd, nil
}

func busy() error {
	cmd, err := holder()
	if err != nil {
		return err
	}
	_, err = relay.System{}.Open(pad)
	_ = cmd.Process.Kill()
	_ = cmd.Wait()
	if !errors.Is(err, unix.EBUSY) || !strings.Contains(err.Error(), `held by "soakwarden"`) {
		return fmt.Errorf("opening a held line: %v", err)
	}
	return nil
}

// off is what the command off does.
func off(configured []relay.Spec, lines int) error {
	lock, err := relay.Evict(state, "off", 300*time.Millisecond, 5*time.Second)
	if err != nil {
		return err
	}
	defer lock.Release()
	memory, err := relay.OpenMemory(state)
	if err != nil {
		return err
	}
	outcomes := relay.System{}.AllOff(memory, configured)
	for _, o := range outcomes {
		err = errors.Join(err, o.Err)
	}
	if len(outcomes) != lines {
		err = errors.Join(err, fmt.Errorf("%d lines were driven off, not %d", len(outcomes), lines))
	}
	return errors.Join(err, rests(pad), rests(series))
}

func killed() error {
	cmd, err := holder()
	if err != nil {
		return err
	}
	if err := cmd.Process.Kill(); err != nil {
		return err
	}
	_ = cmd.Wait()
	return off([]relay.Spec{pad, series}, 2)
}

func stopped() error {
	cmd, err := holder()
	if err != nil {
		return err
	}
	if err := cmd.Process.Signal(syscall.SIGSTOP); err != nil {
		return err
	}
	go func() { _ = cmd.Wait() }()
	return off(nil, 2)
}

func moved() error {
	cmd, err := holder()
	if err != nil {
		return err
	}
	_ = cmd.Process.Kill()
	_ = cmd.Wait()
	return off([]relay.Spec{{Name: "pad", Pin: "GPIO22", ActiveLow: true}, series}, 3)
}
