package ledgerfile

import (
	"fmt"
	"os"
	"path/filepath"
	"sync"
)

// disk is the file as the writer needs it.
type disk interface {
	ReadAt(b []byte, off int64) (int, error)
	WriteAt(b []byte, off int64) (int, error)
	Truncate(size int64) error
	Sync() error
	Close() error
}

func openDisk(path string) (disk, error) { return os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o644) }

// writer appends lines to the file from a goroutine of its own, which alone
// touches the file. Everybody else only adds to the queue.
type writer struct {
	path         string
	registration string
	open         func(string) (disk, error)
	tell         func(string)
	setAside     string       // where the old file goes before it is replaced
	hold         func() error // keeps a ledger that was made anew from other windows

	mu      sync.Mutex
	wake    *sync.Cond
	queue   []byte // still to be written
	anew    []byte // a whole file to be put in place first
	closing bool
	nudged  bool
	err     error // of the last try; nil when all is on the disk
	busy    bool
	begun   bool
	done    chan struct{}

	file   disk // the goroutine's
	opened os.FileInfo
	size   int64
	unwell bool
}

func newWriter(path string, open func(string) (disk, error), tell func(string), registration string, hold func() error) *writer {
	w := &writer{path: path, open: open, tell: tell, registration: registration, hold: hold, done: make(chan struct{})}
	w.wake = sync.NewCond(&w.mu)
	return w
}

// write adds a line; the goroutine begins with the first.
func (w *writer) write(line string) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.queue = append(w.queue, line...)
	w.nudged = true
	if !w.begun {
		w.begun = true
		go w.run()
	}
	w.wake.Broadcast()
}

// replace puts a whole file in place before anything else is written.
func (w *writer) replace(data []byte) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.anew = data
}

// nudge lets a disk that refused be tried again, and a file that was taken away be
// missed.
func (w *writer) nudge() {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.begun {
		w.nudged = true
		w.wake.Broadcast()
	}
}

func (w *writer) sync() error {
	w.mu.Lock()
	defer w.mu.Unlock()
	for w.begun && (w.busy || w.nudged) {
		w.wake.Wait()
	}
	return w.err
}

func (w *writer) close() error {
	w.mu.Lock()
	w.closing, w.nudged = true, true
	begun := w.begun
	w.wake.Broadcast()
	w.mu.Unlock()
	if begun {
		<-w.done
	}
	return w.err
}

func (w *writer) run() {
	defer close(w.done)
	w.mu.Lock()
	defer w.mu.Unlock()
	for {
		for !w.nudged {
			w.wake.Wait()
		}
		w.nudged, w.busy = false, true
		queue, anew, closing := w.queue, w.anew, w.closing
		w.mu.Unlock()
		err := w.put(anew, queue)
		w.report(err)
		w.mu.Lock()
		w.busy, w.err = false, err
		if err == nil {
			w.queue = append([]byte(nil), w.queue[len(queue):]...)
			w.anew = nil
		}
		w.wake.Broadcast()
		if closing {
			if w.file != nil {
				w.file.Close()
			}
			return
		}
	}
}

// report says once that the disk refuses, and once that it no longer does.
func (w *writer) report(err error) {
	if (err != nil) == w.unwell {
		return
	}
	w.unwell = err != nil
	if w.tell == nil {
		return
	}
	if err != nil {
		w.tell(fmt.Sprintf("The starter's ledger of %s cannot be written: %v. It is kept until the program ends; make room on the disk, or look at the folder's permissions.", w.registration, plain(err)))
	} else {
		w.tell(fmt.Sprintf("The starter's ledger of %s is written again.", w.registration))
	}
}

// put writes what is to be written, whole or not at all.
func (w *writer) put(anew, queue []byte) error {
	if anew != nil {
		if err := w.renew(anew); err != nil {
			return err
		}
		w.mu.Lock()
		w.anew = nil
		w.mu.Unlock()
	}
	if err := w.ensure(); err != nil {
		return err
	}
	if len(queue) == 0 {
		return nil
	}
	if _, err := w.file.WriteAt(queue, w.size); err != nil {
		// What was written of it is not whole, and must not stay.
		w.file.Truncate(w.size)
		return err
	}
	if err := w.file.Sync(); err != nil {
		return err
	}
	w.size += int64(len(queue))
	return nil
}

func (w *writer) ensure() error {
	if err := w.bringBack(); err != nil || w.file != nil {
		return err
	}
	file, err := w.open(w.path)
	if err != nil {
		return err
	}
	info, err := os.Stat(w.path)
	if err != nil {
		file.Close()
		return err
	}
	w.file, w.opened, w.size = file, info, info.Size()
	return nil
}

// bringBack writes a file anew that was taken away, perhaps with its folder, while
// it was written: what it held can still be read, and would be gone with the program.
func (w *writer) bringBack() error {
	if w.file == nil {
		return nil
	}
	if now, err := os.Stat(w.path); err == nil && os.SameFile(now, w.opened) {
		return nil
	}
	held := make([]byte, w.size)
	if _, err := w.file.ReadAt(held, 0); err != nil && w.size > 0 {
		return err
	}
	if err := os.MkdirAll(filepath.Dir(w.path), 0o755); err != nil {
		return err
	}
	if err := w.hold(); err != nil {
		return err
	}
	if err := w.renew(held); err != nil {
		return err
	}
	w.file.Close()
	w.file = nil
	if w.tell != nil {
		w.tell(fmt.Sprintf("The starter's ledger of %s was taken away while it was kept. It is written anew, and nothing of it is lost.", w.registration))
	}
	return nil
}

// renew replaces the file in one step: written beside it, synchronised, renamed.
func (w *writer) renew(data []byte) error {
	if w.setAside != "" {
		if err := keepCopy(w.path, w.setAside); err != nil {
			return err
		}
		w.setAside = ""
	}
	temp := w.path + ".new"
	file, err := w.open(temp)
	if err != nil {
		return err
	}
	defer file.Close()
	if err := file.Truncate(0); err != nil {
		return err
	}
	if _, err := file.WriteAt(data, 0); err != nil {
		return err
	}
	if err := file.Sync(); err != nil {
		return err
	}
	if err := os.Rename(temp, w.path); err != nil {
		return err
	}
	syncFolder(filepath.Dir(w.path))
	return nil
}

// keepCopy keeps a damaged file beside the ledger, which stays in place until
// the new one takes it.
func keepCopy(from, to string) error {
	data, err := os.ReadFile(from)
	if err != nil {
		return nil // what cannot be read cannot be kept
	}
	return os.WriteFile(to, data, 0o644)
}

// syncFolder makes a rename last. Where a folder cannot be synchronised there is
// nothing a person could do about it.
func syncFolder(dir string) {
	if d, err := os.Open(dir); err == nil {
		d.Sync()
		d.Close()
	}
}
