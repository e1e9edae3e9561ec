// Package relay drives relays: GPIO lines by the kernel's GPIO v2 line request,
// and plain files (LED class).
//
// It decides how a relay is switched and nothing else: never whether. It never
// pulses a line and never reconfigures one: polarity and the off level travel
// in the same request that makes the line an output, so that the first level a
// line shows is off.
//
// Invariants:
//   - a Relay speaks in contacts: High means closed; polarity stays inside;
//   - no line is driven before its place and off level are on disk (Memory),
//     so that whatever was ever driven can be driven off later;
//   - nothing is driven by the daemon before the state folder is locked;
//   - driving off never stops at the first failure: failures are collected.
//
// Source: Linux, include/uapi/linux/gpio.h (GPIO v2 user-space API);
// Documentation/leds/leds-class.rst.
package relay
