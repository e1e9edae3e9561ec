package daemon

import (
	"errors"
	"fmt"
	"net"
	"os"
	"time"

	"github.com/coreos/go-systemd/v22/daemon"
	"golang.org/x/sys/unix"
	"periph.io/x/conn/v3/gpio"
)

// watchdog is the hardware watchdog: it resets the board when nobody feeds it.
// Source: Linux, Documentation/watchdog/watchdog-api.rst.
type watchdog struct {
	f *os.File
}

// openWatchdog arms the device. A time-out that the hardware refuses is left at
// its own.
func openWatchdog(path string, timeout time.Duration) (*watchdog, error) {
	f, err := os.OpenFile(path, os.O_WRONLY, 0)
	if err != nil {
		return nil, fmt.Errorf("open the watchdog: %w", err)
	}
	if seconds := int(timeout / time.Second); seconds > 0 {
		err := unix.IoctlSetPointerInt(int(f.Fd()), unix.WDIOC_SETTIMEOUT, seconds)
		if err != nil && !errors.Is(err, unix.ENOTTY) && !errors.Is(err, unix.EOPNOTSUPP) {
			return &watchdog{f}, fmt.Errorf("set the watchdog to %v: %w", timeout, err)
		}
	}
	return &watchdog{f}, nil
}

// feed puts the reset off. Any byte but V does.
func (w *watchdog) feed() error {
	_, err := w.f.Write([]byte{0})
	return err
}

// close disarms the device only when everything is off: otherwise the reset
// comes, and with it the power-up state of the pins.
func (w *watchdog) close(allOff bool) error {
	if allOff {
		if _, err := w.f.Write([]byte("V")); err != nil {
			return errors.Join(err, w.f.Close())
		}
	}
	return w.f.Close()
}

// supervisor speaks to the service manager over its socket.
// Source: sd_notify(3).
type supervisor struct {
	tell func(state string) error
}

// newSupervisor uses the socket that the service manager named, or nothing.
// The socket is given a deadline: a manager that hangs must not stop a tick.
func newSupervisor() supervisor {
	address := os.Getenv("NOTIFY_SOCKET")
	if address == "" {
		return supervisor{}
	}
	return supervisor{func(state string) error {
		conn, err := net.DialUnix("unixgram", nil, &net.UnixAddr{Name: address, Net: "unixgram"})
		if err != nil {
			return err
		}
		defer conn.Close()
		if err := conn.SetWriteDeadline(time.Now().Add(100 * time.Millisecond)); err != nil {
			return err
		}
		_, err = conn.Write([]byte(state))
		return err
	}}
}

func (s supervisor) send(state string) error {
	if s.tell == nil {
		return nil
	}
	return s.tell(state)
}

// The messages to the service manager.
const (
	supervisorReady    = daemon.SdNotifyReady
	supervisorStopping = daemon.SdNotifyStopping
	supervisorAlive    = daemon.SdNotifyWatchdog
)

// beat is the heartbeat output: it changes its level at every good tick, so
// that an external relay holds only while ticks are good. It is left low.
type beat struct {
	pin  gpio.PinOut
	high bool
}

func (b *beat) toggle() error {
	b.high = !b.high
	return b.pin.Out(gpio.Level(b.high))
}

// rest stops the heartbeat.
func (b *beat) rest() error {
	b.high = false
	return b.pin.Out(gpio.Low)
}
