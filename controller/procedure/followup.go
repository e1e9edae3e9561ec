package procedure

import (
	"fmt"
	"math"
	"time"

	"periph.io/x/conn/v3/physic"
)

// Span is the part of a mite's life that a line of development describes.
type Span uint8

// The spans, in the order of life; the last ends with the first eggs laid.
const (
	EggSpan Span = iota
	LarvaSpan
	ProtonymphSpan
	DeutonymphSpan
	PreOvipositionSpan
	spanCount
)

// Line is a published linear rate of development, rate (1/h) = A + B·T with T
// in °C.
type Line struct {
	Name string
	A, B float64
}

// The lines of the poultry red mite, Dermanyssus gallinae: Tucci, Prado &
// Araújo 2008, Rev Bras Parasitol Vet 17(2). It is the nearest relative of the
// snake mite for which rates were published; the lines were fitted between 15
// and 35 °C and are used between 20 and 30 °C only, where the published table
// still falls with temperature.
var lines = [spanCount]Line{
	EggSpan:            {"egg", -0.015367, 0.001450},
	LarvaSpan:          {"larva", -0.021123, 0.002151},
	ProtonymphSpan:     {"protonymph", -0.020152, 0.001982},
	DeutonymphSpan:     {"deutonymph", -0.023555, 0.001996},
	PreOvipositionSpan: {"adult before its first eggs", -0.006035, 0.001777},
}

// LineOf is the line of a span.
func LineOf(s Span) Line { return lines[min(s, spanCount-1)] }

// lineMiss is the most by which the lines are slower over a whole life than the
// durations that the same author measured (Tucci 2004, thesis) at 20, 25 and
// 30 °C: what must not be late is taken that much earlier. Single stages are off
// by up to 45 %.
const lineMiss = 0.07

// Hours is how long the span takes at a temperature in °C.
func (l Line) Hours(celsius float64) float64 { return 1 / (l.A + float64(l.B*celsius)) }

// Base is the temperature in °C at which the line says that nothing develops.
func (l Line) Base() float64 { return -l.A / l.B }

// DegreeHours is the heat above Base that the span needs.
func (l Line) DegreeHours() float64 { return 1 / l.B }

// The snake mite's own published times, Ophionyssus natricis: Camin 1953 as
// summarised by Barker (vpi.com, "The life history of snake mites").
const (
	ShortestCycle = 13 // days, whole life cycle at usual temperatures
	LongestCycle  = 19
	LongestLife   = 40 // days, in the cool
)

// favourable is the lower end of the snake mite's favourable range, 75 °F as
// the same source prints it: under it life takes longer.
const favourable = physic.ZeroFahrenheit + 75*physic.Fahrenheit

// Bounds of the model and of a room that anybody keeps snakes in.
const (
	modelColdest = physic.ZeroCelsius + 20*physic.Celsius
	modelWarmest = physic.ZeroCelsius + 30*physic.Celsius
	roomColdest  = physic.ZeroCelsius + 5*physic.Celsius
	roomWarmest  = physic.ZeroCelsius + 40*physic.Celsius
)

// Mark says what a day of the follow-up is for.
type Mark uint8

// The marks.
const (
	NoMark     Mark = iota
	Treated         // day 0: furnishings done and animal back
	FirstLook       // hatched survivors could be on the animal
	SecondSoak      // the last day before survivors could lay again
	CycleLook       // the snake mite's shortest cycle is over
	LastCycle       // its longest usual cycle is over
	AllClear        // the earliest day on which the case may be closed
)

// Day is one day of the follow-up, counted from the day of treatment.
type Day struct {
	Day  int
	Mark Mark
}

// Look says whether the animal and its enclosure are looked at on that day.
func (d Day) Look() bool { return d.Mark > Treated }

// FollowUp is when survivors would hatch, feed and lay, as lower bounds from
// the lines at Used, and the days to look.
type FollowUp struct {
	Room physic.Temperature // as it is
	Used physic.Temperature // as the lines were asked: within 20 to 30 °C

	// Hours after the last egg could have been laid, each at the earliest.
	Hatch, Feed, Adult, Lay float64

	Days [6]Day // in order
}

// Follow works out the follow-up for a room temperature. The error says what to
// write instead.
func Follow(room physic.Temperature) (FollowUp, error) {
	if room < roomColdest || room > roomWarmest {
		return FollowUp{}, fmt.Errorf("a room of %.1f °C (%.1f °F): write the temperature of the room in which the animal lives, between 5C and 40C (41F and 104F)",
			celsius(room), fahrenheit(room))
	}
	f := FollowUp{Room: room, Used: min(max(room, modelColdest), modelWarmest)}
	t := celsius(f.Used)
	f.Hatch = lines[EggSpan].Hours(t)
	f.Feed = f.Hatch + lines[LarvaSpan].Hours(t)
	f.Adult = f.Feed + lines[ProtonymphSpan].Hours(t) + lines[DeutonymphSpan].Hours(t)
	f.Lay = f.Adult + lines[PreOvipositionSpan].Hours(t)
	f.Days = [6]Day{
		{0, Treated},
		{int(math.Ceil(f.Feed / 24)), FirstLook},
		{int(math.Floor(float64(f.Lay*(1-lineMiss)) / 24)), SecondSoak},
		{ShortestCycle, CycleLook},
		{LongestCycle, LastCycle},
		{f.clear(), AllClear},
	}
	return f, nil
}

// clear is the earliest all-clear: the longest life of a mite must have passed
// with nothing seen, and in a cool room also one more cycle, because eggs laid
// at the end of that life still develop. The rule is this project's own, on
// the snake mite's published times.
func (f *FollowUp) clear() int {
	if f.Room < favourable {
		return LongestLife + LongestCycle
	}
	return LongestLife
}

// Cool says that the room is under the snake mite's favourable range.
func (f *FollowUp) Cool() bool { return f.Room < favourable }

// On is the day with a mark.
func (f *FollowUp) On(m Mark) int {
	for _, d := range f.Days {
		if d.Mark == m {
			return d.Day
		}
	}
	return 0
}

// Date is the date so many days after another; only its year, month and day
// count. The answer is at midnight UTC.
func Date(from time.Time, days int) time.Time {
	y, m, d := from.Date()
	return time.Date(y, m, d+days, 0, 0, 0, 0, time.UTC)
}

func celsius(t physic.Temperature) float64 {
	return float64(t-physic.ZeroCelsius) / float64(physic.Celsius)
}

func fahrenheit(t physic.Temperature) float64 { return float64(celsius(t)*1.8) + 32 }
