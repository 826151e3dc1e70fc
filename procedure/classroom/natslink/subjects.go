package natslink

import (
	"strings"

	"kickover/procedure/classroom"
)

// The subjects of a class. A class's subjects begin with its id, so that many
// classes can share a cluster.
const (
	prefix     = "kickover."
	live       = ".live."   // station to instructor: positions, may be lost
	events     = ".events." // station to JetStream: run events
	ask        = ".ask."    // station to instructor: questions, answered to the inbox
	to         = ".to."     // instructor to one station
	all        = ".all"     // instructor to all stations
	streamName = "EVENTS_"
	consumer   = "records"
)

func liveOf(class string, s classroom.StationID) string   { return prefix + class + live + string(s) }
func eventsOf(class string, s classroom.StationID) string { return prefix + class + events + string(s) }
func askOf(class string, s classroom.StationID) string    { return prefix + class + ask + string(s) }
func toOf(class string, s classroom.StationID) string     { return prefix + class + to + string(s) }
func allOf(class string) string                           { return prefix + class + all }

// inboxOf is where answers to a station go; nobody else may listen there.
func inboxOf(s classroom.StationID) string { return "_INBOX." + string(s) }

// sender is the station that a subject names: what the server let through is
// from that station.
func sender(subject string) classroom.StationID {
	return classroom.StationID(subject[strings.LastIndexByte(subject, '.')+1:])
}
