package relay

import (
	"os"
	"path/filepath"
	"slices"
	"testing"
	"unsafe"

	"golang.org/x/sys/unix"
)

// chips is a kernel with GPIO chips that speaks the real request numbers and
// structures. Every level that a line shows is kept, so that a test sees a
// pulse. A line given back floats: it becomes an input.
type chips struct {
	dev    string
	byPath map[string]*simChip
	chipFD map[int]*simChip
	lineFD map[int]*simLine
	next   int
	refuse unix.Errno // for setting values
	noRead bool       // outputs cannot be read
	noPull bool       // the chips have no pull resistors
}

type simChip struct {
	label string
	lines []*simLine
	dead  bool // does not answer
}

type simLine struct {
	name      string
	consumer  string
	output    bool
	activeLow bool
	pull      uint64 // the flag of the resistor, which stays
	high      bool   // physical level while an output
	stuck     *bool  // the level that the wire keeps, whatever is driven
	outside   bool   // level while an input
	levels    []bool // every physical level while an output
}

func newChips(t *testing.T, chip ...*simChip) (*chips, System) {
	t.Helper()
	k := &chips{
		dev: t.TempDir(), byPath: map[string]*simChip{},
		chipFD: map[int]*simChip{}, lineFD: map[int]*simLine{}, next: 100,
	}
	for i, c := range chip {
		path := filepath.Join(k.dev, "gpiochip"+string(rune('0'+i)))
		if err := os.WriteFile(path, nil, 0o600); err != nil {
			t.Fatal(err)
		}
		k.byPath[path] = c
	}
	return k, System{Dev: k.dev, kernel: k}
}

// header is a chip with the lines GPIO0 to GPIO27.
func header() *simChip {
	c := &simChip{label: "pinctrl-test"}
	for i := range 28 {
		c.lines = append(c.lines, &simLine{name: "GPIO" + itoa(i)})
	}
	return c
}

func itoa(i int) string {
	if i < 10 {
		return string(rune('0' + i))
	}
	return itoa(i/10) + string(rune('0'+i%10))
}

func (k *chips) open(path string) (int, error) {
	c, ok := k.byPath[path]
	if !ok {
		return -1, unix.ENODEV
	}
	k.next++
	k.chipFD[k.next] = c
	return k.next, nil
}

func (k *chips) close(fd int) error {
	if l, ok := k.lineFD[fd]; ok {
		l.consumer, l.output = "", false
		delete(k.lineFD, fd)
		return nil
	}
	if _, ok := k.chipFD[fd]; !ok {
		return unix.EBADF
	}
	delete(k.chipFD, fd)
	return nil
}

func (k *chips) ioctl(fd int, request uint, arg unsafe.Pointer) error {
	if l, ok := k.lineFD[fd]; ok {
		return k.lineCall(l, request, (*lineValues)(arg))
	}
	c, ok := k.chipFD[fd]
	if !ok {
		return unix.EBADF
	}
	if c.dead {
		return unix.EIO
	}
	switch request {
	case getChipInfo:
		info := (*chipInfo)(arg)
		copy(info.label[:], c.label)
		info.lines = uint32(len(c.lines))
		return nil
	case unix.GPIO_V2_GET_LINEINFO_IOCTL:
		info := (*lineInfo)(arg)
		if int(info.offset) >= len(c.lines) {
			return unix.EINVAL
		}
		l := c.lines[info.offset]
		copy(info.name[:], l.name)
		copy(info.consumer[:], l.consumer)
		if l.consumer != "" {
			info.flags |= flagUsed
		}
		return nil
	case unix.GPIO_V2_GET_LINE_IOCTL:
		return k.take(c, (*lineRequest)(arg))
	}
	return unix.ENOTTY
}

