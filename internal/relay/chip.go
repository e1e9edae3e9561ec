package relay

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"unsafe"

	"golang.org/x/sys/unix"
)

// The structures of the GPIO v2 user-space API (linux/gpio.h). Their sizes are
// part of the request numbers, which a test compares.
type (
	chipInfo struct {
		name, label [32]byte
		lines       uint32
	}
	lineAttribute struct {
		id, _ uint32
		value uint64 // flags or output values
	}
	lineConfigAttribute struct {
		attr lineAttribute
		mask uint64
	}
	lineConfig struct {
		flags    uint64
		attrs    uint32
		_        [5]uint32
		attrList [10]lineConfigAttribute
	}
	lineInfo struct {
		name, consumer [32]byte
		offset, attrs  uint32
		flags          uint64
		attrList       [10]lineAttribute
		_              [4]uint32
	}
	lineRequest struct {
		offsets         [64]uint32
		consumer        [32]byte
		config          lineConfig
		lines           uint32
		eventBufferSize uint32
		_               [5]uint32
		fd              int32
	}
	lineValues struct{ bits, mask uint64 }
)

// Request numbers and flags of linux/gpio.h that x/sys/unix does not carry.
const (
	getChipInfo = 0x8044b401 // GPIO_GET_CHIPINFO_IOCTL

	flagUsed      = 1 << 0
	flagActiveLow = 1 << 1
	flagInput     = 1 << 2
	flagOutput    = 1 << 3
	flagPullUp    = 1 << 8
	flagPullDown  = 1 << 9
	flagNoPull    = 1 << 10

	consumerName = "soakwarden"
)

// kernel is the three calls that lines need.
type kernel interface {
	open(path string) (int, error)
	ioctl(fd int, request uint, arg unsafe.Pointer) error
	close(fd int) error
}

type realKernel struct{}

func (realKernel) open(path string) (int, error) {
	return unix.Open(path, unix.O_RDWR|unix.O_CLOEXEC, 0)
}

func (realKernel) ioctl(fd int, request uint, arg unsafe.Pointer) error {
	for {
		_, _, errno := unix.Syscall(unix.SYS_IOCTL, uintptr(fd), uintptr(request), uintptr(arg))
		if errno == 0 {
			return nil
		}
		if errno != unix.EINTR {
			return errno
		}
	}
}

func (realKernel) close(fd int) error { return unix.Close(fd) }

func (s System) calls() kernel {
	if s.kernel != nil {
		return s.kernel
	}
	return realKernel{}
}

func (s System) dev() string {
	if s.Dev != "" {
		return s.Dev
	}
	return "/dev"
}

// spot is one line of one chip.
type spot struct {
	chip   string // path of the device
	label  string // of the chip, the same after chips are numbered anew
	name   string // of the line
	offset uint32
}

func (p spot) String() string {
	return fmt.Sprintf("%s:%d", filepath.Base(p.chip), p.offset)
}

func text(b []byte) string {
	if i := bytes.IndexByte(b, 0); i >= 0 {
		b = b[:i]
	}
	return string(b)
}

// FirstChip is the chip that a number alone means.
const FirstChip = "gpiochip0"

var number = regexp.MustCompile(`^GPIO[0-9]{1,4}$`)

