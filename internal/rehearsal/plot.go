package rehearsal

import (
	"fmt"
	"image/color"
	"path/filepath"
	"strings"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"

	"soakwarden/controller"
	"soakwarden/internal/config"
)

// PlotAll draws every tub: the first into path, further ones into files beside
// it with the station's name before the ending.
func PlotAll(path string, cfg *config.Config, samples []*Sample) error {
	first := true
	for i := range cfg.Stations {
		if cfg.Stations[i].Kind != controller.Tub {
			continue
		}
		to := path
		if !first {
			ending := filepath.Ext(path)
			to = strings.TrimSuffix(path, ending) + "-" + cfg.Stations[i].Name + ending
		}
		first = false
		if err := Plot(to, cfg, i, samples); err != nil {
			return err
		}
	}
	return nil
}

// Plot draws the samples of one station: water and floor of the model, the
// readings, the set point with its band, cutoff and warning line, and below
// them when heat flowed. The ending of path chooses the format (svg, png, pdf).
func Plot(path string, cfg *config.Config, station int, samples []*Sample) error {
	st := &cfg.Stations[station]
	p := plot.New()
	p.Title.Text = fmt.Sprintf("%s, %s (model)", cfg.Name, st.Name)
	p.X.Label.Text = "time [h]"
	p.Y.Label.Text = "temperature [°C]"
	p.Add(plotter.NewGrid())
	p.Legend.Top = true

	curve := func(name string, grey uint8, width vg.Length, dashes []vg.Length, value func(*Sample) (float64, bool)) error {
		var points plotter.XYs
		for _, s := range samples {
			if v, ok := value(s); ok {
				points = append(points, plotter.XY{X: s.At.Hours(), Y: v})
			}
		}
		if len(points) == 0 {
			return nil
		}
		line, err := plotter.NewLine(points)
		if err != nil {
			return err
		}
		line.Color, line.Width, line.Dashes = color.Gray{Y: grey}, width, dashes
		p.Add(line)
		p.Legend.Add(name, line)
		return nil
	}
	level := func(c float64) func(*Sample) (float64, bool) {
		return func(*Sample) (float64, bool) { return c, true }
	}
	dash, dot := []vg.Length{vg.Points(6), vg.Points(3)}, []vg.Length{vg.Points(1), vg.Points(3)}
	probe := func(role string) func(*Sample) (float64, bool) {
		return func(s *Sample) (float64, bool) { v, ok := s.Stations[station].Probes[role]; return v, ok }
	}
	lowest := celsius(st.TooCold) - 1.5
	for _, c := range []struct {
		name   string
		grey   uint8
		width  vg.Length
		dashes []vg.Length
		value  func(*Sample) (float64, bool)
	}{
		{"guard, as read", 190, 0.5, nil, probe("guard")},
		{"control, as read", 140, 0.5, nil, probe("control")},
		{"floor over the pad", 120, 0.75, dot, func(s *Sample) (float64, bool) { return s.Stations[station].FloorC, true }},
		{"water", 0, 1.25, nil, func(s *Sample) (float64, bool) { return s.Stations[station].WaterC, true }},
		{"set point that governs", 60, 0.5, dash, func(s *Sample) (float64, bool) {
			v := s.Stations[station].Effect
			return v, v > 0
		}},
		{"cutoff", 0, 1, dash, level(celsius(st.Cutoff))},
		{"too cold", 0, 1, dash, level(celsius(st.TooCold))},
		{"heat flows", 0, 2, nil, func(s *Sample) (float64, bool) {
			if s.Stations[station].HeatOn {
				return lowest + 0.5, true
			}
			return lowest, true
		}},
	} {
		if err := curve(c.name, c.grey, c.width, c.dashes, c.value); err != nil {
			return err
		}
	}
	return p.Save(24*vg.Centimeter, 14*vg.Centimeter, path)
}
