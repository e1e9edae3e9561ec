package daemon

import (
	"fmt"
	"strconv"
	"strings"

	"periph.io/x/devices/v3/ds248x"
	"periph.io/x/host/v3/sysfs"

	"soakwarden/internal/config"
	"soakwarden/sensors"
)

// bridge opens a 1-Wire bridge on an I²C bus of the kernel's.
func bridge(b config.Bus) (sensors.Source, error) {
	text, ok := strings.CutPrefix(b.I2C, "/dev/i2c-")
	number, err := strconv.Atoi(text)
	if !ok || err != nil {
		return nil, fmt.Errorf("bus %s: i2c %q is no I²C device: write one such as \"/dev/i2c-1\"", b.Name, b.I2C)
	}
	wire, err := sysfs.NewI2C(number)
	if err != nil {
		return nil, fmt.Errorf("bus %s: %w", b.Name, err)
	}
	chip, err := ds248x.New(wire, b.Address, &ds248x.DefaultOpts)
	if err != nil {
		return nil, fmt.Errorf("bus %s: %w", b.Name, err)
	}
	return sensors.NewOneWire(chip), nil
}
