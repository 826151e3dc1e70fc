package classroom

import (
	"sync"

	"kickover/procedure"
	"kickover/procedure/powerplant"
)

// Recorder keeps a run's events in the station's own log. It is a
// rehearsal.Recorder.
type Recorder struct {
	log    *Log
	tokens *tokens
	over   chan struct{} // closed by End
	end    func()
}

func newRecorder(l *Log, t *tokens) *Recorder {
	r := &Recorder{log: l, tokens: t, over: make(chan struct{})}
	r.end = sync.OnceFunc(func() {
		l.End()
		close(r.over)
	})
	return r
}

// Run is the run that is recorded.
func (r *Recorder) Run() RunID { return r.log.id }

func (r *Recorder) isOver() bool {
	select {
	case <-r.over:
		return true
	default:
		return false
	}
}

// Append takes an event; it never blocks. A fault is written down under a name
// that only the instructor's program can read.
func (r *Recorder) Append(e procedure.Event) {
	if e.Kind == procedure.EventFault {
		e.Subject = r.tokens.of(powerplant.Fault(e.Subject))
	}
	r.log.Append(e)
}

// End says that the run is over.
func (r *Recorder) End() { r.end() }

// tokens are the faults' names in a run.
type tokens struct {
	mu    sync.Mutex
	names map[powerplant.Fault]string
}

func newTokens(begin map[powerplant.Fault]string) *tokens {
	t := &tokens{names: map[powerplant.Fault]string{}}
	for f, name := range begin {
		t.names[f] = name
	}
	return t
}

func (t *tokens) add(f powerplant.Fault, name string) {
	t.mu.Lock()
	t.names[f] = name
	t.mu.Unlock()
}

func (t *tokens) of(f powerplant.Fault) string {
	t.mu.Lock()
	defer t.mu.Unlock()
	return t.names[f]
}
