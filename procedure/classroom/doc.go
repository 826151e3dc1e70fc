// Package classroom is a class on a local network: one instructor's program,
// up to some hundred stations, drills flown together or apart, and a live board.
//
// The instructor's program calls [NewClass] or [Reopen], then [NewInstructor],
// opens the network with natslink.Open and hands it to [Instructor.Attach]. A
// student's program reads the join code with [ParseJoinCode], takes an identity
// from [IdentityFor] and calls [Join] with a [Cockpit] as its seat. A class with
// one machine needs none of this: see [Aloud].
//
// Promises:
//
//   - A run goes on whatever the network does. Every event of it is stored by
//     the instructor's program once, in order and to the bit, however often
//     either program or the network stops; until then it is on the station's disk.
//   - Nothing that a station is sent, sends or keeps names a fault, a hidden
//     condition or the seed in a form that anything but its running program can
//     read.
//   - What a station says is believed of that station only, whatever it writes.
//   - Names of students are kept in the class's own file and are in no record.
//
// [Board], [Spread], [Drill], [Aloud] and [ClassClock] are pure: they are given
// times and messages and know no clock, file or network. [Instructor], [Book],
// [Station] and [Logbook] may be used from several goroutines.
//
// # Subjects
//
// All begin with "kickover." and the class's id, at a school so much of it as an
// address there has. A station may publish on its
// own three and subscribe to what is marked; nothing else.
//
//	kickover.CLASS.live.STATION    station: positions, 20 a second while it flies, else 1; may be lost
//	kickover.CLASS.events.STATION  station: run events, at most one message a half second; JetStream
//	kickover.CLASS.ask.STATION     station: hello, and clock comparisons; answered
//	kickover.CLASS.to.STATION      instructor to one station (it may subscribe)
//	kickover.CLASS.all             instructor to all (it may subscribe): that the class closes
//	_INBOX.STATION.>               answers to one station (it may subscribe)
//
// Messages are JSON of at most 48 KiB; the engine refuses more than 64 KiB. An
// event's value travels as the 64 bits of its number. Nothing in a message says
// which station it is from: the subject does, and the engine lets a station use
// no other.
//
// # Stream and retention
//
// One stream, EVENTS_CLASS, holds kickover.CLASS.events.*: work-queue retention
// on file, 256 MiB and 24 hours at most, new messages refused when it is full,
// one replica in a room (as many at a school as it says). Its
// one durable consumer, "records", acknowledges a message when the class's store
// has it. The stream is a spool and nothing rests on it: it is not flushed for
// each message, and what it loses the stations send again.
//
// The truth is the class's own SQLite file (WAL, synchronous=FULL), idempotent
// on station as authenticated, run and sequence number. One transaction stores
// whatever has arrived since the last one, so that one flush serves many
// stations. A receipt, "confirmed up to", goes back; the station drops a run when
// all of it and its end are confirmed, and sends again after four seconds without
// progress, and after each reconnection. Finished runs are filed in the records.
//
// The class's file is kept until somebody deletes its folder. It holds names. A
// school keeps its classes in PostgreSQL instead, a schema each, where a DSN
// stands for the folder; and carries them over its own servers, see
// natslink.School. The code is the same.
//
// # Joining
//
// The projector shows an address and a join code: six digits and three check
// words. The digits let a newcomer in: they change every fifteen minutes, and
// after twenty wrong tries; an address that was wrong six times waits a minute.
// The words are 33 bits of a memory-hard hash of the class's certificate, made
// when the class is first opened and kept with it: a machine that answers with
// another certificate is sent nothing. From then on the station pins the
// certificate's SHA-256, and comes back with a secret of its own, without a code.
//
// # Coming late
//
// A drill that all fly together is not joined in its middle: a station that hears
// of "go" late, or was started again, waits, and the instructor lets it in, see
// [Instructor.LetIn]. Its times are compared with nobody's.
//
// # What is hidden, and from whom
//
// A station must simulate the fault, so its program must know it. What can be
// had, and is: faults, hidden conditions and the seed go sealed (HPKE, RFC 9180)
// to a key that the station's program makes when it starts and keeps in memory;
// orders, whatever they are, too; every envelope has the same size, and a drill
// without faults has one as well. In what the station writes and sends a fault
// has a token instead of a name, another in each drill and at each station,
// which only the instructor's program can read.
//
// So it is hidden from a student with a network recorder, with the engine's own
// client and his station's password, with a look at his disk, from other
// students, and from every screen that shows snapshots. It is not hidden from
// somebody who takes the running program apart on his own machine, who may read
// its memory or write a station of his own and open his own envelopes; nothing
// can hide it from him but simulating all engines on the instructor's machine,
// and then no run would go on without a network. From the log on his disk a
// student can tell that something happened, and when, but not what. What he does
// to his own runs is his own, and the flow engine replays them: a run that cannot
// be replayed is left out of the debrief.
//
// # Clocks and "go"
//
// A station compares its clock with the class's by four time stamps, takes the
// comparison with the least delay of the last sixteen, and begins when its own
// clock says so; "go" is announced a second ahead at the least. Wall clocks do
// not matter. Half of a constant difference between the two directions remains.
package classroom
