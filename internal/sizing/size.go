package sizing

import (
	"fmt"
	"math"
	"os"

	"soakwarden/controller"
	"soakwarden/internal/config"
	"soakwarden/sim"
)

// Verdict says in a word whether heater and station suit each other.
type Verdict string

// The verdicts, the worst last. A station has the worst that fits it.
const (
	Fits        Verdict = "fits"
	NeedsCutOut Verdict = "needs cut-out" // stuck on it does harm, and nothing independent stops it
	TooWeak     Verdict = "too weak"      // it cannot hold the set point in the coldest room
	Dangerous   Verdict = "dangerous"     // not even a cut-out makes it fit for an animal
)

// Bounds of the verdict. They are this project's own, no published source.
const (
	// weakAt is the share of the pad's power beyond which it is too weak: a mains
	// voltage 5 % low takes a tenth of the power.
	weakAt = 0.9
	// quickest is how soon a pad that sticks on may bring the water to the
	// cutoff: after it, nobody and no test on two probes has had its chance.
	quickest = 15 * 60.0 // s
	// mostAfter is how much the water may still rise after the heat is gone, K.
	mostAfter = 1.0
	// The envelope within which the promises of the record of tests hold.
	envelopePerLitre = 3.5  // W/L
	envelopeAfter    = 0.35 // K
	// likeliest share of a pad's power that advice aims at.
	wantedShare = 0.75
)

// Size is the heat budget of one station. Values that do not exist are nil: a
// time that never comes, the floor of a chamber.
type Size struct {
	Name                string   `json:"name"`
	Verdict             Verdict  `json:"verdict"`
	WarmUp              *float64 `json:"warm_up_s"`             // full heat, from the coldest room to the set point; chamber: to 1 K under it at the slowest core
	HoldPower           *float64 `json:"hold_power_w"`          // mean, at the set point in the coldest room
	StuckOn             *float64 `json:"stuck_on_c"`            // water (chamber: air) with the heat on for good in the warmest room
	StuckOnCutoff       *float64 `json:"stuck_on_cutoff_s"`     // from the set point to the cutoff, the same
	Coast               *float64 `json:"coast_k"`               // rise after the heat goes off
	PowerCut            *float64 `json:"power_cut_too_cold_s"`  // no heat, from the set point to too cold in the coldest room
	Evaporation         *float64 `json:"evaporation_l_per_day"` // at the set point in the coldest room
	Floor               *float64 `json:"floor_c"`               // contact surface over the pad, heat on, water at the set point
	WarmUpWithAnimal    *float64 `json:"warm_up_animal_in_s"`   // the same warm-up no quicker than the ramp
	HoldShare           *float64 `json:"hold_share"`            // of the heater's power
	Flux                *float64 `json:"flux_w_per_m2"`         // pad power over its area
	PerLitre            *float64 `json:"pad_w_per_l"`           //
	StrongestWithoutCut *float64 `json:"pad_without_cut_out_w"` // the most that is harmless stuck on in the warmest room
	Advice              []string `json:"advice"`
	Kind                string   `json:"kind"`
}

// SizeFile works out the heat budget of every station in a file. A file with
// mistakes is answered too, as long as none of them is about heat: whoever
// plans a bench asks before the last probe is bought. The problems are those of
// the file; sizes is nil when no answer could be given.
func SizeFile(path string) (sizes []Size, problems []config.Problem, err error) {
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, nil, err
	}
	cfg, problems := config.Draft(path, data)
	if cfg == nil || len(cfg.Stations) == 0 {
		return nil, problems, nil
	}
	for i := range cfg.Stations {
		if !cfg.Stations[i].Sizeable() {
			return nil, problems, nil
		}
	}
	sizes, err = SizeAll(cfg)
	return sizes, problems, err
}

// SizeAll works out the heat budget of every station.
func SizeAll(cfg *config.Config) ([]Size, error) {
	all := make([]Size, 0, len(cfg.Stations))
	for i := range cfg.Stations {
		s, err := SizeOf(&cfg.Stations[i])
		if err != nil {
			return nil, fmt.Errorf("station %s: %w", cfg.Stations[i].Name, err)
		}
		all = append(all, s)
	}
	return all, nil
}

