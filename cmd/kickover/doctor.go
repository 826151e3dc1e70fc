package main

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"runtime/debug"
	"slices"
	"strings"
	"time"

	"github.com/adrg/xdg"
	"github.com/spf13/cobra"

	"kickover/assets"
	"kickover/audio"
	"kickover/audio/speech"
	"kickover/procedure/classroom/natslink"
	"kickover/procedure/flowfile"
	"kickover/procedure/realstart"
	"kickover/procedure/record"
)

// state is how one thing stands.
type state string

const (
	well    state = "well"
	limited state = "limited" // not there; everything else works
	wrong   state = "wrong"   // it should work and does not
)

// finding is what the doctor says of one thing, in words a person can send on.
type finding struct {
	Subject string `json:"subject"`
	State   state  `json:"state"`
	Found   string `json:"found"`          // what there is, or what happened and what still works
	Mend    string `json:"mend,omitempty"` // what to do, where there is something to do
}

// examination is everything that the doctor says.
type examination struct {
	Program  string            `json:"program"`
	Findings []finding         `json:"findings"`
	Modules  map[string]string `json:"modules"` // version of each that the program is built from
}

func doctorCommand() *cobra.Command {
	var asJSON bool
	var store string
	c := &cobra.Command{
		Use: "doctor", Short: "Say how display, sound, speech, store, network and folders are, to send to who helps you", Args: cobra.NoArgs,
		Long: "Look at what Kickover needs, and say what is there, what is not and what to do. It tells\n" +
			"no names of people, no accounts and no passwords, so it can be sent to whoever helps you.\n\n" +
			"The log, which holds no names either, is\n  " + homeless(logFile()) + "\n" +
			"Reports of faults, fault-TIME.txt, lie beside it.\n\n" +
			"Exit codes: 0 all that is there works; 1 something is wrong.",
		RunE: func(c *cobra.Command, _ []string) error {
			found := examine(c.Context(), store)
			if err := found.write(c.OutOrStdout(), asJSON); err != nil {
				return broken(err)
			}
			if slices.ContainsFunc(found.Findings, func(f finding) bool { return f.State == wrong }) {
				return &exitError{code: exitNotStarted}
			}
			return nil
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "write it as JSON, with every module's version")
	c.Flags().StringVar(&store, "store", "", "the file that runs are kept in, or a PostgreSQL URL (default the user's own file)")
	return c
}

// examine looks at one thing after another. None can keep another from being
// looked at.
func examine(ctx context.Context, store string) examination {
	if store == "" {
		store = storeName()
	}
	e := examination{Program: version(), Modules: modules()}
	add := func(subject string, look func() finding) {
		f := look()
		f.Subject, f.Found = subject, homeless(f.Found)
		e.Findings = append(e.Findings, f)
	}
	add("program", program)
	add("built of", builtFrom)
	add("display", lookAtDisplay)
	add("sound", lookAtSound)
	add("speech", lookAtSpeech)
	add("store", func() finding { return lookAtStore(ctx, store) })
	add("timer", lookAtTimer)
	add("choices", lookAtSettings)
	add("flows", lookAtFlows)
	add("network", lookAtNetwork)
	for _, f := range folders() {
		add(f.subject, func() finding { return lookAtFolder(f.path) })
	}
	add("faults", lookAtFaults)
	return e
}

func (e examination) write(out io.Writer, asJSON bool) error {
	if asJSON {
		j := json.NewEncoder(out)
		j.SetEscapeHTML(false)
		j.SetIndent("", "  ")
		return j.Encode(e)
	}
	var b strings.Builder
	for _, f := range e.Findings {
		fmt.Fprintf(&b, "%-8s %-8s %s\n", f.State, f.Subject, strings.ReplaceAll(f.Found, "\n", "\n"+strings.Repeat(" ", 18)))
		if f.Mend != "" {
			fmt.Fprintf(&b, "%-8s %-8s → %s\n", "", "", f.Mend)
		}
	}
	fmt.Fprintf(&b, "\nThe log is %s. Nothing above names a person or holds a password.\n", homeless(logFile()))
	_, err := io.WriteString(out, b.String())
	return err
}

// modules are the versions of what the program is built from.
func modules() map[string]string {
	all := map[string]string{}
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return all
	}
	for _, m := range info.Deps {
		if m.Replace != nil {
			m = m.Replace
		}
		all[m.Path] = m.Version
	}
	return all
}

// told are the modules whose version matters most where something does not work.
var told = []string{"fyne.io/fyne/v2", "github.com/hajimehoshi/oto/v2", "modernc.org/sqlite", "github.com/jackc/pgx/v5", "github.com/nats-io/nats-server/v2"}

