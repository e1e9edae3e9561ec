package sizing

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
	"soakwarden/controller/treatment"
	"soakwarden/internal/config"
	"soakwarden/sim"
	"soakwarden/sim/physics"
)

// Plan says how a treatment of a configured chamber will go. Temperatures are
// °C and times seconds; what never happens is nil.
type Plan struct {
	Station  string      `json:"station"`
	Schedule string      `json:"schedule"`
	Fits     bool        `json:"fits"`
	Reasons  []string    `json:"reasons"` // why it does not fit, and what to do
	Advice   []string    `json:"advice"`
	Freeze   bool        `json:"freeze"`
	StartC   float64     `json:"start_c"`  // of chamber, load and room
	TargetC  float64     `json:"target_c"` // of the schedule
	AirC     float64     `json:"air_c"`    // what the air is held at
	RampK    float64     `json:"ramp_k_per_h"`
	LimitC   *float64    `json:"limit_c"`     // the least of chamber and load, for the hottest spot
	Air      *float64    `json:"air_there_s"` // until the air is past the target
	There    *float64    `json:"all_there_s"` // until every core is
	Total    *float64    `json:"total_s"`     // until the schedule is held
	Slowest  string      `json:"slowest"`     // piece
	Load     float64     `json:"load_kg"`     // of everything in it
	MostAirC float64     `json:"air_most_c"`  // in heating, its overshoot included
	Pieces   []PiecePlan `json:"pieces"`
	Probes   []ProbePlan `json:"probes"`
}

// PiecePlan is what becomes of one piece.
type PiecePlan struct {
	Name      string   `json:"name"`
	Material  string   `json:"material"`
	Moisture  float64  `json:"moisture"`
	There     *float64 `json:"core_there_s"` // until its core is past the target
	LimitC    *float64 `json:"limit_c"`      // of its material
	Probes    int      `json:"core_probes"`  // in its core
	CoveredBy string   `json:"covered_by"`   // a probed piece that is slower; empty: by none
}

// ProbePlan is what one probe will see.
type ProbePlan struct {
	ROM       string   `json:"rom"`
	Role      string   `json:"role"`
	Piece     string   `json:"piece"`
	DepthM    *float64 `json:"depth_m"`
	U         float64  `json:"uncertainty_k"`
	There     *float64 `json:"there_s"` // until it counts: past the target by its uncertainty
	LagK      float64  `json:"lag_k"`   // the most behind the air until then
	SteepestK float64  `json:"steepest_k_per_min"`
}

// What a plan allows.
const (
	airLead      = 2.0             // K of the air over what the cores need: the last kelvin takes the longest
	airLeast     = 0.5             // K that it must have at the least
	longestPlan  = 7 * 24 * 3600.0 // s until every core is there
	slowerBy     = 1.1             // a probed piece covers one that is quicker by this much
	fewestCores  = 2
	restSpan     = 6 * 3600.0
	restMost     = 0.02 // K in restSpan, over the swing of the air
	chamberSwing = 1.0  // K about which a freezer's own thermostat swings
)

// PlanTreatment plans a schedule for chamber st with its configured pieces and
// probes. Everything begins at start in °C, which is also the room's. The error
// is about a station that is no chamber or cannot be modelled; a plan that does
// not fit says why.
func PlanTreatment(st *config.Station, s treatment.Schedule, start float64) (*Plan, error) {
	if st.Kind != controller.Chamber {
		return nil, fmt.Errorf("station %s is a tub: a treatment runs in a chamber, and never where an animal lives", st.Name)
	}
	p := &Plan{
		Station: st.Name, Schedule: s.Name, Freeze: s.Freeze, StartC: start, TargetC: s.Target.Celsius(),
		RampK: kelvins(st.RampPerHour), Reasons: []string{}, Advice: []string{}, Pieces: []PiecePlan{}, Probes: []ProbePlan{},
	}
	if s.Freeze != st.Chamber.Freeze {
		p.refuse("%s does the other: %s is a schedule for %s", st.Name, s.Name, map[bool]string{true: "a freezer", false: "a chamber that heats"}[s.Freeze])
		return p, nil
	}
	if why := s.RefusalOf(); why != "" {
		p.refuse("%s", why)
		return p, nil
	}
	worst := controller.Difference(0)
	for _, probe := range st.Probes {
		worst = max(worst, probe.Calibration.Uncertainty)
	}
	p.limits(st)
	p.chooseAir(st, kelvins(worst))
	if len(p.Reasons) > 0 {
		return p, nil
	}
	if err := p.rehearse(st); err != nil {
		return nil, err
	}
	p.cover(st)
	p.sum(st, s)
	return p, nil
}

