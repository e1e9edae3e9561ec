package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"soakwarden/internal/sizing"
)

func newHeatupCommand() *cobra.Command {
	var q sizing.HeatupQuestion
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "heatup --shape slab|cylinder|bar …",
		Short: "How long a piece takes until its core is hot",
		Long: `How long a piece takes until its core is hot (or cold, in a freezer).

A slab is heated from two faces and needs --thickness; a cylinder needs
--diameter; a bar needs --width and --height. Explicit numbers override those of
the material. Ends with 1 when the core never reaches the target.`,
		Example: "  soakwarden heatup --shape cylinder --diameter 80mm --material oak --moisture 12% --start 18C --medium 60C --target 56C",
		Args:    cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			h, err := sizing.AskHeatup(q)
			if err != nil {
				return err
			}
			if asJSON {
				err = printJSON(cmd.OutOrStdout(), h)
			} else {
				_, err = fmt.Fprint(cmd.OutOrStdout(), h.Text())
			}
			if err == nil && h.Asked && h.Seconds == nil {
				err = errBadNews
			}
			return err
		},
	}
	f := cmd.Flags()
	f.StringVar(&q.Shape, "shape", "", "slab, cylinder or bar")
	f.StringVar(&q.Thickness, "thickness", "", "of a slab, the whole, such as 20mm")
	f.StringVar(&q.Width, "width", "", "of a bar's section")
	f.StringVar(&q.Height, "height", "", "of a bar's section")
	f.StringVar(&q.Diameter, "diameter", "", "of a cylinder")
	f.StringVar(&q.Material, "material", "", "what it is made of, such as oak")
	f.StringVar(&q.Moisture, "moisture", "", "of wood, as a share of the dry wood, such as 12%")
	f.StringVar(&q.Density, "density", "", "kg/m³")
	f.StringVar(&q.Conductivity, "conductivity", "", "W/mK")
	f.StringVar(&q.HeatCapacity, "heat-capacity", "", "J/kgK")
	f.StringVar(&q.Start, "start", "", "temperature of the piece at the start, with its unit")
	f.StringVar(&q.Medium, "medium", "", "temperature of the air or water around it, with its unit")
	f.StringVar(&q.Film, "film", "", "between medium and surface, W/m²K: 10 in still air, 20 to 30 with a fan, 200 and more in steam (default 20)")
	f.StringVar(&q.Target, "target", "", "temperature that the core must reach, with its unit")
	f.StringVar(&q.After, "after", "", "temperatures at this moment, such as 2h")
	f.BoolVar(&asJSON, "json", false, "print JSON")
	return cmd
}
