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

Ends with 1 when a station is dangerous, 2 when the configuration has mistakes.`,
		Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			cfg, problems, err := config.Load(args[0])
			if err != nil {
				return err
			}
			if cfg == nil {
				fmt.Fprint(cmd.ErrOrStderr(), config.Text(args[0], problems))
				return fmt.Errorf("%s has mistakes: mend them first", args[0])
			}
			sizes, err := sizing.SizeAll(cfg)
			if err != nil {
				return err
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
