package kernel

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"periph.io/x/conn/v3/onewire"

	"soakwarden/controller"
	"soakwarden/sensors"
)

// Root is where the kernel lists masters and devices.
const Root = "/sys/bus/w1/devices"

const (
	bulkFile     = "therm_bulk_read"
	masterPrefix = "w1_bus_master"
	longestText  = 4096 // a page, the most that such a file holds
)

// Source is the probes below one folder of the kernel's.
type Source struct {
	folder string
	text   [longestText]byte
	write  func(path, text string) error
}

// New reads below folder: Root, or the folder of one master. It touches
// nothing yet.
func New(folder string) *Source { return &Source{folder: folder, write: write} }

// String names the source by its folder.
func (s *Source) String() string { return "kernel 1-Wire at " + s.folder }

// busError is an error of the bus by behaviour, of periph's kinds.
type busError struct {
	text  string
	empty bool
	err   error
}

func (e *busError) Error() string   { return e.text }
func (e *busError) BusError() bool  { return true }
func (e *busError) NoDevices() bool { return e.empty }
func (e *busError) Unwrap() error   { return e.err }

// Start converts in bulk where that is possible and blocks until it is over.
// Its errors: no master, nobody on the bus, or sensors.ErrDistrusted.
func (s *Source) Start() (sensors.Conversion, error) {
	bulk, err := s.bulk()
	if err != nil {
		return sensors.Conversion{}, err
	}
	devices, err := s.Search()
	if err != nil {
		return sensors.Conversion{}, err
	}
	if len(devices) == 0 {
		return sensors.Conversion{}, &busError{text: s.folder + " lists no device", empty: true}
	}
	if bulk == "" {
		return sensors.Conversion{EachRead: true}, nil
	}
	if err := s.write(bulk, "trigger\n"); err != nil {
		return sensors.Conversion{}, &busError{text: "conversion not started: " + err.Error(), err: err}
	}
	state, err := s.read(bulk)
	if err != nil {
		return sensors.Conversion{}, fmt.Errorf("%w: %w", sensors.ErrDistrusted, err)
	}
	if got := string(bytes.TrimSpace(state)); got != "1" {
		return sensors.Conversion{}, fmt.Errorf("%w: %s says %q after the trigger, not 1", sensors.ErrDistrusted, bulk, got)
	}
	return sensors.Conversion{}, nil
}

// bulk is the path of the file that converts for exactly the probes of this
// folder, empty when there is none.
func (s *Source) bulk() (string, error) {
	entries, err := os.ReadDir(s.folder)
	if err != nil {
		return "", &busError{text: "no 1-Wire files: " + err.Error() + "; is the driver loaded?", err: err}
	}
	var masters []string
	for _, e := range entries {
		switch {
		case e.Name() == bulkFile:
			return filepath.Join(s.folder, bulkFile), nil
		case strings.HasPrefix(e.Name(), masterPrefix):
			masters = append(masters, e.Name())
		}
	}
	if len(masters) != 1 {
		return "", nil
	}
	path := filepath.Join(s.folder, masters[0], bulkFile)
	if _, err := os.Stat(path); err != nil {
		return "", nil
	}
	return path, nil
}

// Read reads the scratchpad of one probe out of its w1_slave. An empty text,
// which the kernel gives for an absent probe as for a bad CRC, is Absent.
func (s *Source) Read(a onewire.Address, pad *[9]byte) error {
	path := filepath.Join(s.folder, sensors.FormatROM(a), "w1_slave")
	text, err := s.read(path)
	if err != nil {
		return &sensors.FlawError{Kind: controller.Absent, Err: err}
	}
	if len(text) == 0 {
		return &sensors.FlawError{Kind: controller.Absent, Err: fmt.Errorf("%s is empty", path)}
	}
	*pad, err = ParseW1Slave(text)
	if err != nil {
		return &sensors.FlawError{Kind: controller.Malformed, Err: fmt.Errorf("%s: %w", path, err)}
	}
	return nil
}

// Search lists the devices that the kernel's background search has found. It
// may be up to 100 s behind.
func (s *Source) Search() ([]onewire.Address, error) {
	entries, err := os.ReadDir(s.folder)
	if err != nil {
		return nil, &busError{text: "no 1-Wire files: " + err.Error(), err: err}
	}
	var found []onewire.Address
	for _, e := range entries {
		if a, err := sensors.ParseAddress(e.Name()); err == nil {
			found = append(found, a)
		}
	}
	return found, nil
}

// SetResolution makes a probe convert with 9 to 12 bits until it loses its
// power: the kernel writes its memory and not its EEPROM, and reads back.
func (s *Source) SetResolution(a onewire.Address, bits uint8) error {
	if bits < 9 || bits > 12 {
		return fmt.Errorf("resolution of %d bits does not exist; choose 9 to 12", bits)
	}
	path := filepath.Join(s.folder, sensors.FormatROM(a), "resolution")
	if err := s.write(path, strconv.Itoa(int(bits))+"\n"); err != nil {
		if errors.Is(err, fs.ErrNotExist) {
			return fmt.Errorf("probe %s has no resolution to set: it is absent, of a type that has one only, or the kernel is too old: %w", sensors.FormatROM(a), err)
		}
		return err
	}
	text, err := s.read(path)
	if err != nil {
		return err
	}
	if got := string(bytes.TrimSpace(text)); got != strconv.Itoa(int(bits)) {
		return fmt.Errorf("probe %s did not take %d bits, it says %q; some clones cannot", sensors.FormatROM(a), bits, got)
	}
	return nil
}

// read gives the text of a file by one raw read: helpers that read until the
// end would ask a driver's file again, which costs another conversion.
func (s *Source) read(path string) ([]byte, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	n, err := f.Read(s.text[:])
	if n == 0 && err != nil && !errors.Is(err, io.EOF) {
		return nil, err
	}
	return s.text[:n], nil
}

// write hands a driver's file its whole text in one call, without creating it.
func write(path, text string) error {
	f, err := os.OpenFile(path, os.O_WRONLY, 0)
	if err != nil {
		return err
	}
	_, err = f.WriteString(text)
	return errors.Join(err, f.Close())
}

var _ sensors.Source = &Source{}
