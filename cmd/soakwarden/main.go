// Command soakwarden watches soak tubs and heat-treats empty furnishings.
//
// Each command is a file here that parses flags, calls one package and prints.
// Exit status: 0 good, 1 the answer is bad news, 2 no answer could be given.
package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"

	"github.com/spf13/cobra"
)

// errBadNews ends a command whose answer was given and is bad news.
var errBadNews = errors.New("bad news")

// commands makes every command of the program.
var commands = []func() *cobra.Command{
	newAckCommand,
	newAssessCommand,
	newCalibrateCommand,
	newCampaignCommand,
	newCaseCommand,
	newDemoCommand,
	newCheckCommand,
	newFollowupCommand,
	newHandoverCommand,
	newHeatupCommand,
	newJournalCommand,
	newNoteCommand,
	newNotifyCommand,
	newOffCommand,
	newProbesCommand,
	newResetCommand,
	newRoundCommand,
	newRunCommand,
	newSimulateCommand,
	newSizeCommand,
	newStageCommand,
	newStatusCommand,
	newTreatCommand,
}

func newRoot() *cobra.Command {
	root := &cobra.Command{
		Use:           "soakwarden",
		Short:         "Watch soak tubs and prove the heat treatment of furnishings",
		SilenceUsage:  true,
		SilenceErrors: true,
	}
	root.CompletionOptions.DisableDefaultCmd = true
	for _, make := range commands {
		root.AddCommand(make())
	}
	explain(root)
	return root
}

// explain lets every command that is called with the wrong number of names, or
// without a flag that it needs, say how it is written.
func explain(cmd *cobra.Command) {
	for _, sub := range cmd.Commands() {
		explain(sub)
	}
	check := cmd.Args
	if check == nil || cmd.RunE == nil {
		return
	}
	cmd.Args = func(cmd *cobra.Command, args []string) error {
		err := check(cmd, args)
		if err == nil {
			err = cmd.ValidateRequiredFlags()
		}
		if err != nil {
			return fmt.Errorf("%w\nwrite: %s", err, cmd.UseLine())
		}
		return nil
	}
}

// run executes the program and returns its exit status.
func run(args []string, out, errOut io.Writer) int {
	root := newRoot()
	root.SetArgs(args)
	root.SetOut(out)
	root.SetErr(errOut)
	switch err := root.Execute(); {
	case err == nil:
		return 0
	case errors.Is(err, errBadNews):
		return 1
	default:
		fmt.Fprintln(errOut, "soakwarden:", err)
		return 2
	}
}

// printJSON writes v as indented JSON.
func printJSON(w io.Writer, v any) error {
	enc := json.NewEncoder(w)
	enc.SetIndent("", "  ")
	enc.SetEscapeHTML(false)
	return enc.Encode(v)
}

func main() { os.Exit(run(os.Args[1:], os.Stdout, os.Stderr)) }