// find resolves a pin: a line's name on any chip, or "gpiochip0:5". Names are
// looked at first because the chip of the header is not the same one on every
// board and kernel; "GPIO5" where no line has a name is line 5 of the first.
func (s System) find(pin string) (spot, error) {
	if chip, offset, ok := strings.Cut(pin, ":"); ok {
		n, err := strconv.ParseUint(offset, 10, 32)
		if err != nil || chip == "" || strings.ContainsRune(chip, '/') {
			return spot{}, fmt.Errorf("pin %q is not a line: write its name, such as \"GPIO5\", and its chip beside it, such as chip = \"/dev/gpiochip1\"", pin)
		}
		return s.at(chip, uint32(n))
	}
	var found []spot
	err := s.eachChip(func(path string, fd int, info chipInfo) error {
		for i := range info.lines {
			line := lineInfo{offset: i}
			if err := s.calls().ioctl(fd, unix.GPIO_V2_GET_LINEINFO_IOCTL, unsafe.Pointer(&line)); err != nil {
				return fmt.Errorf("ask %s about line %d: %w", path, i, err)
			}
			if text(line.name[:]) == pin {
				found = append(found, spot{path, text(info.label[:]), pin, i})
			}
		}
		return nil
	})
	switch {
	case len(found) == 1:
		// A chip that does not answer cannot take away a line that was found.
		return found[0], nil
	case len(found) == 0 && number.MatchString(pin):
		n, _ := strconv.ParseUint(pin[len("GPIO"):], 10, 16)
		at, numbered := s.at(FirstChip, uint32(n))
		if numbered == nil && at.name != "" && number.MatchString(at.name) {
			return spot{}, fmt.Errorf("no line is named %q, and line %d of %s is named %q: write the name that is meant", pin, n, FirstChip, at.name)
		}
		if numbered != nil {
			return spot{}, fmt.Errorf("no line is named %q: %w", pin, errors.Join(numbered, err))
		}
		return at, nil
	case len(found) > 1:
		return spot{}, fmt.Errorf("pin %q is the name of %s and of %s: write the chip that is meant beside it, such as chip = \"/dev/gpiochip1\"", pin, found[0], found[1])
	case err != nil:
		return spot{}, fmt.Errorf("look for pin %q: %w", pin, err)
	}
	return spot{}, fmt.Errorf("no GPIO chip in %s has a line named %q: gpioinfo lists the names; write the number of the line, such as \"GPIO5\", and its chip beside it, such as chip = \"/dev/gpiochip1\"", s.dev(), pin)
}

// at looks up line n of the chip with this device name or label.
func (s System) at(chip string, n uint32) (spot, error) {
	var found []spot
	err := s.eachChip(func(path string, fd int, info chipInfo) error {
		if filepath.Base(path) != chip && text(info.label[:]) != chip {
			return nil
		}
		if n >= info.lines {
			return fmt.Errorf("%s has lines 0 to %d and no line %d", path, int64(info.lines)-1, n)
		}
		line := lineInfo{offset: n}
		if err := s.calls().ioctl(fd, unix.GPIO_V2_GET_LINEINFO_IOCTL, unsafe.Pointer(&line)); err != nil {
			return fmt.Errorf("ask %s about line %d: %w", path, n, err)
		}
		found = append(found, spot{path, text(info.label[:]), text(line.name[:]), n})
		return nil
	})
	if len(found) > 0 {
		return found[0], nil
	}
	if err != nil {
		return spot{}, fmt.Errorf("look for line %d of %q: %w", n, chip, err)
	}
	return spot{}, fmt.Errorf("no GPIO chip %q in %s", chip, s.dev())
}

// eachChip opens every chip in turn; errors are joined and stop nothing.
func (s System) eachChip(visit func(path string, fd int, info chipInfo) error) error {
	paths, err := filepath.Glob(filepath.Join(s.dev(), "gpiochip*"))
	if err != nil {
		return err
	}
	if len(paths) == 0 {
		return fmt.Errorf("no %s: %w", filepath.Join(s.dev(), "gpiochip*"), os.ErrNotExist)
	}
	var all error
	k := s.calls()
	for _, path := range paths {
		fd, err := k.open(path)
		if err != nil {
			all = errors.Join(all, fmt.Errorf("open %s: %w", path, err))
			continue
		}
		var info chipInfo
		if err := k.ioctl(fd, getChipInfo, unsafe.Pointer(&info)); err != nil {
			all = errors.Join(all, fmt.Errorf("ask %s: %w", path, err))
		} else {
			all = errors.Join(all, visit(path, fd, info))
		}
		all = errors.Join(all, k.close(fd))
	}
	return all
}
