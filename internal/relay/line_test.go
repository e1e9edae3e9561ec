package relay

import (
	"errors"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"golang.org/x/sys/unix"
	"periph.io/x/conn/v3/gpio"

	"soakwarden/controller"
)

func TestFirstLevelIsOff(t *testing.T) {
	for _, low := range []bool{false, true} {
		c := header()
		_, sys := newChips(t, c)
		r, err := sys.Open(Spec{Name: "pad", Pin: "GPIO5", ActiveLow: low})
		if err != nil {
			t.Fatal(err)
		}
		if got := levels(c.lines[5]); !slices.Equal(got, []bool{low}) {
			t.Errorf("active low %v: the line showed %v before it was switched", low, got)
		}
		for _, l := range []gpio.Level{gpio.High, gpio.Low} {
			if err := r.Out(l); err != nil {
				t.Fatal(err)
			}
			if closed, err := r.Closed(); err != nil || closed != bool(l) {
				t.Errorf("set %v, reads %v, %v", l, closed, err)
			}
		}
		if err := r.Close(); err != nil {
			t.Fatal(err)
		}
		// Off, on, off and off again: no other level ever stood on the line.
		if got, want := levels(c.lines[5]), []bool{low, !low, low, low}; !slices.Equal(got, want) {
			t.Errorf("active low %v: levels %v, want %v", low, got, want)
		}
		if r.Out(gpio.High) == nil {
			t.Error("a line that was given back was switched")
		}
	}
}

// A line that its process left is an input: the resistor must hold it at off.
func TestALineThatWasLeftRestsAtOff(t *testing.T) {
	for _, low := range []bool{false, true} {
		c := header()
		k, sys := newChips(t, c)
		r, err := sys.Open(Spec{Name: "pad", Pin: "GPIO17", ActiveLow: low})
		if err != nil {
			t.Fatal(err)
		}
		if err := r.Out(gpio.High); err != nil {
			t.Fatal(err)
		}
		for fd := range k.lineFD {
			_ = k.close(fd) // as the kernel does when the process is killed
		}
		if want := map[bool]uint64{false: flagPullDown, true: flagPullUp}[low]; c.lines[17].output || c.lines[17].pull != want {
			t.Errorf("active low %v: left with pull %#x, want %#x", low, c.lines[17].pull, want)
		}
	}
	c := header()
	k, sys := newChips(t, c)
	k.noPull = true
	if _, err := sys.Open(Spec{Name: "pad", Pin: "GPIO17"}); err != nil || !slices.Equal(levels(c.lines[17]), []bool{false}) {
		t.Errorf("a chip without resistors: %v, %v", err, c.lines[17].levels)
	}
}

func TestFind(t *testing.T) {
	second := &simChip{label: "expander", lines: []*simLine{{name: "K1"}, {name: "GPIO5"}, {}}}
	dead := &simChip{label: "dead", dead: true}
	first := header()
	first.lines[20].name, first.lines[21].name = "", "GPIO99"
	_, sys := newChips(t, first, second, dead)
	for _, c := range []struct{ pin, want string }{
		{"GPIO6", "gpiochip0:6"},
		{"GPIO20", "gpiochip0:20"}, // a line without a name, by its number
		{"K1", "gpiochip1:0"},
		{"gpiochip1:2", "gpiochip1:2"},
		{"expander:2", "gpiochip1:2"},
		{"pinctrl-test:27", "gpiochip0:27"},
	} {
		at, err := sys.find(c.pin)
		if err != nil || at.String() != c.want {
			t.Errorf("%s is %v, %v; want %s", c.pin, at, err, c.want)
		}
	}
	for _, c := range []struct{ pin, want string }{
		{"GPIO5", "gpiochip0:5 and of gpiochip1:1"},
		{"gpiochip1:3", "no line 3"},
		{"gpiochip9:3", "gpiochip9"},
		{"gpiochip1:x", "its chip beside it"},
		{"../x:1", "its chip beside it"},
		{"GPIO98", "gpiochip2"}, // the chip that did not answer may have it
		{"GPIO21", `named "GPIO99"`},
	} {
		if at, err := sys.find(c.pin); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s is %v, %v; want an error with %q", c.pin, at, err, c.want)
		}
	}
}

