package main

import (
	"errors"
	"fmt"
	"log/slog"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"soakwarden/internal/config"
	"soakwarden/internal/daemon"
	"soakwarden/internal/notify"
)

func newNotifyCommand() *cobra.Command {
	cmd := &cobra.Command{Use: "notify", Short: "How alarms reach a person"}
	cmd.AddCommand(newNotifyTestCommand())
	return cmd
}

func newNotifyTestCommand() *cobra.Command {
	var file string
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "test -c FILE",
		Short: "Send a test message to every webhook of a configuration",
		Args:  cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			cfg, err := loadConfig(file)
			if err != nil {
				return err
			}
			o, err := daemon.NotifyOptions(cfg, slog.New(slog.DiscardHandler))
			if err != nil {
				return err
			}
			if len(o.Targets) == 0 {
				return fmt.Errorf("%s has no webhook: write [[notify.webhook]] with a name and a url", file)
			}
			outcomes := notify.New(o).Test(cmd.Context())
			if asJSON {
				if err := printJSON(cmd.OutOrStdout(), map[string]any{"webhooks": outcomes}); err != nil {
					return err
				}
			}
			failed := false
			for _, t := range outcomes {
				failed = failed || !t.OK
				switch {
				case asJSON:
				case t.OK:
					fmt.Fprintf(cmd.OutOrStdout(), "reached      %s at %s in %v\n", t.Target, t.Host, t.Took.Round(time.Millisecond))
				default:
					fmt.Fprintf(cmd.OutOrStdout(), "NOT REACHED  %s at %s: %s\n", t.Target, t.Host, t.Error)
				}
			}
			if failed {
				return errBadNews
			}
			return nil
		},
	}
	cmd.Flags().StringVarP(&file, "config", "c", "", "configuration")
	cmd.Flags().BoolVar(&asJSON, "json", false, "print JSON")
	_ = cmd.MarkFlagRequired("config")
	return cmd
}

// loadConfig reads a configuration that must be free of mistakes.
func loadConfig(file string) (*config.Config, error) {
	cfg, problems, err := config.Load(file)
	if err != nil {
		return nil, err
	}
	if cfg != nil {
		return cfg, nil
	}
	lines := []string{"the configuration has mistakes:"}
	for _, p := range problems {
		if p.Severity == config.Error {
			lines = append(lines, fmt.Sprintf("%s:%d:%d: %s", file, p.Line, p.Column, p.Message))
		}
	}
	return nil, errors.New(strings.Join(lines, "\n"))
}