func program() finding {
	return finding{State: well, Found: fmt.Sprintf("version %s, on %s (%s/%s, %d cores)", version(), systemName(), runtime.GOOS, runtime.GOARCH, runtime.NumCPU())}
}

func builtFrom() finding {
	words := []string{runtime.Version()}
	have := modules()
	for _, m := range told {
		if v, ok := have[m]; ok {
			words = append(words, m+" "+v)
		}
	}
	return finding{State: well, Found: strings.Join(words, ", ")}
}

// systemName is the operating system by its own name, where it says one.
func systemName() string {
	f, err := os.Open("/etc/os-release")
	if err != nil {
		return runtime.GOOS
	}
	defer f.Close()
	for lines := bufio.NewScanner(f); lines.Scan(); {
		if name, ok := strings.CutPrefix(lines.Text(), "PRETTY_NAME="); ok {
			return strings.Trim(name, `"`)
		}
	}
	return runtime.GOOS
}

// soundPatience is how long a device is given to play.
const soundPatience = 3 * time.Second

func lookAtSound() finding {
	p := audio.Open(audio.Options{})
	defer p.Close()
	deadline := time.Now().Add(soundPatience)
	status := p.Status()
	look := time.NewTicker(50 * time.Millisecond)
	defer look.Stop()
	for !status.Sound && status.Text == "" && time.Now().Before(deadline) {
		<-look.C
		status = p.Status()
	}
	outputs := ""
	if all := audio.Devices(); len(all) > 1 {
		var names []string
		for _, d := range all[1:] {
			names = append(names, d.Name)
		}
		outputs = "; outputs: " + strings.Join(names, ", ")
	}
	if status.Sound {
		return finding{State: well, Found: fmt.Sprintf("plays, about %d ms behind what is asked%s", status.Latency.Milliseconds(), outputs)}
	}
	text := status.Text
	if text == "" {
		text = "No sound device answered; captions stand in for the voice."
	}
	return finding{State: limited, Found: text + outputs,
		Mend: "connect a loudspeaker or headphones; with PulseAudio or PipeWire on Debian, install libasound2-plugins"}
}

func lookAtSpeech() finding {
	if name := speech.Program(); name != "" {
		return finding{State: well, Found: "lines without a shipped clip are spoken by " + name}
	}
	return finding{State: limited, Found: "No speech program is installed: lines of your own flows are shown with a tone. The shipped flows are spoken.",
		Mend: "install flite or espeak-ng"}
}

func lookAtStore(ctx context.Context, path string) finding {
	if !record.IsDSN(path) {
		if _, err := os.Stat(path); errors.Is(err, os.ErrNotExist) {
			return finding{State: well, Found: "no run has been kept yet; the first makes " + path}
		}
	}
	s, err := record.Open(path)
	if err != nil {
		return finding{State: wrong, Found: err.Error(), Mend: storeMend(err)}
	}
	defer s.Close()
	if err := s.Check(ctx); err != nil {
		return finding{State: wrong, Found: s.Path() + " opens, but not all of it can be read: " + err.Error(), Mend: "'kickover records check' recovers what can be read"}
	}
	n, err := countRuns(s)
	if err != nil {
		return finding{State: wrong, Found: s.Path() + " opens, but its runs cannot be listed: " + err.Error(), Mend: "send this to who helps you"}
	}
	f := finding{State: well, Found: fmt.Sprintf("%s is sound; runs in it: %d", s.Path(), n)}
	if notices := s.Notices(); len(notices) > 0 {
		f.State, f.Found = limited, f.Found+". "+strings.Join(notices, " ")
	}
	return f
}

// storeMend is what to do about a store that cannot be opened.
func storeMend(err error) string {
	switch {
	case errors.Is(err, record.ErrFull):
		return "make room on that disk, then look again"
	case errors.Is(err, record.ErrReadOnly):
		return "make the folder and the file in it yours to read and to write, or choose another folder in Settings"
	case errors.Is(err, record.ErrUnreachable):
		return "look at the network and the server; the window goes on with your own file"
	}
	return "send this to who helps you before you change anything"
}

// lookAtSettings tells what was found wrong with them when the program began.
func lookAtSettings() finding {
	notices := preferences.Notices()
	if len(notices) > 0 {
		return finding{State: limited, Found: strings.Join(notices, " ")}
	}
	if preferences.New() {
		return finding{State: well, Found: "nothing has been chosen yet; what is will be kept in " + settingsPath()}
	}
	return finding{State: well, Found: "what was chosen is kept in " + settingsPath()}
}

