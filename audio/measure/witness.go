package main

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"runtime/debug"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"golang.org/x/sys/unix"
)

// witness knows what the machine did while sound was measured, so that each gap in
// the sound can be told with what happened in that moment. A process of its own
// watches the machine, since it is not held up by what holds this one up; a
// goroutine watches this program.
type witness struct {
	process *exec.Cmd
	input   io.Closer // closed, the process ends
	began   time.Time
	stop    chan struct{}
	watches sync.WaitGroup

	mu   sync.Mutex
	seen []incident
}

// incident is something that kept sound from being made, until At.
type incident struct {
	At     time.Duration // of the monotonic clock
	Lasted time.Duration
	What   string
}

// witnessing is the argument by which this program is a witness.
const witnessing = "witness"

const (
	nap     = time.Millisecond
	tooLong = 5 * time.Millisecond // later than that the sleeper was held up
	round   = 10 * time.Millisecond
	// The host's share is counted in hundredths of a second.
	hostTick = 10 * time.Millisecond
)

// monotonic is what the same clock says in every process.
func monotonic() time.Duration {
	var now unix.Timespec
	if unix.ClockGettime(unix.CLOCK_MONOTONIC, &now) != nil {
		return 0
	}
	return time.Duration(now.Nano())
}

// watch begins to witness the machine, this program, and the processes named.
func watch(others map[string]int) (*witness, error) {
	self, err := os.Executable()
	if err != nil {
		return nil, err
	}
	args := []string{witnessing, "player=" + strconv.Itoa(os.Getpid())}
	for name, pid := range others {
		args = append(args, name+"="+strconv.Itoa(pid))
	}
	w := &witness{process: exec.Command(self, args...), began: time.Now().Add(-monotonic()), stop: make(chan struct{})}
	if w.input, err = w.process.StdinPipe(); err != nil {
		return nil, err
	}
	told, err := w.process.StdoutPipe()
	if err != nil {
		return nil, err
	}
	if err := w.process.Start(); err != nil {
		return nil, err
	}
	w.watches.Go(func() { w.listen(told) })
	w.watches.Go(func() {
		sleepLightly(w.stop, func(late time.Duration) { w.note(incident{monotonic(), late, "this program's own scheduler"}) })
	})
	w.watches.Go(w.watchCollector)
	return w, nil
}

func (w *witness) note(i incident) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.seen = append(w.seen, i)
}

func (w *witness) listen(told io.Reader) {
	for rows := json.NewDecoder(told); ; {
		var i incident
		if rows.Decode(&i) != nil {
			return
		}
		w.note(i)
	}
}

// watchCollector notes when the collector of garbage stopped the program.
func (w *witness) watchCollector() {
	var stats debug.GCStats
	known := int64(0)
	for {
		over := false
		select {
		case <-w.stop:
			over = true
		case <-time.After(time.Second):
		}
		debug.ReadGCStats(&stats)
		for i := range min(int(stats.NumGC-known), len(stats.Pause)) {
			w.note(incident{time.Until(stats.PauseEnd[i]) + monotonic(), stats.Pause[i], "the collector of garbage"})
		}
		if known = stats.NumGC; over {
			return
		}
	}
}

func (w *witness) close() {
	close(w.stop)
	w.input.Close()
	w.watches.Wait()
	w.process.Wait()
	slices.SortFunc(w.seen, func(a, b incident) int { return int(a.At - b.At) })
}

// tellNear prints what happened around a moment.
func (w *witness) tellNear(out io.Writer, t time.Time) {
	const before, after = 150 * time.Millisecond, 50 * time.Millisecond
	at := t.Sub(w.began)
	for _, i := range w.seen {
		if i.At > at-before && i.At-i.Lasted < at+after {
			fmt.Fprintf(out, "    %s: %.1f ms, until %+.0f ms\n", i.What, milliseconds(i.Lasted), milliseconds(i.At-at))
		}
	}
}

// tellWorst prints, for each kind of incident, how often it came and how long the
// longest lasted: what the machine did to whoever runs on it, gap or no gap.
func (w *witness) tellWorst(out io.Writer) {
	often, longest := map[string]int{}, map[string]time.Duration{}
	for _, i := range w.seen {
		often[i.What]++
		longest[i.What] = max(longest[i.What], i.Lasted)
	}
	for _, what := range slices.Sorted(maps.Keys(often)) {
		fmt.Fprintf(out, "  witnessed %s: %d times, %.1f ms at most\n", what, often[what], milliseconds(longest[what]))
	}
}

