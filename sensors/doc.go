// Package sensors reads the temperature probes of 1-Wire buses.
//
// It decides what a probe said: one judge for raw scratchpads, whatever they
// came through, then a tracker that lets a jump wait for a second reading, then
// the calibration. It never decides what that means for the heat, and it never
// invents: what was not read in this cycle does not exist in it.
//
// A Bus runs one cycle after another: start a conversion in every probe, wait,
// read each raw scratchpad, judge, calibrate, and publish the complete cycle at
// once. Latest never blocks, so a slow or hung bus delays nobody.
//
// Invariants:
//
//   - a reading is Good only when its nine bytes were read in this cycle, were
//     judged without a flaw, and do not jump;
//   - a bad reading has the zero value, never the last good one;
//   - Run owns at most one goroutine beside its own for each bus, however long
//     an adapter hangs; what it answers late is thrown away;
//   - nothing here writes to a probe's EEPROM.
//
// Sources: data sheets DS18B20, DS18S20, DS1822, DS1825 and DS28EA00 (layout of
// the scratchpad, conversion times); Maxim application note 27 (CRC-8); the
// kernel's Documentation/w1/slaves/w1_therm.rst; JCGM 100, the guide to the
// expression of uncertainty in measurement (root sum of squares, k = 2).
package sensors
