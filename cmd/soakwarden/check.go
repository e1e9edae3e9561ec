package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"soakwarden/internal/config"
	"soakwarden/internal/sizing"
)

func newCheckCommand() *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "check FILE",
		Short: "Every mistake in a configuration, with line and column",
		Long: `Every mistake in a configuration, with line and column and what to write instead.

Ends with 0 when the file may be used (warnings and advice may stand beside it),
1 when it has mistakes, 2 when it cannot be read.`,
		Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			problems, err := sizing.CheckFile(args[0])
			if err != nil {
				return err
			}
			if asJSON {
				err = printJSON(cmd.OutOrStdout(), map[string]any{"problems": problems})
			} else {
				_, err = fmt.Fprint(cmd.OutOrStdout(), config.Text(args[0], problems))
			}
			if err == nil && config.Unusable(problems) {
				err = errBadNews
			}
			return err
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print JSON")
	return cmd
}
