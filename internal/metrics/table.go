package metrics

import "github.com/prometheus/client_golang/prometheus"

// metric is an index into metricTable.
type metric int

// The metrics.
const (
	started metric = iota
	buildInfo
	lastTick
	ticks
	missedTicks
	clockTrusted
	demoSpeed
	journalOK
	journalQueue
	journalEntries
	journalDurable
	journalLost
	journalThinned
	journalReopened
	journalSync
	messagesSent
	messagesFailed
	messagesDropped
	messagesWaiting
	stationInfo
	setPoint
	effectiveSetPoint
	differential
	tooCold
	cutoff
	water
	waterBelievable
	heatOn
	heatPermitted
	attended
	animalIn
	readySince
	alarmActive
	alarmUnanswered
	latched
	probeTemperature
	probeGood
	probeReading
	probeUncertainty
	probeCalibrated
	probeErrors
	proofPassed
	proofTime
	busCycles
	busLastCycle
	busCycleLength
	busDevices
	busFaulty
	relayOn
	relayWritten
	relayDisagrees
	relayCycles
	treatmentRunning
	treatmentTogether
	treatmentLongest
	treatmentHold
	treatmentBehind
	treatmentResult
	treatmentAwaits
	metricCount
)

// row is one metric: its description and whether it only ever counts up.
type row struct {
	desc  *prometheus.Desc
	count bool
}

func gauge(name, help string, labels ...string) row {
	return row{prometheus.NewDesc("soakwarden_"+name, help, labels, nil), false}
}

func counter(name, help string, labels ...string) row {
	return row{prometheus.NewDesc("soakwarden_"+name, help, labels, nil), true}
}

