package e2e

import (
	"bufio"
	"database/sql"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	_ "modernc.org/sqlite" // the class's file is looked at

	"kickover/procedure/parttest"
)

// seat is one machine of a class: a desktop of its own with one window on it.
type seat struct {
	t       *testing.T
	name    string
	display string
	data    string
	window  string
	pid     int
	desktop *exec.Cmd
	lines   chan string   // what the program says
	gone    chan struct{} // closed once the program and its desktop have ended
}

// starting prints where the program is, and becomes it.
const starting = `export XDG_DATA_HOME="$DATA"; echo "$DISPLAY $$"; exec "$@"`

// sit starts the program at a machine whose data is kept from one sitting to
// the next.
func sit(t *testing.T, name, data, program string, args ...string) *seat {
	t.Helper()
	s := &seat{t: t, name: name, data: data, lines: make(chan string, 100), gone: make(chan struct{})}
	s.desktop = desktop(t, "1440x900", []string{"DATA=" + data}, append([]string{"bash", "-c", starting, "bash", program}, args...)...)
	complaints, err := os.Create(filepath.Join(t.TempDir(), "complaints"))
	if err != nil {
		t.Fatal(err)
	}
	s.desktop.Stderr = complaints
	out, err := s.desktop.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := s.desktop.Start(); err != nil {
		t.Fatal(err)
	}
	go s.hear(out)
	t.Cleanup(func() {
		s.leave()
		complaints.Close()
		if said, err := os.ReadFile(complaints.Name()); t.Failed() && err == nil {
			t.Logf("%s: %s", name, said)
		}
	})
	return s
}

// settle waits until its window is there.
func (s *seat) settle() *seat {
	s.t.Helper()
	if _, err := fmt.Sscan(s.says("."), &s.display, &s.pid); err != nil {
		s.t.Fatalf("%s: the desktop did not start: %v", s.name, err)
	}
	s.window = strings.TrimSpace(s.hand("search", "--sync", "--onlyvisible", "--name", "^Kickover$"))
	s.hand("windowsize", s.window, "1280", "800")
	s.hand("windowfocus", s.window, "sleep", "0.5")
	return s
}

func (s *seat) hear(out io.Reader) {
	for l := bufio.NewScanner(out); l.Scan(); {
		select {
		case s.lines <- l.Text():
		default: // nobody has asked for a hundred lines
		}
	}
	close(s.lines)
	_ = s.desktop.Wait() // it says that the program was killed
	close(s.gone)
}

// says waits for a line that the program prints.
func (s *seat) says(pattern string) string {
	s.t.Helper()
	want, late := regexp.MustCompile(pattern), time.After(patience)
	for {
		select {
		case l, ok := <-s.lines:
			if !ok {
				s.t.Fatalf("%s: the program ended and did not say %q", s.name, pattern)
			}
			if want.MatchString(l) {
				return l
			}
		case <-late:
			s.t.Fatalf("%s: it did not say %q", s.name, pattern)
		}
	}
}

// hand lets xdotool do something; the time between one act and the next is its own.
func (s *seat) hand(args ...string) string {
	s.t.Helper()
	c := exec.Command("timeout", append([]string{"60", "xdotool"}, args...)...)
	c.Env = append(os.Environ(), "DISPLAY="+s.display)
	out, err := c.CombinedOutput()
	if err != nil {
		s.t.Fatalf("%s: xdotool %v: %v\n%s", s.name, args, err, out)
	}
	return string(out)
}

// click presses what is at a place in the window.
func (s *seat) click(at [2]int) {
	s.t.Helper()
	s.hand("mousemove", "--window", s.window, strconv.Itoa(at[0]), strconv.Itoa(at[1]), "sleep", "0.2", "click", "1", "sleep", "0.4")
}

func (s *seat) keys(keys ...string) {
	s.t.Helper()
	args := []string{}
	for _, k := range keys {
		args = append(args, "key", k, "sleep", "0.4")
	}
	s.hand(args...)
}

// shot keeps a picture of the window where somebody wants to look at it.
func (s *seat) shot(name string) {
	if dir := os.Getenv("KICKOVER_SHOTS"); dir != "" {
		c := exec.Command("import", "-window", "root", filepath.Join(dir, name+".png"))
		c.Env = append(os.Environ(), "DISPLAY="+s.display)
		_ = c.Run() // only to be looked at
	}
}

