package main

import (
	"fmt"
	"io"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"soakwarden/internal/config"
	"soakwarden/internal/handover"
	"soakwarden/internal/status"
)

func newHandoverCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "handover",
		Short: "Papers for the wall and for whoever looks after the animals: sheet, labels, note",
	}
	cmd.AddCommand(newHandoverSheetCommand(), newHandoverLabelsCommand(), newHandoverNoteCommand())
	return cmd
}

// paperFlags are what the papers have in common.
type paperFlags struct {
	phones []string
	units  string
}

func (p *paperFlags) add(cmd *cobra.Command) {
	cmd.Flags().StringArrayVar(&p.phones, "phone", nil, "whom to call, as \"keeper=number\"; several times")
	cmd.Flags().StringVar(&p.units, "units", "both", "C, F or both")
}

func (p *paperFlags) options() (handover.Options, error) {
	o := handover.Options{At: time.Now()}
	var err error
	if o.Units, err = status.ParseUnits(p.units); err != nil {
		return o, err
	}
	for _, text := range p.phones {
		who, number, ok := strings.Cut(text, "=")
		if who, number = strings.TrimSpace(who), strings.TrimSpace(number); !ok || who == "" || number == "" {
			return o, fmt.Errorf("--phone %q: write who and the number, as \"keeper=number\"", text)
		}
		for _, s := range []string{who, number} {
			if err := status.CheckText("--phone", s, status.MaxWho); err != nil {
				return o, err
			}
		}
		o.Phones = append(o.Phones, handover.Phone{Who: who, Number: number})
	}
	return o, nil
}

// papersOf reads the configuration for paper; one with mistakes makes none.
func papersOf(path string) (*config.Config, error) {
	cfg, problems, err := config.Load(path)
	if err != nil {
		return nil, fmt.Errorf("configuration: %w", err)
	}
	if cfg == nil {
		return nil, fmt.Errorf("configuration %s has %d mistakes: see soakwarden check", path, len(problems))
	}
	return cfg, nil
}

func newHandoverSheetCommand() *cobra.Command {
	var paper paperFlags
	var station, out string
	cmd := &cobra.Command{
		Use:   "sheet FILE --phone keeper=NUMBER --out wall.pdf",
		Short: "The wall sheet of each tub: one A4 page, PDF or HTML, to print",
		Args:  cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			o, err := paper.options()
			if err != nil {
				return err
			}
			cfg, err := papersOf(args[0])
			if err != nil {
				return err
			}
			sheets, err := handover.Sheets(cfg, station, o)
			if err != nil {
				return err
			}
			write := handover.WriteSheets
			if isPDF(out) {
				write = handover.PDFSheets
			}
			return writePaper(cmd, out, func(w io.Writer) error { return write(w, sheets) })
		},
	}
	paper.add(cmd)
	cmd.Flags().StringVar(&station, "station", "", "only this tub")
	cmd.Flags().StringVarP(&out, "out", "o", "", "the new file to write, .pdf or .html; without it HTML on the standard output")
	return cmd
}

func newHandoverLabelsCommand() *cobra.Command {
	var out string
	cmd := &cobra.Command{
		Use:   "labels FILE --out labels.pdf",
		Short: "Labels for enclosure, tub, probes and plugs, A4, PDF or HTML, to print",
		Args:  cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			cfg, err := papersOf(args[0])
			if err != nil {
				return err
			}
			write := handover.WriteLabels
			if isPDF(out) {
				write = handover.PDFLabels
			}
			return writePaper(cmd, out, func(w io.Writer) error { return write(w, handover.Labels(cfg)) })
		},
	}
	cmd.Flags().StringVarP(&out, "out", "o", "", "the new file to write, .pdf or .html; without it HTML on the standard output")
	return cmd
}

func newHandoverNoteCommand() *cobra.Command {
	var board boardFlags
	var paper paperFlags
	var out string
	cmd := &cobra.Command{
		Use:   "note --phone keeper=NUMBER",
		Short: "A note for whoever takes over: where every case stands and what is due",
		Args:  cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			o, err := paper.options()
			if err != nil {
				return err
			}
			c, err := board.client()
			if err != nil {
				return err
			}
			now, err := c.Status(cmd.Context())
			if err != nil {
				return err
			}
			cases, err := c.Cases(cmd.Context())
			if err != nil {
				return err
			}
			text := handover.Note(now.Name, now, cases, o)
			return writePaper(cmd, out, func(w io.Writer) error { _, err := io.WriteString(w, text); return err })
		},
	}
	board.add(cmd)
	paper.add(cmd)
	cmd.Flags().StringVarP(&out, "out", "o", "", "the new file to write; without it the standard output")
	return cmd
}

func isPDF(name string) bool { return strings.EqualFold(filepath.Ext(name), ".pdf") }

func writePaper(cmd *cobra.Command, name string, write func(io.Writer) error) error {
	if name == "" {
		return write(cmd.OutOrStdout())
	}
	return writeFile(name, write)
}
