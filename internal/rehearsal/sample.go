package rehearsal

import (
	"encoding/csv"
	"io"
	"strconv"
	"time"

	"soakwarden/controller"
	"soakwarden/internal/loop"
)

// Sample is one moment of a run for curves: the model's truth beside what the
// probes gave.
type Sample struct {
	At       time.Duration
	RoomC    float64
	Stations []StationSample
}

// StationSample is one station's part of a Sample. Temperatures are °C; a probe
// without a good reading is absent from Probes.
type StationSample struct {
	Name    string
	WaterC  float64
	FloorC  float64
	DepthMM float64
	HeatOn  bool // current really flows
	Asked   bool // the program wants it to
	Permit  bool
	Effect  float64            // the set point that governs, °C
	Probes  map[string]float64 // by role
}

// sample collects one moment.
func (r *Run) sample(now time.Duration, res *loop.Result) *Sample {
	s := &Sample{At: now, RoomC: r.bench.Room()}
	for i := range r.scenario.Config.Stations {
		st := &r.scenario.Config.Stations[i]
		v := StationSample{
			Name: st.Name, WaterC: r.bench.Water(i), FloorC: r.bench.Floor(i), DepthMM: 1000 * r.bench.Truth(i).Depth,
			HeatOn: r.bench.Heats(i), Probes: map[string]float64{},
		}
		if res != nil {
			part := &res.Stations[i]
			v.Asked = part.Output.Command.Heat(st.SeriesRelay != "")
			v.Permit = part.Output.Permitted
			v.Effect = celsius(part.Output.Effective)
			for k, reading := range part.Input.Readings {
				if reading.Quality == controller.Good {
					v.Probes[roleName(st.Probes[k].Role)] = celsius(reading.Value)
				}
			}
		}
		s.Stations = append(s.Stations, v)
	}
	return s
}

// roleName is the role as a configuration writes it.
func roleName(r controller.Role) string {
	for name, role := range Roles {
		if role == r {
			return name
		}
	}
	return ""
}

// csvRoles are the columns of probes, in this order.
var csvRoles = []string{"control", "guard", "floor", "room"}

// CSV writes samples as a table: a header with units, then a row for each
// station and moment. Times are seconds since the start.
type CSV struct{ w *csv.Writer }

// NewCSV writes the header.
func NewCSV(w io.Writer) (*CSV, error) {
	c := &CSV{csv.NewWriter(w)}
	head := []string{"time [s]", "station", "room [C]", "water [C]", "floor true [C]", "depth [mm]", "heat flows", "heat asked", "permitted"}
	for _, role := range csvRoles {
		head = append(head, role+" [C]")
	}
	return c, c.w.Write(head)
}

// Write adds one moment.
func (c *CSV) Write(s *Sample) error {
	number := func(v float64, digits int) string { return strconv.FormatFloat(v, 'f', digits, 64) }
	for _, st := range s.Stations {
		row := []string{
			number(s.At.Seconds(), 0), st.Name, number(s.RoomC, 3), number(st.WaterC, 4), number(st.FloorC, 4), number(st.DepthMM, 2),
			strconv.FormatBool(st.HeatOn), strconv.FormatBool(st.Asked), strconv.FormatBool(st.Permit),
		}
		for _, role := range csvRoles {
			cell := ""
			if v, ok := st.Probes[role]; ok {
				cell = number(v, 4)
			}
			row = append(row, cell)
		}
		if err := c.w.Write(row); err != nil {
			return err
		}
	}
	return nil
}

// Close flushes the table.
func (c *CSV) Close() error {
	c.w.Flush()
	return c.w.Error()
}
