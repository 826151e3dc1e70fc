package record

// Column is a column of a CSV file, and a key of JSON Lines.
type Column struct {
	Name    string
	Meaning string // with its unit or form
}

// Columns describes a kind's columns in their order.
func Columns(kind Kind) (list []Column) {
	for _, c := range csvColumns(kind) {
		list = append(list, Column{c.name, meanings[kind][c.name]})
	}
	return list
}

// meanings are in words for the person who opens the file elsewhere. Times of day
// are UTC, in the form of RFC 3339; names that end in _ns are nanoseconds.
var meanings = map[Kind]map[string]string{
	KindPeople: {
		"id":    "tells one person from another; other files name people by it; may be left empty for somebody new",
		"name":  "as the person is called",
		"role":  "student or instructor",
		"added": "when the person was entered, RFC 3339",
	},
	KindRegistrations: {
		"registration": "as painted on the aeroplane",
		"aircraft":     "id of the aircraft file that describes it",
		"note":         "free text",
	},
	KindSignOffs: {
		"id":         "tells one sign-off from another",
		"student":    "id of the person it is for",
		"instructor": "id of the person who signed",
		"signed":     "when, RFC 3339",
		"aircraft":   "id of the aircraft file",
		"flow":       "id of the flow that was flown as it should be",
		"run":        "id of the run that was seen; empty for none in particular",
		"remarks":    "free text",
	},
	KindStarts: {
		"id":               "tells one start from another; may be left empty",
		"registration":     "of the aeroplane",
		"aircraft":         "id of the aircraft file",
		"time_utc":         "of the first prime or attempt, RFC 3339",
		"situation":        "cold, warm, hot, flooded",
		"oat_degC":         "outside air temperature, degrees Celsius; empty when not known",
		"altitude_m":       "pressure altitude, metres; empty when not known",
		"since_shutdown_s": "seconds since the engine was last stopped; empty when not known",
		"prime_s":          "seconds of priming, all together",
		"attempts":         "engagements of the starter",
		"outcome":          "started or not started",
		"note":             "free text",
		"caution":          "what these records are not; passed over when read",
		"person":           "id of whose start it was; empty for nobody's",
	},
	KindRuns: {
		rowColumn:             "run, event or summary: a run is one row of the first, one of the second for each event, one of the last if it is over",
		"kickover_run":        "run: version of what events mean, 1 so far",
		"id":                  "run: tells one run from another",
		"started":             "run: when it began, RFC 3339 to the nanosecond",
		"events":              "run: rows of events that follow",
		"program":             "run: version of the program",
		"aircraft":            "run: id of the aircraft file",
		"flow":                "run: id of the flow",
		"flow_sha256":         "run: SHA-256 of the flow's file, hex",
		"phase":               "run: explain, demonstrate, perform or evaluate",
		"panel":               "run: variant of the panel; empty is the standard one",
		"oat_degC":            "run: outside air temperature, degrees Celsius",
		"pressure_altitude_m": "run: pressure altitude, metres",
		"since_shutdown_ns":   "run: since the engine was last stopped",
		"battery_charge":      "run: 0 to 1",
		"hidden":              "run: true when the student was not shown the conditions",
		"faults":              "run: JSON array of what was wrong from the beginning",
		"seed":                "run: of all chance, an unsigned number of 64 bits",
		"step_ns":             "run: step of the simulation",
		"person":              "run: id of whose run it is; empty for nobody's",
		"seq":                 "event: number, from 1 without a gap",
		"at_ns":               "event: since the run began",
		"kind":                "event: what sort",
		"subject":             "event: control, instrument or other thing it is about",
		"value":               "event: number; one that is none is a string of its 64 bits in hex",
		"text":                "event: what was said or chosen",
		"outcome":             "summary: started, not started, unsafe, stopped, abandoned, read",
		"prime_ns":            "summary: how long fuel was primed, all together",
		"attempts":            "summary: engagements of the starter",
		"unsafe":              "summary: acts that could have hurt somebody",
		"duration_ns":         "summary: length of the run",
		"running":             "summary: whether the engine ran at the end; empty when the outcome says it",
		"steps":               "summary: JSON array of what became of each step",
	},
}