func (p *Plan) refuse(format string, args ...any) {
	p.Reasons = append(p.Reasons, fmt.Sprintf(format, args...))
}

func kelvins(d controller.Difference) float64 { return float64(d) / float64(controller.Kelvin) }

// limits finds what the load and the chamber stand.
func (p *Plan) limits(st *config.Station) {
	if len(st.Pieces) == 0 {
		p.refuse("%s has no pieces: write each one as [[station.piece]] with its shape, size and material, so that its core can be planned", st.Name)
	}
	least := func(v float64) {
		if p.LimitC == nil || v < *p.LimitC {
			p.LimitC = &v
		}
	}
	if !p.Freeze {
		least(st.Limit.Celsius())
		if m, ok := physics.MaterialByName(st.Chamber.Material); ok && m.Limit > 0 {
			least(m.Limit)
		}
	}
	for i := range st.Pieces {
		spec := PieceSpec(st.Pieces[i])
		piece := PiecePlan{Name: spec.Name, Material: spec.Material, Moisture: spec.Moisture}
		if v, _, ok := spec.Limit(); ok && v > 0 {
			piece.LimitC = &v
			if !p.Freeze {
				least(v)
			}
		}
		p.Pieces = append(p.Pieces, piece)
		p.Load += mass(spec)
	}
}

// mass is that of a piece in kg, its moisture included.
func mass(s sim.PieceSpec) float64 {
	s = s.WithDefaults()
	density := s.Density
	if density == 0 {
		if m, ok := physics.MaterialByName(s.Material); ok {
			density, _, _ = m.At(20, s.Moisture)
		}
	}
	switch s.Shape {
	case sim.Cylinder:
		return density * math.Pi / 4 * s.Diameter * s.Diameter * s.Length
	case sim.Bar:
		return density * s.Width * s.Height * s.Length
	}
	return density * s.Thickness * s.Area
}

// chooseAir finds what the air is held at: as far past the target as helps and
// no farther than everything stands.
func (p *Plan) chooseAir(st *config.Station, u float64) {
	set := st.SetPoint.Celsius()
	if p.Freeze {
		p.AirC = set
		if need := p.TargetC - u - chamberSwing; set > need {
			p.refuse("the freezer is set to %s; with an uncertainty of %.2f K and its thermostat's swing, cores only count at %s from a set point of %s: write set_point = \"%.0fC\" and set its thermostat to it", both(set), u, both(p.TargetC), both(need), math.Floor(need))
		}
		return
	}
	half := kelvins(st.Differential) / 2
	need := p.TargetC + u + half
	p.AirC = min(set, need+airLead)
	switch most := config.HighestTarget.Celsius(); {
	case set >= need+airLeast:
	case need+airLeast > most:
		p.refuse("the air would have to be held at %s or more, with an uncertainty of %.2f K, and no chamber may be set over %s: calibrate the probes better, or take a schedule with a lower target", both(need+airLeast), u, both(most))
	default:
		p.refuse("set_point %s of %s is too low: with an uncertainty of %.2f K the air must be held at %s or more: write set_point = \"%.1fC\" or calibrate the probes better", both(set), st.Name, u, both(need+airLeast), min(need+airLead, most))
	}
	if p.LimitC != nil && *p.LimitC < need+airLeast+half {
		p.refuse("it does not fit: target plus uncertainty and the swing of the air ask for %s, and the least that load and chamber stand is %s (%s): take that piece out, or take a cooler and longer schedule", both(need+airLeast+half), both(*p.LimitC), p.weakest())
	} else if p.LimitC != nil {
		p.AirC = min(p.AirC, *p.LimitC-half)
	}
}

// weakest names what has the least limit.
func (p *Plan) weakest() string {
	var names []string
	for _, piece := range p.Pieces {
		if piece.LimitC != nil && *piece.LimitC <= *p.LimitC {
			names = append(names, piece.Name+", "+piece.Material)
		}
	}
	if len(names) == 0 {
		return "the chamber"
	}
	return strings.Join(names, "; ")
}

// spot is one place that is followed.
type spot struct {
	at          sim.ChamberPlace
	need        float64
	there       *float64
	lag         float64
	steepest    float64
	minute, now float64
	rested      float64 // at the last look whether everything rests
}