// sleepLightly sleeps a millisecond again and again and tells by how much it
// overslept.
func sleepLightly(stop <-chan struct{}, overslept func(time.Duration)) {
	for {
		select {
		case <-stop:
			return
		default:
		}
		before := monotonic()
		time.Sleep(nap)
		if late := monotonic() - before - nap; late > tooLong {
			overslept(late)
		}
	}
}

// touchFreshPages asks for a page of memory again and again and tells what took
// too long. Where the host has a hand in a guest's memory a page may take a tenth
// of a second, in which the thread counts as running; a program that has to stop
// all its threads, as a collector of garbage does, waits for it.
func touchFreshPages(stop <-chan struct{}, slow func(time.Duration)) {
	page, err := unix.Mmap(-1, 0, os.Getpagesize(), unix.PROT_READ|unix.PROT_WRITE, unix.MAP_PRIVATE|unix.MAP_ANON)
	if err != nil {
		return
	}
	defer unix.Munmap(page)
	for {
		select {
		case <-stop:
			return
		case <-time.After(nap):
		}
		before := monotonic()
		unix.Madvise(page, unix.MADV_DONTNEED)
		page[0]++
		if took := monotonic() - before; took > tooLong {
			slow(took)
		}
	}
}

// bearWitness is the process that watches the machine, until its standard input
// ends: how long a thread that is ready has to wait for a processor, and pages that
// have to be read from the disk, in the named processes, how long the machine takes
// to give memory, and what the host takes.
func bearWitness(out io.Writer, processes []string) error {
	runtime.LockOSThread()
	over := make(chan struct{})
	go func() {
		io.Copy(io.Discard, os.Stdin)
		close(over)
	}()
	rows := json.NewEncoder(out)
	var telling sync.Mutex
	tell := func(what string, lasted time.Duration) {
		telling.Lock()
		defer telling.Unlock()
		rows.Encode(incident{monotonic(), lasted, what})
	}
	go sleepLightly(over, func(late time.Duration) { tell("a process that only sleeps", late) })
	go touchFreshPages(over, func(took time.Duration) { tell("a fresh page of memory, asked for by another process", took) })
	waited, read := map[string]time.Duration{}, map[string]int{}
	host := stolen()
	for {
		select {
		case <-over:
			return nil
		case <-time.After(round):
		}
		if now := stolen(); now > host {
			tell("taken by the host", now-host)
			host = now
		}
		for _, p := range processes {
			name, pid, _ := strings.Cut(p, "=")
			tasks, _ := filepath.Glob("/proc/" + pid + "/task/*")
			pages := fetched(pid)
			if before, known := read[pid]; known && pages > before {
				tell(fmt.Sprintf("the %s waiting for the disk, for %d pages of its own, in", name, pages-before), round)
			}
			read[pid] = pages
			for _, task := range tasks {
				total := runDelay(task)
				if before, known := waited[task]; known && total-before > tooLong {
					tell(fmt.Sprintf("a thread of the %s (%s %s) waiting for a processor", name, threadName(task), filepath.Base(task)), total-before)
				}
				waited[task] = total
			}
		}
	}
}

// runDelay is how long a thread has waited for a processor in all.
func runDelay(task string) time.Duration {
	text, err := os.ReadFile(task + "/schedstat")
	fields := strings.Fields(string(text))
	if err != nil || len(fields) < 2 {
		return 0
	}
	ns, _ := strconv.ParseInt(fields[1], 10, 64)
	return time.Duration(ns)
}

// fetched is how often a process met a page that had to be read from the disk.
func fetched(pid string) int {
	text, _ := os.ReadFile("/proc/" + pid + "/stat")
	_, after, _ := strings.Cut(string(text), ") ") // past its name
	fields := strings.Fields(after)
	if len(fields) < 10 {
		return 0
	}
	n, _ := strconv.Atoi(fields[9])
	return n
}

func threadName(task string) string {
	text, _ := os.ReadFile(task + "/comm")
	return strings.TrimSpace(string(text))
}

// stolen is what the host took of all processors.
func stolen() time.Duration {
	f, err := os.Open("/proc/stat")
	if err != nil {
		return 0
	}
	defer f.Close()
	row, _ := bufio.NewReader(f).ReadString('\n')
	fields := strings.Fields(row)
	if len(fields) < 9 {
		return 0
	}
	ticks, _ := strconv.Atoi(fields[8])
	return time.Duration(ticks) * hostTick
}
