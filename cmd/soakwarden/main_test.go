package main

import (
	"os"
	"testing"
)

// asProgram makes the test binary be the program itself, so that tests start,
// stop and kill the real thing.
const asProgram = "SOAKWARDEN_TEST_PROGRAM"

func TestMain(m *testing.M) {
	if os.Getenv(asProgram) != "" {
		main()
		return
	}
	os.Exit(m.Run())
}