// SizeOf works out the heat budget of one station.
func SizeOf(st *config.Station) (Size, error) {
	if st.Kind == controller.Chamber {
		return sizeChamber(st)
	}
	return sizeTub(st)
}

// given returns a value for the answer, rounded to a thousandth; nil for one
// that does not exist.
func given(v float64) *float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil
	}
	v = math.Round(v*1000) / 1000
	return &v
}

// dangers says what makes a tub dangerous, by what the model answers quickly and
// by how soon a pad that sticks on brings the water to the cutoff.
func dangers(st *config.Station, r sim.SizeResult) (all []string) {
	say := func(format string, args ...any) { all = append(all, fmt.Sprintf(format, args...)) }
	if bound := st.FloorBound.Celsius(); r.Floor > bound {
		say("The floor over the pad gets to %s with the water at its set point; the bound is %s. Use a pad of less power or more area.", both(r.Floor), both(bound))
	}
	if r.StuckOnCutoff < quickest {
		say("Stuck on, this pad takes the water from the set point to the cutoff in %s: too quick for anybody to act. Use a pad of at most %s.", clock(r.StuckOnCutoff), watts(envelopePerLitre*st.Tub.Volume()*1000))
	}
	if r.CoastRise > mostAfter {
		say("After the heat is gone the water still rises by %.2f K: no cutoff can stop that. Use a pad of less power or deeper water.", r.CoastRise)
	}
	return all
}

// danger is the first of the dangers of a tub, without its whole heat budget;
// empty for none.
func danger(st *config.Station) (string, error) {
	q := question(st)
	r, err := sim.Answer(q)
	if err != nil {
		return "", err
	}
	if r.StuckOnCutoff, err = sim.StuckOnCutoff(q, quickest); err != nil {
		return "", err
	}
	if all := dangers(st, r); len(all) > 0 {
		return all[0], nil
	}
	return "", nil
}

// question is a configured tub as the model is asked about it.
func question(st *config.Station) sim.SizeSpec {
	spec := TubSpec(st.Tub)
	spec.Animal = st.Tub.AnimalMass
	return sim.SizeSpec{
		Tub: spec, SetPoint: st.SetPoint.Celsius(), TooCold: st.TooCold.Celsius(), Cutoff: st.Cutoff.Celsius(),
		RoomColdest: st.RoomColdest.Celsius(), RoomWarmest: st.RoomWarmest.Celsius(),
	}
}

// harmless returns the most power, W, that may stay on for good in the warmest
// room without the water passing the group's upper clinical value.
func harmless(st *config.Station) (float64, error) {
	watts, _, err := sim.HoldPower(TubSpec(st.Tub), st.Species.Upper.Celsius(), sim.Drive{Room: st.RoomWarmest.Celsius()})
	return max(0, watts), err
}

func sizeTub(st *config.Station) (Size, error) {
	r, err := budget(question(st))
	if err != nil {
		return Size{}, err
	}
	most, err := harmless(st)
	if err != nil {
		return Size{}, err
	}
	litres := st.Tub.Volume() * 1000
	perLitre := st.Tub.PadPower / litres
	// With an animal in, the effective set point climbs no quicker than the ramp.
	slow := max(r.WarmUp, 3600*(st.SetPoint.Celsius()-st.RoomColdest.Celsius())*float64(controller.Kelvin)/float64(st.RampPerHour))
	s := Size{
		Name: st.Name, Kind: "tub", WarmUp: given(r.WarmUp), HoldPower: given(r.HoldPower), StuckOn: given(r.StuckOn),
		StuckOnCutoff: given(r.StuckOnCutoff), Coast: given(r.CoastRise), PowerCut: given(r.PowerCut),
		Evaporation: given(r.Evaporation), Floor: given(r.Floor), WarmUpWithAnimal: given(slow),
		HoldShare: given(r.HoldShare), Flux: given(r.Flux), PerLitre: given(perLitre), StrongestWithoutCut: given(most),
		Advice: []string{},
	}
	s.Verdict, s.Advice = judgeTub(st, r, most)
	return s, nil
}

