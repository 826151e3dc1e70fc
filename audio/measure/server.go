package main

import (
	"bufio"
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"time"

	"kickover/audio"
)

// server is a sound server of our own, whose output nobody hears.
type server struct {
	dir    string
	daemon *exec.Cmd
}

// startServer starts PulseAudio in a folder of its own and points this process
// at it.
func startServer() (*server, error) {
	dir, err := os.MkdirTemp("", "kickover-measure-")
	if err != nil {
		return nil, err
	}
	s := &server{dir: dir}
	os.Setenv("PULSE_SERVER", "unix:"+s.socket())
	os.Unsetenv("PULSE_SINK") // another server's sink is not on this one
	if err := s.start(); err != nil {
		s.close()
		return nil, err
	}
	return s, nil
}

func (s *server) socket() string { return filepath.Join(s.dir, "native") }

func (s *server) start() error {
	s.daemon = exec.Command("pulseaudio", "-n", "--daemonize=no", "--exit-idle-time=-1", "--use-pid-file=no",
		"--log-level=error",
		"-L", "module-null-sink sink_name=measured rate="+strconv.Itoa(audio.Rate)+" format=float32le",
		"-L", "module-native-protocol-unix auth-anonymous=1 socket="+s.socket())
	s.daemon.Env = append(os.Environ(), "HOME="+s.dir, "XDG_RUNTIME_DIR="+s.dir, "PULSE_RUNTIME_PATH="+s.dir)
	if err := s.daemon.Start(); err != nil {
		return fmt.Errorf("cannot start pulseaudio (Debian package pulseaudio): %w", err)
	}
	for range 100 {
		if exec.Command("pactl", "info").Run() == nil {
			return nil
		}
		time.Sleep(50 * time.Millisecond)
	}
	return fmt.Errorf("pulseaudio did not answer within five seconds")
}

func (s *server) kill() {
	s.daemon.Process.Kill()
	s.daemon.Wait()
	os.Remove(s.socket())
}

func (s *server) close() {
	if s.daemon != nil && s.daemon.Process != nil {
		s.kill()
	}
	os.RemoveAll(s.dir)
}

// recording is what the server's output carried, with the time of each sample.
type recording struct {
	parec *exec.Cmd

	// Both are the reading goroutine's until done is closed. arrived holds, for
	// each piece that came, how many samples were there and when, since the
	// recording began.
	samples []float64
	arrived []arrival
	began   time.Time
	done    chan struct{}
}

type arrival struct {
	count int
	at    time.Duration
}

// longest is what is kept without moving what was kept before. To move it takes
// the machine, and the collector of garbage, tens of milliseconds in which nothing
// else of this program runs, the sound that is measured included.
const longest = 12 * time.Minute

// record begins to record; an idle null sink stalls unless somebody does.
func record() (*recording, error) {
	r := &recording{began: time.Now(), done: make(chan struct{}), samples: make([]float64, 0, int(longest.Seconds()*audio.Rate))}
	r.parec = exec.Command("parec", "-d", "measured.monitor", "--raw", "--format=float32le", "--channels=1",
		"--rate="+strconv.Itoa(audio.Rate), "--latency-msec=5", "--process-time-msec=5")
	out, err := r.parec.StdoutPipe()
	if err != nil {
		return nil, err
	}
	if err := r.parec.Start(); err != nil {
		return nil, fmt.Errorf("cannot record (Debian package pulseaudio-utils): %w", err)
	}
	go r.take(bufio.NewReaderSize(out, 1<<16))
	return r, nil
}

func (r *recording) take(from io.Reader) {
	defer close(r.done)
	buf := make([]byte, 1<<16)
	kept := 0
	for {
		n, err := from.Read(buf[kept:])
		at := time.Since(r.began)
		if err != nil {
			return
		}
		n += kept
		for i := 0; i+4 <= n; i += 4 {
			r.samples = append(r.samples, float64(math.Float32frombits(binary.LittleEndian.Uint32(buf[i:]))))
		}
		r.arrived = append(r.arrived, arrival{len(r.samples), at})
		kept = copy(buf, buf[n/4*4:n])
	}
}

func (r *recording) stop() {
	r.parec.Process.Kill()
	<-r.done
	r.parec.Wait()
}

// at is when a sample was played: never later than it arrived, and the promptest
// arrivals within ten seconds say how much earlier.
func (r *recording) at(sample int) time.Time {
	const around = 10 * audio.Rate
	best := math.Inf(1)
	for _, a := range r.arrived {
		if a.count > sample-around && a.count < sample+around {
			best = min(best, a.at.Seconds()-float64(a.count)/audio.Rate)
		}
	}
	return r.began.Add(time.Duration((best + float64(sample)/audio.Rate) * float64(time.Second)))
}