// rehearse runs the model until every core and every probe is there.
func (p *Plan) rehearse(st *config.Station) error {
	spec := ChamberSpec(st)
	chamber, err := sim.NewChamber(spec, p.StartC)
	if err != nil {
		return fmt.Errorf("station %s: %w", st.Name, err)
	}
	sign := 1.0
	if p.Freeze {
		sign = -1
	}
	var spots []*spot
	for i := range st.Pieces {
		spots = append(spots, &spot{at: sim.ChamberPlace{Kind: sim.PieceCore, Piece: i}, need: p.TargetC})
	}
	for k := range st.Probes {
		probe := &st.Probes[k]
		spots = append(spots, &spot{at: Inner(st, probe), need: p.TargetC + sign*kelvins(probe.Calibration.Uncertainty)})
	}
	for _, s := range spots {
		s.minute = p.StartC
	}
	c := &cabinet{Chamber: chamber, room: p.StartC}
	relay := switching{differential: kelvins(st.Differential), on: st.MinOn.Seconds(), off: st.MinOff.Seconds()}
	p.MostAirC = p.StartC
	for n := 1.0; n <= longestPlan; n++ {
		if p.Freeze {
			c.Step(sim.ChamberDrive{Heat: 1, Fan: true, Room: p.StartC})
		} else {
			share := relay.follow(c.air(), min(p.AirC, p.StartC+relay.differential/2+p.RampK*n/3600))
			c.Step(sim.ChamberDrive{Heat: share, Fan: true, Room: p.StartC})
		}
		air := c.air()
		p.MostAirC = max(p.MostAirC, air)
		if p.Air == nil && sign*(air-p.TargetC) >= 0 {
			p.Air = given(n)
		}
		missing := 0
		for _, s := range spots {
			s.follow(c.At(s.at), air, sign, n)
			if s.there == nil {
				missing++
			}
		}
		if missing == 0 || int(n)%restSpan == 0 && p.rests(spots) {
			break
		}
	}
	for i := range p.Pieces {
		p.Pieces[i].There = spots[i].there
	}
	for k := range st.Probes {
		probe, s := &st.Probes[k], spots[len(st.Pieces)+k]
		plan := ProbePlan{ROM: probe.ROM, Role: roleWord(probe.Role), Piece: probe.Piece, U: kelvins(probe.Calibration.Uncertainty), There: s.there, LagK: s.lag, SteepestK: s.steepest}
		if probe.Depth >= 0 && probe.Role == controller.RoleCore {
			plan.DepthM = given(probe.Depth)
		}
		p.Probes = append(p.Probes, plan)
	}
	return nil
}

// rests says whether nothing moved since it was last asked: what is not there
// by then never will be.
func (p *Plan) rests(spots []*spot) bool {
	most := 0.0
	for _, s := range spots {
		most = max(most, math.Abs(s.now-s.rested))
		s.rested = s.now
	}
	return most < restMost
}

// switching is a relay with hysteresis and its least times, as the controller
// has them: against a slow ramp they hold the air a little higher.
type switching struct {
	differential, on, off float64
	closed                bool
	since                 float64
}

// follow gives the share of the heater for the next second.
func (r *switching) follow(air, target float64) float64 {
	want := r.closed
	switch {
	case air >= target+r.differential/2:
		want = false
	case air <= target-r.differential/2:
		want = true
	}
	least := r.off
	if r.closed {
		least = r.on
	}
	r.since++
	if want != r.closed && r.since >= least {
		r.closed, r.since = want, 0
	}
	if r.closed {
		return 1
	}
	return 0
}

// follow takes one second of a spot.
func (s *spot) follow(v, air, sign, n float64) {
	s.now = v
	if math.Mod(n, 60) == 0 {
		s.steepest = max(s.steepest, math.Abs(v-s.minute))
		s.minute = v
	}
	if s.there == nil {
		s.lag = max(s.lag, sign*(air-v))
		if sign*(v-s.need) >= 0 {
			s.there = given(n)
		}
	}
}

func roleWord(r controller.Role) string {
	switch r {
	case controller.RoleCore:
		return "core"
	case controller.RoleSurface:
		return "surface"
	}
	return "air"
}

// Inner is where a probe of a chamber lies: as configured, and in the very
// middle of its piece when no depth is written.
func Inner(st *config.Station, p *config.Probe) sim.ChamberPlace {
	at := sim.ChamberPlace{Kind: sim.ChamberAir}
	for i := range st.Pieces {
		if st.Pieces[i].Name != p.Piece {
			continue
		}
		at.Piece = i
		switch {
		case p.Role == controller.RoleSurface:
			at.Kind = sim.OnPiece
		case p.Role == controller.RoleCore && p.Depth >= 0:
			at.Kind, at.Depth = sim.InPiece, p.Depth
		case p.Role == controller.RoleCore:
			at.Kind = sim.PieceCore
		}
	}
	return at
}