func TestNoChips(t *testing.T) {
	_, sys := newChips(t)
	if _, err := sys.Open(Spec{Name: "pad", Pin: "GPIO5"}); err == nil || !strings.Contains(err.Error(), "gpiochip") {
		t.Errorf("no chip: %v", err)
	}
}

func TestBusyLineNamesItsHolder(t *testing.T) {
	c := header()
	c.lines[5].consumer = "w1-gpio"
	_, sys := newChips(t, c)
	_, err := sys.Open(Spec{Name: "pad", Pin: "GPIO5"})
	if !errors.Is(err, unix.EBUSY) || !strings.Contains(err.Error(), `held by "w1-gpio"`) {
		t.Errorf("busy line: %v", err)
	}
	if len(c.lines[5].levels) != 0 {
		t.Error("a line that somebody else holds was driven")
	}
}

func TestReadBack(t *testing.T) {
	c := header()
	k, sys := newChips(t, c)
	r, err := sys.Open(Spec{Name: "pad", Pin: "GPIO5"})
	if err != nil {
		t.Fatal(err)
	}
	high := true
	c.lines[5].stuck = &high
	if err := r.Out(gpio.Low); err == nil || !strings.Contains(err.Error(), "something else drives") {
		t.Errorf("shorted to the supply: %v", err)
	}
	k.noRead = true
	if err := r.Out(gpio.Low); err != nil {
		t.Errorf("a chip that cannot read outputs: %v", err)
	}
	k.refuse = unix.EIO
	if err := r.Out(gpio.Low); !errors.Is(err, unix.EIO) {
		t.Errorf("a chip that refuses: %v", err)
	}
	if _, err := sys.Open(Spec{Name: "other", Pin: "GPIO6"}); err != nil {
		t.Errorf("a line that cannot be read back: %v", err)
	}
}

// A line that does not become off must not be given out, nor stay taken.
func TestOpenRefusesALineThatIsNotOff(t *testing.T) {
	c := header()
	high := true
	c.lines[5].stuck = &high
	_, sys := newChips(t, c)
	if r, err := sys.Open(Spec{Name: "pad", Pin: "GPIO5"}); err == nil {
		t.Errorf("given out: %v", r)
	}
	if c.lines[5].consumer != "" {
		t.Error("the line stays taken")
	}
}

func TestInput(t *testing.T) {
	c := header()
	_, sys := newChips(t, c)
	in, err := sys.OpenInput(Spec{Name: "pad seen", Pin: "GPIO17", ActiveLow: true}, PullUp)
	if err != nil {
		t.Fatal(err)
	}
	if got := in.Seen(); got != controller.ContactClosed {
		t.Errorf("low line: %v", got)
	}
	c.lines[17].outside = true
	if got := in.Seen(); got != controller.ContactOpen {
		t.Errorf("high line: %v", got)
	}
	if len(c.lines[17].levels) != 0 {
		t.Error("an input was driven")
	}
	if err := in.Close(); err != nil {
		t.Fatal(err)
	}
	if got := in.Seen(); got != controller.ContactUnknown {
		t.Errorf("closed input: %v", got)
	}
	if _, err := sys.OpenInput(Spec{Name: "door", Path: filepath.Join(t.TempDir(), "door")}, PullUp); err == nil {
		t.Error("a file was taken as an input")
	}
}

func TestPeriphShape(t *testing.T) {
	_, sys := newChips(t, header())
	r, err := sys.Open(Spec{Name: "pad-north", Pin: "GPIO5"})
	if err != nil {
		t.Fatal(err)
	}
	if r.Name() != "pad-north" || r.Number() != 5 || r.String() != "pad-north (pin GPIO5)" || r.Function() != "OUT" {
		t.Errorf("%s %d %s %s", r.Name(), r.Number(), r, r.Function())
	}
	if r.PWM(gpio.DutyHalf, 1) == nil {
		t.Error("a relay was chopped")
	}
}
