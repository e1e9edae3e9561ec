package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"soakwarden/internal/config"
	"soakwarden/internal/sizing"
)

func newSizeCommand() *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "size FILE",
		Short: "Heat budget of each station: does this pad suit this tub",
		Long: `Heat budget of each station: warming up, holding, a relay that sticks on, a power
cut, evaporation, the floor; and a verdict.

A file whose mistakes are not about heat is answered too, and they are printed
beside the answer. Ends with 1 when a station is dangerous, 2 without an answer.`,
		Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			sizes, problems, err := sizing.SizeFile(args[0])
			if err != nil {
				return err
			}
			if config.Unusable(problems) {
				fmt.Fprint(cmd.ErrOrStderr(), config.Text(args[0], problems))
			}
			if sizes == nil {
				return fmt.Errorf("%s has mistakes about heat: mend them first", args[0])
			}
			if asJSON {
				err = printJSON(cmd.OutOrStdout(), map[string]any{"stations": sizes})
			} else {
				for _, s := range sizes {
					fmt.Fprintln(cmd.OutOrStdout(), s.Text())
				}
			}
			for _, s := range sizes {
				if err == nil && s.Verdict == sizing.Dangerous {
					err = errBadNews
				}
			}
			return err
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print JSON")
	return cmd
}