// judgeTub says what to think of a tub's heat budget and what to do about it.
func judgeTub(st *config.Station, r sim.SizeResult, most float64) (Verdict, []string) {
	verdict, advice := Fits, []string{}
	worse := func(v Verdict, format string, args ...any) {
		if rank(v) > rank(verdict) {
			verdict = v
		}
		advice = append(advice, fmt.Sprintf(format, args...))
	}
	say := func(format string, args ...any) { worse(Fits, format, args...) }
	litres := st.Tub.Volume() * 1000
	perLitre := st.Tub.PadPower / litres

	for _, d := range dangers(st, r) {
		worse(Dangerous, "%s", d)
	}
	if r.HoldShare > weakAt {
		worse(TooWeak, "Holding the set point in the coldest room takes %s and the pad has %s. %s", watts(r.HoldPower), watts(st.Tub.PadPower), stronger(r.HoldPower, litres))
	}
	stuckOver := r.StuckOn > st.Species.Upper.Celsius()
	switch {
	case stuckOver && st.Cutout == 0:
		worse(NeedsCutOut, "Stuck on, this pad takes the water to %s in the warmest room; the group's upper clinical value is %s. Fit an independent thermal cut-out with manual reset of at most 35 °C (95 °F), and write cutout = \"35C\".", both(r.StuckOn), both(st.Species.Upper.Celsius()))
		if most >= r.HoldPower/weakAt {
			say("A pad of %s to %s would hold the set point and be harmless without a cut-out.", watts(r.HoldPower/weakAt), watts(most))
		}
	case stuckOver:
		say("Stuck on, this pad would take the water to %s in the warmest room. The cut-out at %s stands between that and the animal: see that it is fitted to the pad and reset before each soak.", both(r.StuckOn), both(st.Cutout.Celsius()))
	default:
		say("Stuck on in the warmest room, the water stays at %s: no cut-out is needed for that, and one does no harm.", both(r.StuckOn))
	}
	if perLitre > envelopePerLitre {
		say("%.1f W a litre is outside the range that the program's faults were rehearsed in (%.1f W a litre): expect more than 1 K over the set point when something fails.", perLitre, envelopePerLitre)
	}
	if r.CoastRise > envelopeAfter && r.CoastRise <= mostAfter {
		say("The water still rises by %.2f K after the heat is gone, more than the rehearsed %.2f K.", r.CoastRise, envelopeAfter)
	}
	if r.HoldShare < 0.1 {
		say("Holding takes less than a tenth of the pad's power: a smaller pad would be gentler and safer.")
	}
	if r.PowerCut < 3600 {
		say("In a power cut the water is too cold after %s: have warm water or a dry box ready, and be told of the cut.", clock(r.PowerCut))
	}
	if flux := r.Flux; flux > config.FloorProbeAdvice && !hasRole(st, controller.RoleFloor) {
		say("The pad has %.0f W/m²: a floor probe is advised over %.0f and required over %.0f.", flux, config.FloorProbeAdvice, config.FloorProbeAt)
	}
	return verdict, advice
}

func rank(v Verdict) int {
	for i, x := range []Verdict{Fits, NeedsCutOut, TooWeak, Dangerous} {
		if x == v {
			return i
		}
	}
	return 0
}

// stronger says which pad would hold the set point, or what else to do.
func stronger(hold, litres float64) string {
	wanted := hold / wantedShare
	if wanted <= envelopePerLitre*litres {
		return fmt.Sprintf("A pad of about %s would fit.", watts(wanted))
	}
	return fmt.Sprintf("A pad of %s would be too strong for %.1f L: put a lid on, insulate the tub, warm the room or fill deeper.", watts(wanted), litres)
}

func hasRole(st *config.Station, role controller.Role) bool {
	for _, p := range st.Probes {
		if p.Role == role {
			return true
		}
	}
	return false
}
