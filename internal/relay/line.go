package relay

import (
	"errors"
	"fmt"
	"sync"
	"unsafe"

	"golang.org/x/sys/unix"

	"soakwarden/controller"
)

// line is one requested GPIO line. The kernel applies active-low, so that a
// value of 1 is a closed relay whatever the polarity.
type line struct {
	k  kernel
	at spot

	mu sync.Mutex
	fd int // −1 after close
}

var errClosed = errors.New("the line was given back")

// request takes a line. An output is requested with value 0, which is off,
// because active-low is part of the same call.
func (s System) request(at spot, flags uint64) (*line, error) {
	k := s.calls()
	chip, err := k.open(at.chip)
	if err != nil {
		return nil, fmt.Errorf("open %s: %w", at.chip, err)
	}
	defer k.close(chip)
	req := lineRequest{lines: 1}
	req.offsets[0] = at.offset
	copy(req.consumer[:], consumerName)
	req.config.flags = flags
	if flags&flagOutput != 0 {
		req.config.attrs = 1
		req.config.attrList[0] = lineConfigAttribute{
			attr: lineAttribute{id: unix.GPIO_V2_LINE_ATTR_ID_OUTPUT_VALUES, value: 0},
			mask: 1,
		}
	}
	if err := k.ioctl(chip, unix.GPIO_V2_GET_LINE_IOCTL, unsafe.Pointer(&req)); err != nil {
		return nil, fmt.Errorf("request %s: %w%s", at, err, s.user(chip, at, err))
	}
	return &line{k: k, at: at, fd: int(req.fd)}, nil
}

// user says who holds a busy line.
func (s System) user(chip int, at spot, err error) string {
	if !errors.Is(err, unix.EBUSY) {
		return ""
	}
	info := lineInfo{offset: at.offset}
	if s.calls().ioctl(chip, unix.GPIO_V2_GET_LINEINFO_IOCTL, unsafe.Pointer(&info)) != nil || info.flags&flagUsed == 0 {
		return ""
	}
	return fmt.Sprintf(" (held by %q)", text(info.consumer[:]))
}

func (l *line) set(closed bool) error {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.fd < 0 {
		return errClosed
	}
	v := lineValues{mask: 1}
	if closed {
		v.bits = 1
	}
	if err := l.k.ioctl(l.fd, unix.GPIO_V2_LINE_SET_VALUES_IOCTL, unsafe.Pointer(&v)); err != nil {
		return fmt.Errorf("set %s: %w", l.at, err)
	}
	return nil
}

// get reads the line: for an output the level that the pin really has, where
// the chip can tell.
func (l *line) get() (bool, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.fd < 0 {
		return false, errClosed
	}
	v := lineValues{mask: 1}
	if err := l.k.ioctl(l.fd, unix.GPIO_V2_LINE_GET_VALUES_IOCTL, unsafe.Pointer(&v)); err != nil {
		return false, fmt.Errorf("read %s: %w", l.at, err)
	}
	return v.bits&1 != 0, nil
}

func (l *line) close() error {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.fd < 0 {
		return nil
	}
	err := l.k.close(l.fd)
	l.fd = -1
	return err
}

// Input is a line that is read: feedback of a relay, a button, a door, the
// contact of a fan.
type Input struct {
	spec Spec
	line *line
}

// Pull is the resistor that an input gets.
type Pull string

// The pulls. Feedback and buttons are mostly contacts to ground: PullUp.
const (
	PullNone Pull = "none"
	PullUp   Pull = "up"
	PullDown Pull = "down"
)

// OpenInput takes a line as an input. ActiveLow says that a closed contact
// pulls the line low. A chip without resistors is asked again without one: the
// board then has its own.
func (s System) OpenInput(spec Spec, pull Pull) (*Input, error) {
	if spec.Path != "" || spec.Pin == "" {
		return nil, fmt.Errorf("input %s: only a pin can be read", spec)
	}
	at, err := s.find(spec.Pin)
	if err != nil {
		return nil, fmt.Errorf("input %s: %w", spec, err)
	}
	flags := uint64(flagInput)
	if spec.ActiveLow {
		flags |= flagActiveLow
	}
	bias := map[Pull]uint64{PullUp: flagPullUp, PullDown: flagPullDown, PullNone: flagNoPull}[pull]
	l, err := s.request(at, flags|bias)
	if errors.Is(err, unix.EINVAL) || errors.Is(err, unix.EOPNOTSUPP) {
		l, err = s.request(at, flags)
	}
	if err != nil {
		return nil, fmt.Errorf("input %s: %w", spec, err)
	}
	return &Input{spec, l}, nil
}

// Seen reads the contact. A line that cannot be read is unknown.
func (i *Input) Seen() controller.Contact {
	closed, err := i.line.get()
	switch {
	case err != nil:
		return controller.ContactUnknown
	case closed:
		return controller.ContactClosed
	}
	return controller.ContactOpen
}

// Close gives the line back.
func (i *Input) Close() error { return i.line.close() }
