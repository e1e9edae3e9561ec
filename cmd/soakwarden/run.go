package main

import (
	"context"
	"log/slog"
	"os/signal"
	"syscall"
	"time"

	"github.com/spf13/cobra"

	"soakwarden/internal/daemon"
)

func newRunCommand() *cobra.Command {
	var o daemon.Options
	var verbose bool
	cmd := &cobra.Command{
		Use:   "run -c FILE",
		Short: "Run the daemon on hardware",
		Long: "Run the daemon on hardware until it is told to stop (interrupt or SIGTERM).\n" +
			"It drives every relay off before it starts and after it ends. For a crash,\n" +
			"let the service manager run \"soakwarden off\" after every stop.",
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			ctx, stop := signal.NotifyContext(cmd.Context(), syscall.SIGINT, syscall.SIGTERM, syscall.SIGHUP)
			defer stop()
			out := daemon.NewAsyncWriter(cmd.ErrOrStderr())
			defer func() {
				give, done := context.WithTimeout(context.Background(), time.Second)
				defer done()
				out.Close(give.Done())
			}()
			level := slog.LevelInfo
			if verbose {
				level = slog.LevelDebug
			}
			o.Log = slog.New(slog.NewTextHandler(out, &slog.HandlerOptions{Level: level}))
			o.Version = version()
			return daemon.New(o).Run(ctx)
		},
	}
	f := cmd.Flags()
	f.StringVarP(&o.File, "config", "c", "", "configuration")
	f.StringVar(&o.State, "state", "", "state folder, instead of the configuration's")
	f.StringVar(&o.Listen, "listen", "", "address of the page, instead of the configuration's")
	f.BoolVar(&verbose, "verbose", false, "log every part that starts and stops")
	_ = cmd.MarkFlagRequired("config")
	return cmd
}
