package sensors

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"time"

	"periph.io/x/conn/v3/physic"
)

// ReadColumn reads one probe's column out of a CSV file: a header, the time
// (RFC 3339) first, one column a probe with its unit in the header, as in
// "28-0316a2795cff [C]" or "north (°F)". The column is the one whose header
// holds name, or the only one.
//
// Errors name the line and what to write.
func ReadColumn(r io.Reader, name string) ([]physic.Temperature, error) {
	rows := csv.NewReader(r)
	rows.TrimLeadingSpace = true
	header, err := rows.Read()
	if err != nil {
		return nil, fmt.Errorf("no header: the first line must be such as \"time,%s [C]\": %w", name, err)
	}
	column, err := findColumn(header, name)
	if err != nil {
		return nil, err
	}
	fahrenheit, err := unitOf(header[column])
	if err != nil {
		return nil, err
	}
	var readings []physic.Temperature
	for {
		row, err := rows.Read()
		if errors.Is(err, io.EOF) {
			return readings, nil
		}
		if err != nil {
			return nil, err
		}
		line, _ := rows.FieldPos(column)
		if _, err := time.Parse(time.RFC3339Nano, row[0]); err != nil {
			return nil, fmt.Errorf("line %d: %q is no time; write it as in 2026-03-01T10:00:00Z", line, row[0])
		}
		degrees, err := strconv.ParseFloat(strings.TrimSpace(row[column]), 64)
		if fahrenheit {
			degrees = (degrees - 32) / 1.8
		}
		if err != nil || !(degrees >= -55 && degrees <= 125) {
			return nil, fmt.Errorf("line %d: %q is no temperature between −55 and 125 °C", line, row[column])
		}
		micro := math.RoundToEven(degrees * 1e6)
		readings = append(readings, physic.ZeroCelsius+physic.Temperature(micro)*physic.MicroKelvin)
	}
}

func findColumn(header []string, name string) (int, error) {
	if len(header) == 2 {
		return 1, nil
	}
	found := 0
	for i, h := range header[1:] {
		if name != "" && strings.Contains(strings.ToLower(h), strings.ToLower(name)) {
			if found != 0 {
				return 0, fmt.Errorf("two columns hold %q in their header; leave one", name)
			}
			found = i + 1
		}
	}
	if found == 0 {
		return 0, fmt.Errorf("no column has %q in its header; name it such as \"%s [C]\"", name, name)
	}
	return found, nil
}

func unitOf(header string) (fahrenheit bool, err error) {
	open := strings.LastIndexAny(header, "[(")
	unit := ""
	if open >= 0 {
		unit = strings.TrimRight(header[open+1:], " )]")
	}
	switch strings.TrimPrefix(unit, "°") {
	case "C":
		return false, nil
	case "F":
		return true, nil
	}
	return false, fmt.Errorf("column %q has no unit; write [C] or [F] behind its name", header)
}
