package main

import (
	"errors"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"soakwarden/internal/daemon"
	"soakwarden/internal/relay"
)

// offLine is one line in the JSON of off.
type offLine struct {
	Name       string  `json:"name"`
	Place      string  `json:"place"`
	Off        bool    `json:"off"`
	Remembered bool    `json:"remembered"`
	Configured bool    `json:"configured"`
	Error      *string `json:"error"`
}

func newOffCommand() *cobra.Command {
	var o daemon.OffOptions
	var asJSON bool
	var forget string
	cmd := &cobra.Command{
		Use:   "off [-c FILE] [--state DIR]",
		Short: "Drive every relay off, whatever happens",
		Long: "Drive every relay of the configuration and every line that was ever driven off.\n" +
			"A running daemon is asked to end for 2 s and then killed. A broken or missing\n" +
			"configuration, a damaged list and a full card keep it from nothing.\n\n" +
			"A service manager may start the daemon again: stop the service to keep it off.",
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			r := daemon.Off(o)
			if forget != "" && r.AllOff() {
				if err := forgetLine(r.State, forget); err != nil {
					return err
				}
			}
			if asJSON {
				if err := printJSON(cmd.OutOrStdout(), offJSON(r)); err != nil {
					return err
				}
			} else {
				printOff(cmd.OutOrStdout(), cmd.ErrOrStderr(), r)
			}
			switch {
			case len(r.Lines) == 0:
				return errors.New("no relay is known: give the configuration with -c or the state folder with --state")
			case !r.AllOff():
				return errBadNews
			}
			return nil
		},
	}
	f := cmd.Flags()
	f.StringVarP(&o.File, "config", "c", "", "configuration, even a broken one")
	f.StringVar(&o.State, "state", "", "state folder, instead of the configuration's")
	f.StringVar(&forget, "forget", "", "forget this line afterwards, because no relay hangs on it any more (\"GPIO5\" or a path)")
	f.BoolVar(&asJSON, "json", false, "print JSON")
	return cmd
}

func printOff(out, errOut io.Writer, r *daemon.OffReport) {
	for _, p := range r.Problems {
		fmt.Fprintln(errOut, "soakwarden:", p)
	}
	for _, l := range r.Lines {
		if l.Err != nil {
			fmt.Fprintf(out, "NOT OFF  %s: %v\n", l.Spec, l.Err)
			continue
		}
		fmt.Fprintf(out, "off      %s\n", l.Spec)
	}
	if len(r.Lines) > 0 && !r.AllOff() {
		fmt.Fprintln(out, "Pull the plug of every pad: a relay could not be driven off.")
	}
}

func offJSON(r *daemon.OffReport) any {
	lines := []offLine{}
	for _, l := range r.Lines {
		one := offLine{Name: l.Spec.Name, Place: l.Spec.Place(), Off: l.Err == nil, Remembered: l.Remembered, Configured: l.Configured}
		if l.Err != nil {
			text := l.Err.Error()
			one.Error = &text
		}
		lines = append(lines, one)
	}
	problems := []string{}
	for _, p := range r.Problems {
		problems = append(problems, p.Error())
	}
	return struct {
		AllOff   bool      `json:"all_off"`
		Lines    []offLine `json:"lines"`
		Problems []string  `json:"problems"`
	}{r.AllOff(), lines, problems}
}

func forgetLine(state, place string) error {
	memory, err := relay.OpenMemory(state)
	if err != nil {
		return err
	}
	spec := relay.Spec{Pin: place}
	if place[0] == '/' {
		spec = relay.Spec{Path: place}
	}
	return memory.Forget(spec)
}