// kill ends the program as a power cut does.
func (s *seat) kill() {
	s.t.Helper()
	s.end(syscall.SIGKILL)
}

// leave ends the program, and with it its desktop.
func (s *seat) leave() {
	s.t.Helper()
	select {
	case <-s.gone:
	default:
		s.end(syscall.SIGTERM)
	}
}

func (s *seat) end(how syscall.Signal) {
	s.t.Helper()
	if s.pid != 0 { // else it never began, and only its desktop is ended
		if err := syscall.Kill(s.pid, how); err != nil {
			s.t.Errorf("%s: %v", s.name, err)
		}
		if s.isGone() {
			return
		}
		s.t.Errorf("%s: %v did not end it", s.name, how)
	}
	_ = quit(s.desktop.Process.Pid)
	if !s.isGone() {
		s.t.Errorf("%s: it does not end", s.name)
	}
}

func (s *seat) isGone() bool {
	select {
	case <-s.gone:
		return true
	case <-time.After(patience):
		return false
	}
}

// Places in the instructor's window, at 1280 by 800.
var (
	sequenceButton = [2]int{80, 738}
	goButton       = [2]int{172, 738} // also lets those in who came late
	pauseButton    = [2]int{272, 738}
	endButton      = [2]int{385, 738}
	everybody      = [2]int{527, 738}
	debriefButton  = [2]int{667, 738}
	firstFault     = [2]int{300, 182}
	firstTile      = [2]int{300, 300}
	backToBoard    = [2]int{1165, 90}
	openAgain      = [2]int{900, 318}
	signOffButton  = [2]int{581, 738}
	firstRun       = [2]int{500, 190}
)

// An instructor opens a class, two students join, a drill runs from "go", all in
// real windows of real processes over loopback. Both programs are killed in the
// middle and come back, and the class goes on: all of it is in the records, and
// signed.
func TestAClassInItsWindows(t *testing.T) {
	t.Parallel()
	program, folder := build(t), t.TempDir()
	data := func(who string) string { return filepath.Join(folder, who) }
	_, port, _ := strings.Cut(parttest.FreeAddress(t), ":")
	desk := []string{"class", "--interface", "127.0.0.1", "--port", port, "--class-folder", filepath.Join(folder, "classes")}

	teacher := sit(t, "instructor", data("instructor"), program, desk...).settle()
	teacher.hand("type", "--delay", "30", "Tuesday")
	teacher.keys("Return")
	// On a machine that is busy the display server repeats a key that is let go late.
	said := regexp.MustCompile(`join at (\S+) with (.+)$`).FindStringSubmatch(teacher.says("Students join at"))
	if said == nil {
		t.Fatal("it does not say how to join")
	}
	address, code := said[1], said[2]
	teacher.shot("class-invitation")
	join := func(name string) []string {
		return append(append([]string{"join", address}, strings.Fields(code)...), "--name", name)
	}
	imke := sit(t, "Imke", data("imke"), program, join("Imke")...)
	jorn := sit(t, "Jorn", data("jorn"), program, join("Jorn")...)
	imke.settle()
	jorn.settle()
	book := openClassFile(t, filepath.Join(folder, "classes"))
	book.until("two students have joined", "SELECT count(*) = 2 FROM stations WHERE name IN ('Imke', 'Jorn')")

	teacher.click(sequenceButton)
	teacher.shot("class-sequence")
	teacher.keys("Return")
	book.until("the drill is announced", `SELECT state LIKE '%"announced"%' FROM class`)
	teacher.shot("class-ready")
	teacher.keys("Return")
	book.until("both fly", "SELECT count(*) = 2 FROM runs")

	// One begins as he should, the other cranks without a look.
	imke.keys("space", "1", "t", "3")
	jorn.hand("key", "1", "sleep", "0.5", "keydown", "f", "sleep", "1.5", "keyup", "f", "sleep", "0.2")
	book.until("an engine was cranked", "SELECT count(*) > 0 FROM events WHERE kind = 'move' AND subject = 'ignition'")
	teacher.shot("class-board")
	teacher.click(firstTile)
	teacher.shot("class-station")
	teacher.click(backToBoard)
	teacher.click(everybody)
	teacher.shot("class-orders")
	teacher.click(firstFault)
	book.until("the fault came to both", "SELECT count(DISTINCT run) = 2 FROM events WHERE kind = 'fault' AND at > 0")
	teacher.click(pauseButton)
	imke.shot("class-paused")
	teacher.click(pauseButton)
	book.until("time stood still for both", "SELECT count(DISTINCT run) = 2 FROM events WHERE kind = 'pause'")

	teacher.kill()
	imke.keys("u", "u")
	imke.shot("class-away")
	flown := book.count("SELECT count(*) FROM events WHERE kind = 'move'")
	teacher = sit(t, "instructor again", data("instructor"), program, desk...).settle()
	teacher.click(openAgain)
	teacher.says("Students join at")
	book.until("what was flown meanwhile has come", fmt.Sprintf("SELECT count(*) > %d FROM events WHERE kind = 'move'", flown))

	jorn.kill()
	jorn = sit(t, "Jorn again", data("jorn"), program, join("Jorn")...).settle()
	book.untilBy("he is let in", "SELECT count(*) > 0 FROM orders WHERE body LIKE '%\"begin\"%'", func() { teacher.click(goButton) })
	book.until("he flies again, at his old place", "SELECT (SELECT count(*) FROM runs) = 3 AND (SELECT count(*) FROM stations) = 2")
	jorn.shot("class-again")

	teacher.click(endButton)
	book.until("all runs are filed", "SELECT count(*) = 3 FROM runs WHERE ended = 1 AND filed = 1")
	teacher.click(debriefButton)
	teacher.shot("class-debrief")
	teacher.click(signOffButton)
	teacher.click(firstRun)
	teacher.hand("type", "--delay", "30", "Otto")
	teacher.keys("Return")
	teacher.shot("class-signed")
	if n := strings.Count(records(t, program, teacher.data, "list"), "evaluate"); n != 3 {
		t.Errorf("the records hold %d runs, want 3", n)
	}
	if signed := records(t, program, teacher.data, "sign-offs"); !regexp.MustCompile("signed by O+t+o").MatchString(signed) {
		t.Errorf("nothing was signed: %q", signed)
	}
	if runs := records(t, program, imke.data, "list"); strings.TrimSpace(runs) != "" {
		t.Errorf("the student's own records hold the class's runs: %q", runs)
	}
}

