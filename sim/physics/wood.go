package physics

// Wood is the state of a piece of wood.
type Wood struct {
	Gravity  float64 // specific gravity: oven-dry mass over the volume at the moisture, to water's 1000 kg/m³
	Moisture float64 // kg of water a kg of dry wood
}

// Density returns the density with its moisture, kg/m³ (Wood Handbook
// FPL-GTR-190, chapter 4: 1000·G·(1 + x)).
func (w Wood) Density() float64 { return 1000 * float64(w.Gravity*(1+w.Moisture)) }

// Conductivity returns the conductivity across the grain at t °C, W/mK.
//
// Source: Wood Handbook FPL-GTR-190, equation 4-15, for moisture under 25 % and
// G over 0.3 at 24 °C; its text gives 2 to 3 % more for each 10 °C. From 40 % the
// steeper line of MacLean 1941 for wet wood, from memory (1.39 + 0.038·x in
// Btu·in/h·ft²·°F); straight between the two. Measured wood scatters by 20 %.
func (w Wood) Conductivity(t float64) float64 {
	x := float64(100 * w.Moisture)
	dry := float64(w.Gravity*(0.1941+float64(0.004064*min(x, 25)))) + 0.01864
	wet := float64(w.Gravity*(0.2004+float64(0.00548*max(x, 40)))) + 0.0238
	share := float64(min(max((x-25)/15, 0), 1))
	return (dry + float64(share*(wet-dry))) * (1 + float64(0.0025*(t-24)))
}

// HeatCapacity returns the heat capacity at t °C, J/kgK.
//
// Source: Wood Handbook FPL-GTR-190, equations 4-16 to 4-18 (Glass and Zelinka
// 2010), with the signs of b1 and b3 negative. The term for the water's bond
// belongs to what is bound, so over the fibre saturation point it is diluted.
func (w Wood) HeatCapacity(t float64) float64 {
	kelvin := t + ZeroCelsius
	x := 100 * w.Moisture
	dry := 0.1031 + float64(0.003867*kelvin)
	bound := min(x, FibreSaturation*100)
	bond := float64(bound * (-0.06191 + float64(2.36e-4*kelvin) - float64(1.33e-4*bound)))
	return 1000 * ((dry+float64(0.0418*x))/(1+x/100) + bond*(1+bound/100)/(1+x/100))
}

// FibreSaturation is the moisture above which water lies free in the wood (Wood
// Handbook: about 30 %; 28 % here so that the bond term stays in its range).
const FibreSaturation = 0.28
