package ds248x

import (
	"fmt"
	"io"
	"strconv"
	"strings"

	"periph.io/x/host/v3/sysfs"
)

// Open makes a source of the bridge at an address of the I²C bus whose device
// file is path, such as /dev/i2c-1. Close what it returns when the source is no
// longer used.
func Open(path string, address uint16) (*Source, io.Closer, error) {
	digits, found := strings.CutPrefix(path, "/dev/i2c-")
	number, err := strconv.Atoi(digits)
	if !found || err != nil || number < 0 {
		return nil, nil, fmt.Errorf("%q is no I²C device file; write it as in /dev/i2c-1", path)
	}
	// The address is looked at before the bus is opened.
	if _, err := New(nil, address); err != nil {
		return nil, nil, err
	}
	bus, err := sysfs.NewI2C(number)
	if err != nil {
		return nil, nil, fmt.Errorf("open %s: %w", path, err)
	}
	s, err := New(bus, address)
	return s, bus, err
}
