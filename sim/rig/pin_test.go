package rig

import (
	"testing"

	"periph.io/x/conn/v3/gpio"
	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
)

func TestContactFollowsTheCoilUnlessAFaultSaysOtherwise(t *testing.T) {
	for _, c := range []struct {
		name      string
		breaks    func(*Pin)
		low, high bool // the contact at either level
	}{
		{"sound", func(*Pin) {}, false, true},
		{"welded", (*Pin).WeldsShut, true, true},
		{"never closes", (*Pin).NeverCloses, false, false},
		{"inverted", func(p *Pin) { p.Inverts(true) }, true, false},
		{"recovered", func(p *Pin) { p.WeldsShut(); p.Recovers() }, false, true},
		{"without power", func(p *Pin) { p.Power(false) }, false, false},
		{"welded without power", func(p *Pin) { p.WeldsShut(); p.Power(false) }, true, true},
	} {
		for level, want := range map[gpio.Level]bool{gpio.Low: c.low, gpio.High: c.high} {
			p := NewPin("pad")
			c.breaks(p)
			if err := p.Out(level); err != nil {
				t.Fatal(err)
			}
			if p.Closed() != want {
				t.Errorf("%s at %v: closed is %v", c.name, level, p.Closed())
			}
			seen := map[bool]controller.Contact{true: controller.ContactClosed, false: controller.ContactOpen}[want]
			if p.Seen() != seen {
				t.Errorf("%s at %v: the auxiliary contact says %v", c.name, level, p.Seen())
			}
		}
	}
}

func TestZeroPinIsAnOpenRelay(t *testing.T) {
	var p Pin
	if p.Closed() || p.Commanded() {
		t.Error("a forgotten relay is closed")
	}
}

func TestRefusedWriteLeavesTheContactAndIsCounted(t *testing.T) {
	p := NewPin("pad")
	if err := p.Out(gpio.High); err != nil {
		t.Fatal(err)
	}
	p.RefusesWrites(true)
	for range 3 {
		if p.Out(gpio.Low) == nil {
			t.Fatal("the line took a value")
		}
	}
	if !p.Closed() || !p.Commanded() || p.refused != 3 {
		t.Errorf("closed %v, commanded %v, refused %d", p.Closed(), p.Commanded(), p.refused)
	}
	p.RefusesWrites(false)
	if err := p.Out(gpio.Low); err != nil || p.Closed() {
		t.Errorf("the line does not work again: %v", err)
	}
}

// After a power cut an output floats at off until somebody writes it.
func TestPowerCutOpensAndStaysOpen(t *testing.T) {
	p := NewPin("pad")
	if err := p.Out(gpio.High); err != nil {
		t.Fatal(err)
	}
	p.Power(false)
	p.Power(true)
	if p.Closed() || p.Commanded() {
		t.Error("the relay closed by itself when the power returned")
	}
}

func TestChatteringContactIsClosedEveryOtherSecond(t *testing.T) {
	p := NewPin("pad")
	p.Chatters()
	if err := p.Out(gpio.High); err != nil {
		t.Fatal(err)
	}
	closed := 0
	for n := range int64(100) {
		before := p.Closed()
		p.tick(n + 1)
		if p.Closed() == before {
			t.Fatal("it did not move")
		}
		if before {
			closed++
		}
	}
	if closed != 50 {
		t.Errorf("closed in %d of 100 s", closed)
	}
	if err := p.Out(gpio.Low); err != nil {
		t.Fatal(err)
	}
	for n := range int64(2) {
		if p.tick(n); p.Closed() {
			t.Error("it closes without its coil")
		}
	}
}

func TestPinIsPeriphs(t *testing.T) {
	p := NewPin("pad-north")
	if p.Name() != "pad-north" || p.String() != "simulated relay pad-north" || p.Number() != -1 {
		t.Errorf("%q %q %d", p.Name(), p.String(), p.Number())
	}
	if p.Function() != "Out/Low" || p.Out(gpio.High) != nil || p.Function() != "Out/High" {
		t.Errorf("function %q", p.Function())
	}
	if p.PWM(gpio.DutyHalf, physic.Hertz) == nil {
		t.Error("a relay was pulsed")
	}
	if p.Halt() != nil || !p.Closed() {
		t.Error("halting a relay moved it")
	}
}
