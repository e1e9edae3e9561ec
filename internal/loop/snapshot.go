package loop

import (
	"time"

	"periph.io/x/conn/v3/physic"

	"soakwarden/controller"
	"soakwarden/controller/alarm"
)

// Snapshot is everything that page, API and metrics show. The loop makes one a
// tick and never touches it again: readers share it without a lock.
type Snapshot struct {
	Name     string // of the configuration
	Version  string
	Config   string        // checksum of the configuration, hex
	Demo     bool          // the model, not hardware
	Speed    float64       // virtual seconds in a real one; 1 on hardware
	Wall     time.Time     // UTC
	Trusted  bool          // the wall clock was set by something trustworthy
	Now      time.Duration // monotonic, since start
	Tick     uint64
	Missed   uint64 // ticks that were not run
	Stations []StationView
	Buses    []BusView
	Relays   []RelayView
	Journal  JournalView
	Targets  []TargetView // of messages, in the order of the configuration
}

// TargetView says what became of the messages to one target since the start.
type TargetView struct {
	Name    string
	Sent    uint64
	Failed  uint64 // tries that did not succeed
	Dropped uint64 // messages given up because too many waited
	Waiting int
	Problem string // of the last try, empty when it succeeded
}

// StationView is one station at one tick.
type StationView struct {
	Name         string
	Kind         controller.Kind
	Species      string
	Stage        string
	SetPoint     physic.Temperature
	Effective    physic.Temperature // the set point that governs now
	Differential controller.Difference
	TooCold      physic.Temperature
	Cutoff       physic.Temperature
	HeatOn       bool // current flows as far as the commands say
	Command      controller.Command
	Permitted    bool
	Reason       controller.Cause // withholds heat; NoCause when permitted
	Attended     bool
	AnimalIn     bool
	OutOfService bool          // no heat until it is put in service
	NeverAlone   string        // why it heats only while a person is present, empty when it may be left alone
	WaterLeft    float64       // learned share of the last confirmed fill, 0 until known
	ReadyAt      time.Duration // when it became ready, zero while it is not
	Governing    int           // index in Probes, −1 for none
	Probes       []ProbeView
	Alarms       []AlarmView // every alarm that is not normal, worst first
	Tub          TubView     // for the drawing
	Truth        *TruthView  // the model's truth, only in the demo
	Proofs       []ProofView
	CaseAlarms   []CaseAlarm    // of every case of the station; the caller puts them in
	Case         *CaseView      // the case that has the tub; nil while none has
	Treatment    *TreatmentView // of a chamber; nil when there was none since it was released
}

// CaseView is the case that has a tub, in words; the caller puts it in.
type CaseView struct {
	ID, Animal, Stage            string
	For                          time.Duration // in the stage
	Paused                       string        // what it asks for, empty when it goes on
	Lasts, Confirms, Stops, Next string
	Due                          []DueView // most urgent first
}

// CaseAlarm is an alarm about something that is overdue in a case.
type CaseAlarm struct {
	Station, Case string
	Name          string
	Advice        string // begins with a verb
	State         alarm.State
	Medium        bool // else low
	Since         time.Time
}

// DueView is one thing that is due.
type DueView struct {
	What  string        // begins with a verb
	In    time.Duration // negative when it is overdue
	Alarm string        // "low" or "medium" while it is one
}

// TubView is the tub as configured, in metres and watts.
type TubView struct {
	Length, Width, Depth float64
	PadPower             float64
	Lid                  bool
}

// TruthView is what the model knows, in °C and metres.
type TruthView struct {
	Water, Lower, Upper, Floor, Pad, Air, Room float64
	Depth                                      float64
	PadHeats                                   bool // current really flows
	Faults                                     []string
}

// ProbeView is one probe at one tick.
type ProbeView struct {
	Role        controller.Role
	Bus, ROM    string
	Reading     controller.Reading
	Age         time.Duration
	Uncertainty controller.Difference
	Calibrated  bool
	Errors      uint64 // bad readings since the start
}

// AlarmView is one alarm that is not normal.
type AlarmView struct {
	Cause    controller.Cause
	State    alarm.State
	Severity controller.Severity
	Since    time.Time     // UTC
	SinceNow time.Duration // the same moment on the monotonic clock
	Latched  bool
	Value    physic.Temperature // what was measured, zero when it is not about one
}

// ProofView is the age of one proof.
type ProofView struct {
	Name   string
	Passed bool
	At     time.Time // zero when never
}

// BusView is one bus at one tick.
type BusView struct {
	Name    string
	Cycle   uint64 // complete cycles since the start
	At      time.Duration
	Length  time.Duration // of the last cycle
	Devices int
	Fault   string // empty when the last cycle was complete
}

// RelayView is one relay at one tick.
type RelayView struct {
	Name    string
	On      bool // as commanded
	Written bool // the last write succeeded
	Seen    controller.Contact
	Cycles  uint64 // times it was closed since the start
}

// JournalView is the state of the record.
type JournalView struct {
	OK       bool
	Problem  string // what a person should know; it may be there while the record is written
	Queue    int
	Entries  uint64
	Durable  uint64 // of them, those that a sync has covered
	Lost     uint64 // entries lost since the start
	Thinned  uint64 // blocks of readings whose detail was given up since the start
	Reopened uint64 // times the file had to be opened again since the start
	LastSync time.Time
	Head     string // chain head, hex
}
