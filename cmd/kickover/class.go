package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"kickover/audio"
	"kickover/procedure"
	"kickover/procedure/classroom"
	"kickover/procedure/classroom/natslink"
	"kickover/procedure/record"
	"kickover/procedure/rehearsal"
	"kickover/procedure/settings"
	"kickover/ui"
	screens "kickover/ui/classroom"
)

// classFlags are what a class is opened with.
type classFlags struct {
	folder, network, school string
	port                    int

	servers *natslink.School // that school names; nil is a server of our own
	trouble string           // why the school that was chosen cannot be used
	first   bool             // the window begins with the class
	join    *ui.Join
}

// What stands in for flags that are not given.
const (
	classFolderVariable = "KICKOVER_CLASS_FOLDER"
	schoolVariable      = "KICKOVER_SCHOOL"
)

func classCommand() *cobra.Command {
	w := &windowCommand{}
	c := &cobra.Command{
		Use:   "class",
		Short: "Open the instructor's desk: a class on the local network, or on one machine",
		Long: "Open the instructor's desk. A class listens only while it is open, and only on the network that you\n" +
			"choose; students join with the address and the code that the projector shows. What is flown is kept\n" +
			"in the class's own file and in the records. Closed or cut short, a class can be opened again, and\n" +
			"its stations come back by themselves.\n\n" + caution,
		Example: "  kickover class\n  kickover class --interface 192.168.1.20 --port 4478",
		Args:    cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			w.class.first = true
			return w.open(c, nil)
		},
	}
	w.add(c)
	fs := c.Flags()
	fs.StringVar(&w.class.folder, "class-folder", "", "where classes are kept: a folder, or a PostgreSQL URL (default "+homeless(classFolder(""))+"; or "+classFolderVariable+")")
	fs.StringVar(&w.class.school, "school", "", "configuration of a school's own NATS cluster and PostgreSQL (or "+schoolVariable+"); no port is opened here then")
	fs.StringVar(&w.class.network, "interface", "", "network that classes are on: its name or its address (default you choose)")
	fs.IntVar(&w.class.port, "port", defaultPort(), "port that a class listens at")
	return c
}

func joinCommand() *cobra.Command {
	w := &windowCommand{}
	var name string
	c := &cobra.Command{
		Use:   "join ADDRESS CODE",
		Short: "Join a class with the address and the code that the projector shows",
		Long: "Join a class. The code is six digits and three words; of a word its first four letters are enough.\n" +
			"The words tell the instructor's machine from any other that answers, so they are never left out.\n" +
			"A program that was started again takes its old place. Your name stays on the class's machines.\n\n" + caution,
		Example: "  kickover join 192.168.1.20:4477 482 913 abandon ability able --name Imke",
		Args:    cobra.MinimumNArgs(2),
		RunE: func(c *cobra.Command, args []string) error {
			address := classroom.ReadAddress(args[0])
			if err := checkAddress(address); err != nil {
				return usage(err)
			}
			code := strings.Join(args[1:], " ")
			if _, err := classroom.ParseJoinCode(code); err != nil {
				return usage(err)
			}
			w.class.join = &ui.Join{Address: address, Code: code, Name: name}
			return w.open(c, nil)
		},
	}
	w.add(c)
	c.Flags().StringVar(&name, "name", "", "your name, or the number of your place")
	return c
}

func defaultPort() int {
	port, err := strconv.Atoi(natslink.DefaultPort)
	if err != nil { // it is a constant
		panic(err)
	}
	return port
}

// checkAddress refuses what cannot be a machine's address, with or without a port.
func checkAddress(address string) error {
	machine, key, _ := strings.Cut(address, "/") // a school's servers have a key for each class
	host, port, err := net.SplitHostPort(machine)
	if err != nil {
		host, port = strings.Trim(machine, "[]"), natslink.DefaultPort
	}
	n, err := strconv.Atoi(port)
	if err != nil || n < 1 || n > 65535 || host == "" || strings.ContainsAny(host+key, " /@") {
		return fmt.Errorf("%q is no address of a class: type it as the projector shows it, like 192.168.1.20:%s", address, natslink.DefaultPort)
	}
	return nil
}

// classFolder is where classes are kept: named, or in the person's own folder.
func classFolder(named string) string {
	if named != "" {
		return named
	}
	return filepath.Join(userFolder(), "classes")
}

// check looks at the flags, and at what stands in for them, before a window opens.
func (f *classFlags) check() error {
	if f.folder == "" {
		f.folder = os.Getenv(classFolderVariable)
	}
	if f.school == "" {
		f.school = os.Getenv(schoolVariable)
	}
	if f.port == 0 {
		f.port = defaultPort()
	}
	if f.port < 1 || f.port > 65535 {
		return fmt.Errorf("--port %d: a port lies between 1 and 65535", f.port)
	}
	if f.school != "" && f.network != "" {
		return errors.New("with --school the class is on the school's servers: leave --interface out")
	}
	if f.school != "" {
		return f.atSchool(f.school)
	}
	if chosen := preferences.Settings().School; chosen != "" && f.network == "" {
		// Chosen in the window long ago, it may be gone, and is chosen anew there.
		if err := f.atSchool(chosen); err != nil {
			f.trouble = fmt.Sprintf("the school's servers that were chosen cannot be used (%v); classes are opened on this machine's networks until the file is chosen again", err)
		}
	}
	if f.network != "" && len(f.networks()) == 0 {
		var known []string
		all := classFlags{}
		for _, n := range all.networks() {
			known = append(known, fmt.Sprintf("%s (%s)", n.Name, n.Host))
		}
		return fmt.Errorf("this machine is on no network %q: choose one of %s", f.network, strings.Join(known, ", "))
	}
	return nil
}

