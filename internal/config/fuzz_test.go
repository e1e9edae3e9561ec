package config

import (
	"reflect"
	"strings"
	"testing"

	"periph.io/x/conn/v3/physic"
)

// FuzzParse holds that no text makes Parse panic, that every problem has a
// place and words, that settings come out exactly when there is no error, and
// that what parses clean parses again to the same.
func FuzzParse(f *testing.F) {
	for _, name := range []string{"tub.toml", "bench.toml", "reference.toml"} {
		f.Add([]byte(example(f, name)))
	}
	text, _ := marked(twelve)
	f.Add([]byte(text))
	for _, s := range indexSeeds {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		cfg, problems := Parse("fuzz.toml", data)
		errors := 0
		for _, p := range problems {
			if p.Line < 1 || p.Column < 1 || p.Message == "" {
				t.Errorf("a problem without a place or words: %+v", p)
			}
			if p.Severity == Error {
				errors++
			}
		}
		if (cfg == nil) != (errors > 0) {
			t.Errorf("settings %v with %d errors", cfg != nil, errors)
		}
		relays := RelaysOnly(data)
		again, problemsAgain := Parse("fuzz.toml", data)
		if !reflect.DeepEqual(cfg, again) || !reflect.DeepEqual(problems, problemsAgain) {
			t.Error("the same text parses differently the second time")
		}
		if cfg == nil {
			return
		}
		if !reflect.DeepEqual(relays, cfg.Relays) && len(relays)+len(cfg.Relays) > 0 {
			t.Errorf("relays alone %+v, in the settings %+v", relays, cfg.Relays)
		}
		for _, s := range cfg.Stations {
			if !s.Sizeable() {
				t.Errorf("clean and not sizeable: %+v", s)
			}
			if s.SetPoint > HighestTarget || s.Tub.Depth > 0.15 || s.Cutoff > physic.ZeroCelsius+75*physic.Celsius {
				t.Errorf("a bound was passed: %+v", s)
			}
		}
	})
}

// FuzzTemperature holds that what is read is written with a unit, and exactly
// what the number says to a nanokelvin.
func FuzzTemperature(f *testing.F) {
	for _, s := range []string{"85F", "29.4C", "85 °F", "-40 C", "−40°F", "0.5F", "85", "1e3C", "85mC", ".5C", "٣C"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		c, err := ParseTemperature(s)
		if err != nil {
			return
		}
		if c < 0 || c > physic.ZeroCelsius+1_000_000_000*physic.Celsius {
			t.Errorf("%q is %d nK", s, c)
		}
		d, err := ParseDifference(s)
		if err != nil {
			t.Errorf("%q is a temperature and no difference: %v", s, err)
		}
		s = strings.TrimSpace(s)
		last := s[len(s)-1] | 0x20
		want := physic.Temperature(d) + physic.ZeroCelsius
		if last == 'f' {
			want -= 17777777778
		}
		if diff := c - want; diff < -1 || diff > 1 {
			t.Errorf("%q is %d nK as a temperature and %d from the difference", s, c, want)
		}
	})
}