func countRuns(s *record.Store) (n int, err error) {
	page := record.Page{Limit: 1000}
	for {
		list, err := s.Runs(record.Filter{}, page)
		if err != nil {
			return n, err
		}
		n += len(list)
		if len(list) < page.Limit {
			return n, nil
		}
		page.After = list[len(list)-1].Header.ID
	}
}

func lookAtTimer() finding {
	if _, err := os.Stat(startsFile()); errors.Is(err, os.ErrNotExist) {
		return finding{State: well, Found: "no real start has been kept yet"}
	}
	s, err := realstart.Open(startsFile())
	if err != nil {
		return finding{State: wrong, Found: err.Error() + ". The timer times and counts; real starts are not kept.", Mend: "send this to who helps you"}
	}
	return finding{State: well, Found: fmt.Sprintf("real starts in %s: %d", startsFile(), len(s.Starts()))}
}

func lookAtFlows() finding {
	shipped, err := flowfile.Load(assets.Library())
	if err != nil {
		return finding{State: wrong, Found: "the shipped flows cannot be read: " + err.Error(), Mend: "install Kickover again"}
	}
	own, err := flowfile.LoadUser(userFolder(), shipped)
	if err != nil && !errors.Is(err, os.ErrNotExist) {
		return finding{State: wrong, Found: "some of your own files are wrong and are left out; the rest works:\n" + err.Error(),
			Mend: "'kickover flows check FILE' says what to mend"}
	}
	if own == nil {
		own = shipped
	}
	flows := 0
	for _, l := range own {
		flows += len(l.Flows)
	}
	return finding{State: well, Found: fmt.Sprintf("%d flows of %d aircraft", flows, len(own))}
}

func lookAtNetwork() finding {
	all, err := natslink.Interfaces()
	if err != nil {
		return finding{State: wrong, Found: "the networks of this machine cannot be listed: " + err.Error() + ". All but a class works."}
	}
	var words []string
	for _, i := range all {
		if i.Host != "127.0.0.1" {
			words = append(words, i.Name+" "+i.Host)
		}
	}
	if len(words) == 0 {
		return finding{State: limited, Found: "no network but this machine's own: all works but a class on several machines", Mend: "join the class's network"}
	}
	return finding{State: well, Found: "a class can be on " + strings.Join(words, ", ")}
}

type folder struct{ subject, path string }

// folders are those that the program writes to.
func folders() []folder {
	return []folder{
		{"data", filepath.Join(xdg.DataHome, "kickover")},
		{"settings", filepath.Join(xdg.ConfigHome, "kickover")},
		{"log", stateFolder()},
		{"cache", filepath.Join(xdg.CacheHome, "kickover")},
	}
}

// littleRoom is less than a school's year of runs needs.
const littleRoom = 100 << 20

// lookAtFolder tries what the program would: a folder that is not there yet is
// judged by the nearest above it that is.
func lookAtFolder(path string) finding {
	there := path
	for {
		if _, err := os.Stat(there); err == nil || there == filepath.Dir(there) {
			break
		}
		there = filepath.Dir(there)
	}
	try, err := os.CreateTemp(there, ".kickover-doctor-*")
	if err != nil {
		return finding{State: wrong, Found: fmt.Sprintf("%s cannot be written: %v. What needs it is kept until the program ends, and not longer.", path, causeOf(err)),
			Mend: "make the folder writable, or name another with the XDG variables"}
	}
	_ = try.Close()
	_ = os.Remove(try.Name())
	words := path
	if there != path {
		words += " (not made yet)"
	}
	room, known := freeBytes(there)
	switch {
	case known && room < littleRoom:
		return finding{State: limited, Found: fmt.Sprintf("%s has only %s left", words, size(room)), Mend: "make room on that disk"}
	case known:
		words += ", " + size(room) + " free"
	}
	return finding{State: well, Found: words}
}

// causeOf is an error of the file system without the name of the file that was
// tried, which is nobody's.
func causeOf(err error) error {
	if p := (*fs.PathError)(nil); errors.As(err, &p) {
		return p.Err
	}
	return err
}

func size(bytes uint64) string {
	if bytes < 10<<30 {
		return fmt.Sprintf("%d MB", bytes>>20)
	}
	return fmt.Sprintf("%d GB", bytes>>30)
}

func lookAtFaults() finding {
	kept := keptFaults()
	if len(kept) == 0 {
		return finding{State: well, Found: "no report of a fault that ended the program"}
	}
	return finding{State: limited, Found: fmt.Sprintf("%s; the last is %s", counted(len(kept), "report"), kept[len(kept)-1]), Mend: "send it to who helps you, then delete it"}
}
