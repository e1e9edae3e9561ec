package relay

// System is where the kernel's devices are. The zero value is the running
// system; tests give another folder.
type System struct {
	// Dev is the folder of the GPIO character devices, "/dev" when empty.
	Dev string

	kernel kernel // nil: the real one
}