var metricTable = [metricCount]row{
	started:      gauge("started", "1 once the first tick was run."),
	buildInfo:    gauge("build_info", "1; the version of the program and the checksum of the configuration.", "version", "config"),
	lastTick:     gauge("last_tick_timestamp_seconds", "Wall time of the last tick; an age that grows means that nothing is controlled."),
	ticks:        counter("ticks_total", "Ticks that were run since the start."),
	missedTicks:  counter("missed_ticks_total", "Ticks that were due and not run since the start."),
	clockTrusted: gauge("clock_trusted", "1 when something trustworthy set the wall clock."),
	demoSpeed:    gauge("demo_speed", "Virtual seconds in a real one when the model is shown, 0 on hardware."),

	journalOK:       gauge("journal_ok", "1 when the record is being written."),
	journalQueue:    gauge("journal_queue_entries", "Entries that wait for the disk."),
	journalEntries:  counter("journal_entries_total", "Entries in the journal."),
	journalDurable:  gauge("journal_durable_entries", "Entries in the journal that a sync has covered."),
	journalLost:     counter("journal_lost_entries_total", "Entries that could not be kept since the start."),
	journalThinned:  counter("journal_thinned_blocks_total", "Blocks of readings whose detail was given up since the start."),
	journalReopened: counter("journal_reopened_total", "Times the journal's file had to be opened again since the start."),
	journalSync:     gauge("journal_last_sync_timestamp_seconds", "When the journal was last on disk, 0 for never."),

	messagesSent:    counter("messages_sent_total", "Messages that a target took since the start.", "target"),
	messagesFailed:  counter("message_tries_failed_total", "Tries to send a message that did not succeed since the start.", "target"),
	messagesDropped: counter("messages_dropped_total", "Messages given up since the start because too many waited.", "target"),
	messagesWaiting: gauge("messages_waiting", "Messages that were not sent yet.", "target"),

	stationInfo:       gauge("station_info", "1; what the station is.", "station", "kind", "species"),
	setPoint:          gauge("set_point_celsius", "The set point, middle of the differential.", "station"),
	effectiveSetPoint: gauge("effective_set_point_celsius", "The set point that governs now; it climbs after a start.", "station"),
	differential:      gauge("differential_kelvin", "Distance between switching on and off.", "station"),
	tooCold:           gauge("too_cold_celsius", "The limit under which the water is too cold.", "station"),
	cutoff:            gauge("cutoff_celsius", "The limit past which the protective control trips.", "station"),
	water:             gauge("water_celsius", "The reading that governs, NaN when none can be believed.", "station"),
	waterBelievable:   gauge("water_believable", "1 when a reading governs.", "station"),
	heatOn:            gauge("heat_on", "1 when the commands let current through to the heater.", "station"),
	heatPermitted:     gauge("heat_permitted", "1 when the protective control would allow heat.", "station"),
	attended:          gauge("attended", "1 while a person works at the station and both relays are open.", "station"),
	animalIn:          gauge("animal_in", "1 when an animal is in the tub.", "station"),
	readySince:        gauge("ready_timestamp_seconds", "When the station became ready, 0 while it is not.", "station"),

	alarmActive:     gauge("alarm_active", "1 while the cause is there or latched and nobody set the alarm aside.", "station", "cause"),
	alarmUnanswered: gauge("alarm_unanswered", "1 while the alarm waits for a person.", "station", "cause"),
	latched:         gauge("latched", "1 while the protective control is tripped on the cause.", "station", "cause"),

	probeTemperature: gauge("probe_celsius", "The calibrated reading of a probe, NaN when there is none.", "station", "role", "rom"),
	probeGood:        gauge("probe_good", "1 when the reading is good.", "station", "role", "rom"),
	probeReading:     gauge("probe_reading_timestamp_seconds", "When the last reading was measured, 0 when there is none.", "station", "role", "rom"),
	probeUncertainty: gauge("probe_uncertainty_kelvin", "Expanded uncertainty of the probe.", "station", "role", "rom"),
	probeCalibrated:  gauge("probe_calibrated", "1 when the probe was calibrated.", "station", "role", "rom"),
	probeErrors:      counter("probe_errors_total", "Bad readings of a probe since the start.", "station", "role", "rom"),
	proofPassed:      gauge("proof_passed", "1 when the last proof of this kind was passed.", "station", "proof"),
	proofTime:        gauge("proof_timestamp_seconds", "When the proof was last made, 0 for never.", "station", "proof"),

	treatmentRunning:  gauge("treatment_running", "1 while a treatment is under way in the chamber.", "station"),
	treatmentTogether: gauge("treatment_together_seconds", "For how long every probe has been at the target now, 0 while one is not.", "station"),
	treatmentLongest:  gauge("treatment_longest_together_seconds", "For how long they were at best in this treatment.", "station"),
	treatmentHold:     gauge("treatment_hold_seconds", "For how long the schedule asks for it, 0 without a treatment.", "station"),
	treatmentBehind:   gauge("treatment_behind_kelvin", "How far the slowest probe is from counting, NaN without a treatment; 0 or less: it counts.", "station"),
	treatmentResult:   gauge("treatment_result", "1 for the result of the treatment in the chamber, 0 for the others.", "station", "result"),
	treatmentAwaits:   gauge("treatment_awaits_release", "1 while a treatment is over, its chamber is at a safe temperature, and nobody has released it.", "station"),

	busCycles:      counter("bus_cycles_total", "Complete cycles of a bus since the start.", "bus"),
	busLastCycle:   gauge("bus_last_cycle_timestamp_seconds", "When the last complete cycle ended, 0 for never.", "bus"),
	busCycleLength: gauge("bus_cycle_seconds", "Length of the last cycle.", "bus"),
	busDevices:     gauge("bus_devices", "Probes that answered in the last cycle.", "bus"),
	busFaulty:      gauge("bus_faulty", "1 when the last cycle was not complete.", "bus"),

	relayOn:        gauge("relay_on", "1 when the relay is commanded on.", "relay"),
	relayWritten:   gauge("relay_written", "1 when the last write to the relay succeeded.", "relay"),
	relayDisagrees: gauge("relay_disagrees", "1 when the feedback contradicts the command; 0 without feedback.", "relay"),
	relayCycles:    counter("relay_cycles_total", "Times that the relay was closed since the start.", "relay"),
}