func (k *chips) take(c *simChip, r *lineRequest) error {
	if r.lines != 1 || int(r.offsets[0]) >= len(c.lines) {
		return unix.EINVAL
	}
	l := c.lines[r.offsets[0]]
	if l.consumer != "" {
		return unix.EBUSY
	}
	const pulls = flagPullUp | flagPullDown | flagNoPull
	if pull := r.config.flags & pulls; pull != 0 {
		if k.noPull {
			return unix.EINVAL
		}
		l.pull = pull
	}
	l.consumer = text(r.consumer[:])
	l.activeLow = r.config.flags&flagActiveLow != 0
	if r.config.flags&flagOutput != 0 {
		l.output = true
		value := false
		if r.config.attrs == 1 && r.config.attrList[0].attr.id == unix.GPIO_V2_LINE_ATTR_ID_OUTPUT_VALUES {
			value = r.config.attrList[0].attr.value&r.config.attrList[0].mask&1 != 0
		}
		l.drive(value)
	}
	k.next++
	k.lineFD[k.next] = l
	r.fd = int32(k.next)
	return nil
}

func (l *simLine) drive(value bool) {
	l.high = value != l.activeLow
	l.levels = append(l.levels, l.high)
}

func (k *chips) lineCall(l *simLine, request uint, v *lineValues) error {
	switch request {
	case unix.GPIO_V2_LINE_SET_VALUES_IOCTL:
		if !l.output {
			return unix.EPERM
		}
		if k.refuse != 0 {
			return k.refuse
		}
		l.drive(v.bits&v.mask&1 != 0)
		return nil
	case unix.GPIO_V2_LINE_GET_VALUES_IOCTL:
		if k.noRead {
			return unix.EOPNOTSUPP
		}
		level := l.outside
		if l.output {
			level = l.high
		}
		if l.stuck != nil {
			level = *l.stuck
		}
		v.bits = 0
		if level != l.activeLow {
			v.bits = 1
		}
		return nil
	}
	return unix.ENOTTY
}

// TestStructures compares the sizes of our structures with those that the
// kernel's request numbers carry in bits 16 to 29. Source: Linux,
// include/uapi/asm-generic/ioctl.h and the numbers of golang.org/x/sys/unix.
func TestStructures(t *testing.T) {
	for _, c := range []struct {
		name    string
		request uint
		size    uintptr
	}{
		{"gpiochip_info", getChipInfo, unsafe.Sizeof(chipInfo{})},
		{"gpio_v2_line_info", unix.GPIO_V2_GET_LINEINFO_IOCTL, unsafe.Sizeof(lineInfo{})},
		{"gpio_v2_line_request", unix.GPIO_V2_GET_LINE_IOCTL, unsafe.Sizeof(lineRequest{})},
		{"gpio_v2_line_values", unix.GPIO_V2_LINE_SET_VALUES_IOCTL, unsafe.Sizeof(lineValues{})},
	} {
		if want := uintptr(c.request >> 16 & 0x3fff); c.size != want {
			t.Errorf("%s has %d bytes, the kernel's has %d", c.name, c.size, want)
		}
	}
	// The fields in the middle, by the kernel's header (gcc, offsetof).
	for _, c := range []struct {
		name      string
		got, want uintptr
	}{
		{"line_request.consumer", unsafe.Offsetof(lineRequest{}.consumer), 256},
		{"line_request.config", unsafe.Offsetof(lineRequest{}.config), 288},
		{"line_request.num_lines", unsafe.Offsetof(lineRequest{}.lines), 560},
		{"line_request.fd", unsafe.Offsetof(lineRequest{}.fd), 588},
		{"line_config.attrs", unsafe.Offsetof(lineConfig{}.attrList), 32},
		{"line_info.flags", unsafe.Offsetof(lineInfo{}.flags), 72},
	} {
		if c.got != c.want {
			t.Errorf("%s is at %d, the kernel's is at %d", c.name, c.got, c.want)
		}
	}
}

func levels(l *simLine) []bool { return slices.Clone(l.levels) }
