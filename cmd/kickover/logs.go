package main

import (
	"fmt"
	"io"
	"log/slog"
	"os"
	"path/filepath"
	"regexp"
	"runtime"
	"runtime/debug"
	"strings"
	"time"

	"github.com/adrg/xdg"
	"gopkg.in/natefinch/lumberjack.v2"

	"kickover/audio"
	"kickover/procedure/classroom"
	"kickover/procedure/record"
)

// The log says what became of the program, not of its users: that it began and
// ended, how the store and the sound were, and the stack of a fault. It holds no
// names; the folders in it have lost the name of the user's own.

// How much is kept: four files of a megabyte.
const (
	logMegabytes = 1
	logsBefore   = 3
)

// stateFolder is where the log and the reports of faults are kept.
func stateFolder() string { return filepath.Join(xdg.StateHome, "kickover") }

func logFile() string { return filepath.Join(stateFolder(), "kickover.log") }

// faultFile is where the language's runtime writes the stacks of a fault that
// nobody caught.
func faultFile() string { return filepath.Join(stateFolder(), "fault.txt") }

// openLog makes the log file slog's default. A folder that cannot be written
// costs the log and nothing else.
func openLog() (closed func()) {
	file := &lumberjack.Logger{Filename: logFile(), MaxSize: logMegabytes, MaxBackups: logsBefore}
	level := slog.LevelInfo
	if soakEvery() > 0 {
		level = slog.LevelDebug
	}
	slog.SetDefault(slog.New(slog.NewTextHandler(file, &slog.HandlerOptions{Level: level, ReplaceAttr: nameless})))
	faults := catchFaults()
	return func() {
		_ = faults.Close()
		_ = file.Close()
	}
}

// catchFaults has the stacks of a fault in any goroutine written to faultFile.
func catchFaults() io.Closer {
	_ = os.MkdirAll(stateFolder(), 0o700) // else opening says so
	f, err := os.OpenFile(faultFile(), os.O_WRONLY|os.O_CREATE|os.O_APPEND, 0o600)
	if err != nil {
		return io.NopCloser(nil)
	}
	_ = debug.SetCrashOutput(f, debug.CrashOptions{})
	return f
}

// lastFault keeps the report of a fault that ended the program before, under a
// name with its time, and gives that name; empty is none.
func lastFault() string {
	info, err := os.Stat(faultFile())
	if err != nil || info.Size() == 0 {
		return ""
	}
	kept := filepath.Join(stateFolder(), "fault-"+info.ModTime().UTC().Format("20060102-150405")+".txt")
	if os.Rename(faultFile(), kept) != nil {
		return ""
	}
	return kept
}

// keptFaults are the reports of faults that were kept, oldest first.
func keptFaults() []string {
	found, _ := filepath.Glob(filepath.Join(stateFolder(), "fault-*.txt")) // its only error is a pattern that makes no sense
	return found
}

// guarded runs the program and turns a panic into a sentence, with its stack in
// the log.
func guarded(errOut io.Writer, run func() int) (code int) {
	defer func() {
		if p := recover(); p != nil {
			slog.Error("fault", "what", fmt.Sprint(p), "stack", string(debug.Stack()))
			fmt.Fprintf(errOut, "kickover: a fault of the program's own ended it. What was shown as recorded is kept, and it can be started again.\n"+
				"The fault is described in %s; please send that file to whoever helps you.\n", logFile())
			code = exitBroken
		}
	}()
	return run()
}

// logBegin notes which command was given, without its arguments: they may be
// names.
func logBegin(command string) {
	slog.Info("begins", "command", command, "version", version(), "go", runtime.Version(), "os", runtime.GOOS, "arch", runtime.GOARCH)
	if every := soakEvery(); every > 0 {
		go logSamples(every)
	}
}

// openStore opens the store of runs, and the log says how that went.
func openStore(path string) (*record.Store, error) {
	s, err := record.Open(path)
	if err != nil {
		slog.Error("store failed", "err", err)
		return nil, err
	}
	takeAside(s, path)
	slog.Info("store opened", "readonly", s.ReadOnly(), "notices", s.Notices())
	return s, nil
}

// loggedRoom has the log say when a class is closed.
type loggedRoom struct {
	classroom.Room
	class string
}

// logRoom notes that a class is open, by its id: its name is somebody's.
func logRoom(r classroom.Room, class string) classroom.Room {
	slog.Info("class opened", "class", class, "networks", len(r.Addresses()))
	return loggedRoom{r, class}
}

func (r loggedRoom) Close() error {
	err := r.Room.Close()
	slog.Info("class closed", "class", r.class, "err", err)
	return err
}

// logSound notes that the sound was lost and that it is back, until stop.
func logSound(p *audio.Player, stop <-chan struct{}) {
	look := time.NewTicker(time.Second)
	defer look.Stop()
	var before audio.Status
	for {
		select {
		case <-stop:
			return
		case <-look.C:
		}
		now := p.Status()
		switch {
		case now.Sound && !before.Sound:
			slog.Info("sound", "latency", now.Latency, "losses", now.Losses)
		case now.Text != before.Text && !now.Sound:
			slog.Warn("no sound", "why", now.Text, "losses", now.Losses)
		}
		before = now
	}
}

// nameless takes the user's own folder, which is named after them, out of what
// is logged.
func nameless(_ []string, a slog.Attr) slog.Attr {
	switch v := a.Value.Any().(type) {
	case string:
		a.Value = slog.StringValue(homeless(v))
	case error:
		a.Value = slog.StringValue(homeless(v.Error()))
	case []string:
		a.Value = slog.StringValue(homeless(strings.Join(v, " ")))
	}
	return a
}

// account is who one is to a server: in a URL, and in what is said of a
// connection that failed.
var account = regexp.MustCompile(`://[^/@\s]+@|user=[^\s` + "`" + `]+`)

// homeless is a text with the user's own folder as ~, and without accounts.
func homeless(text string) string {
	if home, err := os.UserHomeDir(); err == nil && len(home) > 1 {
		text = strings.ReplaceAll(text, home, "~")
	}
	return account.ReplaceAllStringFunc(text, func(found string) string {
		if strings.HasPrefix(found, "://") {
			return "://…@"
		}
		return "user=…"
	})
}
