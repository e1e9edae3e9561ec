package main

import (
	"fmt"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"soakwarden/controller/procedure"
)

func newCaseRoomCommand() *cobra.Command {
	var asJSON bool
	var settled, quarantine, infested []string
	cmd := &cobra.Command{
		Use:   "room",
		Short: "How a room with mites is worked: the order, hands, tools, what to heat, freeze, wash, throw away",
		Long: `How a room with mites is worked. With the enclosures of the room, each once, it
also says in which order: settled and clean first, then quarantine from the
longest to the newest, infested last. NAME=DAYS says how many days ago the
animal came.`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			var room []procedure.Neighbour
			for _, name := range settled {
				room = append(room, procedure.Neighbour{Name: name, Settled: true})
			}
			for i, list := range [][]string{quarantine, infested} {
				for _, text := range list {
					name, days, ok := strings.Cut(text, "=")
					n, err := strconv.Atoi(days)
					if !ok || err != nil || n < 0 || name == "" {
						return fmt.Errorf("%q: write the name and how many days ago its animal came, as rack-2=14", text)
					}
					room = append(room, procedure.Neighbour{Name: name, Arrived: n, Infested: i == 1})
				}
			}
			work := workOf{Order: []string{}, Advice: procedure.RoomAdvice()}
			for _, n := range procedure.Work(room) {
				work.Order = append(work.Order, n.Name)
			}
			if asJSON {
				return printJSON(cmd.OutOrStdout(), work)
			}
			for i, name := range work.Order {
				fmt.Fprintf(cmd.OutOrStdout(), "%3d. %s\n", i+1, name)
			}
			for _, a := range work.Advice {
				if _, err := fmt.Fprintf(cmd.OutOrStdout(), "%-11s %s\n", a.What, a.How); err != nil {
					return err
				}
			}
			return nil
		},
	}
	f := cmd.Flags()
	f.StringSliceVar(&settled, "settled", nil, "enclosures that are clean and not in quarantine")
	f.StringSliceVar(&quarantine, "quarantine", nil, "enclosures in quarantine, NAME=DAYS")
	f.StringSliceVar(&infested, "infested", nil, "enclosures with mites, NAME=DAYS")
	f.BoolVar(&asJSON, "json", false, "print JSON")
	return cmd
}

// workOf is the order of work in a room.
type workOf struct {
	Order  []string           `json:"order"`
	Advice []procedure.Advice `json:"advice"`
}
