// Package kernel reads 1-Wire probes through the files of the Linux kernel's
// own driver.
//
// It decides nothing about temperatures: it hands over the nine raw bytes, and
// sensors.Judge says what they mean. It does not use the kernel's files of
// ready-made temperatures. They repeat an older, plausible value after a bad
// CRC, take nine zero bytes for 0 °C, and answer some errors with an empty text.
//
// Bulk conversions: writing "trigger" and a newline to the master's
// therm_bulk_read starts a conversion in all its probes and returns when it is
// over. The write succeeds even when the conversion did not, so the state is
// read back: anything but 1 and the whole cycle is distrusted. Each w1_slave
// then gives the scratchpad without a conversion of its own. Without that file
// each read converts, one probe after another; reading in parallel would not
// help, because a conversion holds the bus. A DS28EA00 takes no part in bulk
// conversions: its read converts, and its moment is given as that of the bulk,
// which makes it up to a second older than it is.
//
// The file exists on one master only. So the folder of one master is read in
// bulk, and a folder with several masters one probe after another, because the
// probes of the others would give the memory of an earlier cycle.
//
// A folder of a probe stays for about 100 s after it was unplugged, and one of
// a new probe comes with the next background search, up to 10 s later. What
// counts is whether it was read in this cycle.
//
// A read has no deadline and can hang for as long as the adapter does:
// sensors.Bus gives such a call up.
//
// Source: the kernel's Documentation/w1/slaves/w1_therm.rst.
package kernel
