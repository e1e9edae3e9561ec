package main

import (
	"errors"
	"fmt"
	"os"
	"os/signal"
	"syscall"

	"github.com/spf13/cobra"

	"soakwarden/configs"
	"soakwarden/internal/daemon"
	"soakwarden/internal/demo"
)

func newDemoCommand() *cobra.Command {
	var speed float64
	var listen, journal, board string
	cmd := &cobra.Command{
		Use:   "demo",
		Short: "The whole daemon on the built-in model, with the page in a browser",
		Long: "Runs an invented quarantine bench: two tubs and a warm cabinet. Nothing is heated but the model.\n" +
			"Choose a fault on the page and watch what the program notices. With --socket the\n" +
			"commands that speak to a running daemon (status, case, stage, round, ack, treat …)\n" +
			"can be tried on it: give them the same --socket.",
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, args []string) error {
			if !(speed >= 1 && speed <= 600) {
				return fmt.Errorf("--speed is %g: write 1 to 600 virtual seconds in a real one", speed)
			}
			state, err := os.MkdirTemp("", "soakwarden-demo-")
			if err != nil {
				return err
			}
			defer os.RemoveAll(state)
			if journal == "" {
				journal = "none"
			}
			ctx, stop := signal.NotifyContext(cmd.Context(), os.Interrupt, syscall.SIGTERM)
			defer stop()
			d := daemon.New(daemon.Options{
				File: "bench.toml", Text: configs.Bench, State: state, Listen: listen, Journal: journal, Socket: board,
				Version: version(), Parts: demo.Parts(speed),
			})
			if err := d.Start(ctx); err != nil {
				return err
			}
			if d.Address() == "" {
				return errors.Join(fmt.Errorf("the page cannot listen on %s, which is in use or no address here: write another, such as --listen 127.0.0.1:8461", listen), d.Stop())
			}
			fmt.Fprintf(cmd.OutOrStdout(), "An invented bench on the built-in model. Open http://%s in a browser; end with Ctrl-C.\n", d.Address())
			<-ctx.Done()
			return d.Stop()
		},
	}
	cmd.Flags().Float64Var(&speed, "speed", 10, "virtual seconds in a real one")
	cmd.Flags().StringVar(&listen, "listen", "127.0.0.1:8460", "address of the page")
	cmd.Flags().StringVar(&journal, "journal", "", "keep the record in this file instead of memory")
	cmd.Flags().StringVar(&board, "socket", "", "also listen on this local socket, for the commands")
	return cmd
}
