package sim

// ChamberSpec describes a chamber for furnishings. Zero fields take the
// defaults named beside them.
type ChamberSpec struct {
	Length, Width, Height float64 // inside, m

	Wall       string  // material of the inner wall; default particleboard
	WallThick  float64 // m; default 0.016
	Insulation float64 // outside it, m²K/W; default 0.5
	Leak       float64 // air changes an hour through the leaks; default 0.3

	Power    float64 // W, positive: of the heater. Negative: what the freezer's coil takes away
	Hold     float64 // °C, where a freezer's own thermostat keeps its air (within 1 K); default −20. A heater has none
	Coil     float64 // heat capacity of heater or coil, J/K; default 800
	CoilFilm float64 // heater or coil to the air, W/K, fan on; default |Power|/15

	FilmFan   float64 // air to pieces and walls with the fan on, W/m²K; default 20
	FilmStill float64 // with the fan off; default 6
	Pieces    []PieceSpec
}

// ChamberDrive is what acts on a chamber during one step.
type ChamberDrive struct {
	Heat float64 // share of Power that flows, 0 to 1
	Fan  bool
	Room float64 // °C
}

// Shape is the cross-section of a piece. The zero value is a slab.
type Shape uint8

// The shapes.
const (
	Slab     Shape = iota // heated from both sides; Thickness is the whole
	Cylinder              // long; Diameter
	Bar                   // long, rectangular; Width and Height
)

// PieceSpec describes one piece of furnishing.
type PieceSpec struct {
	Name      string
	Shape     Shape
	Thickness float64 // m, of a slab
	Diameter  float64 // m, of a cylinder
	Width     float64 // m, of a bar
	Height    float64 // m, of a bar
	Length    float64 // m, of a cylinder or bar in a chamber; default 0.5
	Area      float64 // m², of one face of a slab in a chamber; default 0.1

	Material     string  // a name of physics.Materials
	Moisture     float64 // kg of water a kg of dry wood, 0.12 is 12 %; wood only
	Density      float64 // kg/m³; zero takes the material's
	Conductivity float64 // W/mK; zero takes the material's
	HeatCapacity float64 // J/kgK; zero takes the material's
}

// ChamberPlaceKind says where a probe of a chamber is.
type ChamberPlaceKind uint8

// The kinds of place. The zero value is the air of the room.
const (
	OutsideChamber ChamberPlaceKind = iota
	ChamberAir
	InPiece   // at Depth under the surface of Piece
	OnPiece   // on its surface
	PieceCore // in its very middle
	ChamberWall
	ChamberCoil
)

// ChamberPlace is where a probe of a chamber measures.
type ChamberPlace struct {
	Kind  ChamberPlaceKind
	Piece int     // index in the spec
	Depth float64 // m
}

// PieceTruth is what the model knows of one piece, °C.
type PieceTruth struct {
	Core, Surface, Mean float64
}

// ChamberTruth is everything that the model knows of a chamber. The Pieces
// stand in the order of the spec and are valid until the next Step.
type ChamberTruth struct {
	Air, Coil, Wall, Room float64 // °C
	Heat                  float64 // J since the start (negative: taken away)
	Lost                  float64 // J to the room
	Stored                float64 // J more than at the start, in air, coil, walls and pieces
	Watts                 float64 // flowing in the last step
	Pieces                []PieceTruth
}