// classFile is what the instructor's program has on its disk.
type classFile struct {
	t  *testing.T
	db *sql.DB
}

func openClassFile(t *testing.T, classes string) classFile {
	t.Helper()
	found, _ := filepath.Glob(filepath.Join(classes, "*", "class.db"))
	if len(found) != 1 {
		t.Fatalf("%d classes are kept, want one", len(found))
	}
	db, err := sql.Open("sqlite", "file:"+found[0]+"?mode=ro&_pragma=busy_timeout(5000)")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { db.Close() })
	return classFile{t, db}
}

func (f classFile) count(query string) int {
	f.t.Helper()
	var n int
	if err := f.db.QueryRow(query).Scan(&n); err != nil {
		f.t.Fatalf("%s: %v", query, err)
	}
	return n
}

// until looks ten times a second whether something has come about.
func (f classFile) until(what, query string) {
	f.t.Helper()
	f.untilBy(what, query, func() {})
}

// untilBy does something before each look, as somebody who presses a button
// until it can be pressed.
func (f classFile) untilBy(what, query string, act func()) {
	f.t.Helper()
	late, look := time.After(patience), time.NewTicker(100*time.Millisecond)
	defer look.Stop()
	for f.count(query) == 0 {
		act()
		select {
		case <-look.C:
		case <-late:
			f.t.Fatalf("still not: %s; the class is: %s", what, f.state())
		}
	}
}

// state is the class in a line, for somebody who looks for what went wrong.
func (f classFile) state() (line string) {
	const all = `SELECT (SELECT count(*) FROM stations) || ' stations, ' || (SELECT count(*) FROM runs) || ' runs, ' ||
		(SELECT count(*) FROM runs WHERE ended = 1) || ' ended, ' || (SELECT state FROM class) || ', ' || coalesce((SELECT group_concat(what) FROM log), 'no log')`
	if err := f.db.QueryRow(all).Scan(&line); err != nil {
		return err.Error()
	}
	return line
}
