package main

import (
	"errors"
	"fmt"
	"os/user"
	"strings"

	"github.com/spf13/cobra"

	"soakwarden/internal/config"
	"soakwarden/internal/socket"
	"soakwarden/internal/status"
)

// boardFlags say which daemon a command speaks to.
type boardFlags struct {
	socket, config string
}

func (b *boardFlags) add(cmd *cobra.Command) {
	cmd.Flags().StringVar(&b.socket, "socket", "", "local socket of the daemon (default: the configuration's, else "+socket.DefaultPath+")")
	cmd.Flags().StringVarP(&b.config, "config", "c", "", "configuration that says where the socket is")
}

// client makes a client of the socket that the flags name. A configuration
// with mistakes in it still says where the socket is.
func (b *boardFlags) client() (*socket.Client, error) {
	path := b.socket
	if path == "" && b.config != "" {
		cfg, problems, err := config.Load(b.config)
		if err != nil {
			return nil, fmt.Errorf("configuration: %w", err)
		}
		if cfg == nil || cfg.Socket == "" {
			return nil, fmt.Errorf("configuration %s does not say where the socket is (%d mistakes, see soakwarden check); name it with --socket", b.config, len(problems))
		}
		path = cfg.Socket
	}
	if path == "" {
		path = socket.DefaultPath
	}
	return socket.NewClient(path), nil
}

// personFlags say who acts and why.
type personFlags struct {
	who, why string
}

func (p *personFlags) add(cmd *cobra.Command) {
	cmd.Flags().StringVar(&p.who, "who", "", "who does this, for the journal (default: the user who is logged in)")
	cmd.Flags().StringVar(&p.why, "why", "", "why, for the journal")
}

// name is what the person calls themselves, or the account they use.
func (p *personFlags) name() string {
	if p.who != "" {
		return p.who
	}
	if u, err := user.Current(); err == nil {
		return u.Username
	}
	return ""
}

// act sends one act and says what became of it. A refusal is bad news.
func act(cmd *cobra.Command, board *boardFlags, r status.Request) error {
	c, err := board.client()
	if err != nil {
		return err
	}
	reply, err := c.Act(cmd.Context(), r)
	if err != nil {
		return err
	}
	what := strings.TrimSpace(r.Act + " " + r.Cause)
	if strings.HasPrefix(reply.Refused, "refused") {
		fmt.Fprintln(cmd.OutOrStdout(), reply.Refused) // by the case, which says what and where
		return errBadNews
	}
	if !reply.Done {
		fmt.Fprintf(cmd.OutOrStdout(), "refused, nothing was done: %s at %s: %s\n", what, r.Station, reply.Refused)
		return errBadNews
	}
	fmt.Fprintf(cmd.OutOrStdout(), "done: %s at %s\n", what, r.Station)
	for line := range strings.Lines(reply.Next) {
		fmt.Fprintln(cmd.OutOrStdout(), "  "+strings.TrimSpace(line))
	}
	return nil
}

// errTwoWords is what a command says that wants a station and a cause.
var errTwoWords = errors.New("write the station and the cause, as soakwarden status lists them: north over-the-cutoff")

func stationAndCause(_ *cobra.Command, args []string) error {
	if len(args) != 2 {
		return errTwoWords
	}
	return nil
}