// never is a time after all others.
func never(s *float64) float64 {
	if s == nil {
		return math.Inf(1)
	}
	return *s
}

// cover says which pieces are watched and by what.
func (p *Plan) cover(st *config.Station) {
	cores := 0
	for i := range p.Pieces {
		for _, probe := range st.Probes {
			if probe.Role == controller.RoleCore && probe.Piece == p.Pieces[i].Name {
				p.Pieces[i].Probes++
				cores++
			}
		}
	}
	p.deep(st)
	order := make([]int, len(p.Pieces))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		switch x, y := never(p.Pieces[a].There), never(p.Pieces[b].There); {
		case x > y:
			return -1
		case x < y:
			return 1
		}
		return 0
	})
	p.Slowest = p.Pieces[order[0]].Name
	if cores < fewestCores {
		p.refuse("core probes are too few (%d): put at least %d into cores, in the slowest pieces: %s", cores, fewestCores, p.names(order, fewestCores))
	}
	if p.Pieces[order[0]].Probes == 0 {
		p.refuse("the slowest piece, %s, has no core probe: put one into its middle", p.Slowest)
	}
	for i := range p.Pieces {
		piece := &p.Pieces[i]
		if piece.Probes > 0 {
			piece.CoveredBy = piece.Name
			continue
		}
		for _, k := range order {
			if other := &p.Pieces[k]; other.Probes > 0 && never(other.There) >= slowerBy*never(piece.There) {
				piece.CoveredBy = other.Name
			}
		}
		if piece.CoveredBy == "" {
			p.Advice = append(p.Advice, fmt.Sprintf("%s is NOT covered: no probed piece is slower by a tenth. Put a probe into its core, or treat it apart.", piece.Name))
		}
	}
}

// deep refuses a piece whose probes count before its core is there: they would
// speak for a core that they do not reach.
func (p *Plan) deep(st *config.Station) {
	for _, piece := range p.Pieces {
		latest, depth := -1.0, 0.0
		for k, probe := range st.Probes {
			if probe.Role == controller.RoleCore && probe.Piece == piece.Name && never(p.Probes[k].There) > latest {
				latest, depth = never(p.Probes[k].There), probe.Depth
			}
		}
		if latest >= 0 && latest < never(piece.There) {
			p.refuse("the core probe of %s, %.0f mm deep, does not reach its core: it counts after %s and the core is there after %s. Put it into the middle, through the widest face.", piece.Name, depth*1000, clock(latest), clock(never(piece.There)))
		}
	}
}

func (p *Plan) names(order []int, n int) string {
	var names []string
	for _, i := range order[:min(n, len(order))] {
		names = append(names, p.Pieces[i].Name)
	}
	return strings.Join(names, ", ")
}

// sum adds it up.
func (p *Plan) sum(st *config.Station, s treatment.Schedule) {
	last := 0.0
	for _, piece := range p.Pieces {
		last = max(last, never(piece.There))
	}
	for _, probe := range p.Probes {
		if probe.Role != "air" {
			last = max(last, never(probe.There))
		}
	}
	if math.IsInf(last, 1) {
		what, how := "heater", "Insulate, close gaps, treat less at once, or use a stronger heater."
		if p.Freeze {
			what, how = "freezer", "Treat less at once, or use a colder freezer."
		}
		p.refuse("the %s does not bring every core to the target within %.0f days. %s", what, longestPlan/86400, how)
	} else {
		p.There, p.Total = given(last), given(last+s.Hold.Seconds())
	}
	if !p.Freeze && p.LimitC != nil && p.MostAirC > *p.LimitC {
		p.refuse("the air overshoots to %s, over the limit of %s: use a weaker heater or a slower ramp", both(p.MostAirC), both(*p.LimitC))
	}
	for _, piece := range p.Pieces {
		if piece.Material == "glass" && p.RampK > glassRamp {
			p.Advice = append(p.Advice, fmt.Sprintf("%s is glass: it breaks at steps of 30 to 40 K across it (from memory). Write ramp = \"%.0fK\" or less.", piece.Name, glassRamp))
		}
	}
	p.Fits = len(p.Reasons) == 0
}

// glassRamp is how fast annealed glass may be heated without a thought, K/h
// (common practice, no published source).
const glassRamp = 20.0

// Target is what the air is held at.
func (p *Plan) Target() physic.Temperature {
	return physic.ZeroCelsius + physic.Temperature(math.Round(p.AirC*1e9))
}
