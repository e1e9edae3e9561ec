package main

import (
	"bytes"
	"net"
	"strings"
	"testing"
)

// Whoever calls a command with too little or too much reads how it is written.
func TestWrongCallsSayHowItIsWritten(t *testing.T) {
	t.Parallel()
	for call, want := range map[string]string{
		"check":          "soakwarden check FILE",
		"check a b":      "soakwarden check FILE",
		"run":            "soakwarden run -c FILE",
		"status north":   "soakwarden status",
		"journal verify": "soakwarden journal verify FILE",
		"calibrate":      "--probe ROM",
	} {
		var out, errOut bytes.Buffer
		if code := run(strings.Fields(call), &out, &errOut); code != 2 || !strings.Contains(errOut.String(), "\nwrite: ") || !strings.Contains(errOut.String(), want) {
			t.Errorf("%s: exit %d: %s%s", call, code, &out, &errOut)
		}
	}
}

// A demonstration whose page nobody can open is none.
func TestDemoWithoutAPage(t *testing.T) {
	t.Parallel()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	var out, errOut bytes.Buffer
	code := run([]string{"demo", "--listen", l.Addr().String()}, &out, &errOut)
	if code != 2 || out.Len() > 0 || !strings.Contains(errOut.String(), "write another, such as --listen") {
		t.Errorf("exit %d: %s%s", code, &out, &errOut)
	}
}