// networks are those that a class can be opened on this moment; none when they
// cannot be listed, and then a class with one machine is left.
func (f *classFlags) networks() []screens.Network {
	if f.servers != nil {
		return []screens.Network{{Name: "the school's", Host: f.servers.Servers[0]}}
	}
	found, err := natslink.Interfaces()
	if err != nil {
		slog.Warn("networks cannot be listed", "error", err)
	}
	var out []screens.Network
	for _, i := range found {
		if f.network == "" || f.network == i.Name || f.network == i.Host {
			out = append(out, screens.Network{Name: i.Name, Host: i.Host})
		}
	}
	return out
}

// atSchool reads what a school's own servers are. Nothing listens here then, and
// there is no network to choose.
func (f *classFlags) atSchool(file string) error {
	servers, err := natslink.ReadSchool(file)
	if err != nil {
		return err
	}
	f.servers, f.school = servers, file
	return nil
}

// useSchool is a school's file chosen in the window, or none; it holds from the
// next start on too. It gives where classes are kept now.
func (f *classFlags) useSchool(file string) (folder string, err error) {
	file = strings.Trim(strings.TrimSpace(file), "\"'")
	if file == "" {
		f.servers, f.school = nil, ""
	} else if err := f.atSchool(file); err != nil {
		return "", err
	}
	return f.where(), preferences.Change(func(c *settings.Settings) { c.School = file })
}

// where is where classes are kept: the school's database, or a folder.
func (f *classFlags) where() string {
	if f.servers != nil && f.servers.Classes != "" {
		return f.servers.Classes
	}
	return classFolder(f.folder)
}

// options are what the window works with.
func (f *classFlags) options(d *desk, out io.Writer) *ui.ClassOptions {
	o := &ui.ClassOptions{First: f.first, Join: f.join}
	o.Desk = screens.DeskOptions{
		Folder: f.where(), Networks: f.networks, Listen: f.listen, Play: d.play, Said: f.trouble,
		School: func() string { return f.school }, UseSchool: f.useSchool,
		Opened: func(i *classroom.Instructor) { announceClass(out, i) },
	}
	if d.store != nil {
		o.Desk.Records, o.Desk.Signer = d.store, signer{d.store}
	}
	clock := rehearsal.NewSystem()
	o.Place = screens.PlaceOptions{
		Folder: filepath.Join(userFolder(), "joined"), Program: version(), Clock: clock, Look: nearbyClasses,
		Dial: func(id classroom.Identity, digits string, ear classroom.Ear) (classroom.Link, error) {
			return natslink.Dial(id, natslink.Calling{Digits: digits}, ear)
		},
	}
	d.soundPlace(&o.Place, clock)
	return o
}

// listen opens the network for a class, or goes to the school's servers.
func (f *classFlags) listen(c classroom.Class, on screens.Network, i *classroom.Instructor) (classroom.Room, error) {
	spool := f.where()
	if record.IsDSN(spool) {
		spool = classFolder("")
	}
	room, err := natslink.Open(natslink.Options{Class: c.ID, Certificate: c.Certificate(), Fingerprint: c.Fingerprint(),
		Host: on.Host, Port: cmp.Or(on.Port, f.port), Spool: classroom.Spool(spool, c.ID), School: f.servers}, i)
	if err != nil {
		return nil, err
	}
	return announceRoom(logRoom(room, c.ID), c), nil
}

// announceClass tells the terminal what the projector shows.
func announceClass(out io.Writer, i *classroom.Instructor) {
	for _, a := range i.Addresses() {
		fmt.Fprintf(out, "%s is open. Students join at %s with %s\n", i.Class().Name, a, i.JoinCode())
	}
}

// soundPlace gives a student's place its sound: as in a rehearsal, with "go" at its
// sample and the instructor's lines in between.
func (d *desk) soundPlace(o *screens.PlaceOptions, clock rehearsal.System) {
	s := d.sound
	o.Voice = func(*classroom.Assignment, time.Duration) rehearsal.Voice {
		s.attach(nil)
		return s
	}
	o.Captioned, o.Sound, o.Begun = true, s, s.attach
	o.Ready = func() { go s.player.Prepare(context.Background(), []string{goLine}) }
	o.Go = func(at time.Duration) {
		s.player.Say(audio.Line{Text: goLine, Beat: clock.At(at), Priority: audio.Cue})
	}
	o.Say = func(l procedure.Line) {
		go func() { // a line that nobody foresaw takes a moment to be rendered
			s.player.Prepare(context.Background(), []string{l.Spoken()})
			s.player.Say(audio.Line{Text: l.Caption, Say: l.Say, Priority: audio.Cue, Expires: 10 * time.Second})
		}()
	}
	o.Ended = s.hushEngine
}

// goLine is what begins a drill that all fly together.
const goLine = "Go"

// play flies a run of a class again, to be seen and heard. Nothing is kept of it.
func (d *desk) play(o rehearsal.Options, publish func(*rehearsal.Snapshot)) (*rehearsal.Live, func(), error) {
	s, err := d.session(o, false)
	if err != nil {
		return nil, nil, err
	}
	live := s.Live(publish)
	return live, func() {
		live.End(procedure.EndAbandoned)
		<-live.Done()
		s.sound.hushEngine()
	}, nil
}
