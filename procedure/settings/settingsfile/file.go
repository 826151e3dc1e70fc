// Package settingsfile keeps a person's settings on disk.
//
// Call [Open] with the file's name; read [File.Settings]; change them with
// [File.Change], which writes the file before it returns.
//
// Promises: the file is replaced as a whole, so that a kill leaves the old or the
// new one. A damaged file is set aside and never written over. When the file
// cannot be read or written the settings are still there until the program ends,
// and a sentence says so.
package settingsfile

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"sync"

	"kickover/procedure/settings"
)

// File is the settings and where they are kept. Its methods may be called from
// any goroutine.
type File struct {
	path string

	mu      sync.Mutex
	now     settings.Settings
	bytes   []byte // as last read or written
	isNew   bool
	notices []string
}

// largest is more than any settings file that a person wrote.
const largest = 256 << 10

// Open reads the settings; what went wrong with it is in [File.Notices].
func Open(path string) *File {
	f := &File{path: path, now: settings.Default()}
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		f.isNew = true
		return f
	case err == nil && info.Size() > largest:
		f.setAside(fmt.Errorf("it has %d bytes, and at most %d are read", info.Size(), largest))
		return f
	}
	if f.bytes, err = os.ReadFile(path); err != nil {
		f.notices = append(f.notices, fmt.Sprintf("The settings in %s cannot be read, and the defaults are used: %v. Look at the file's rights.", path, err))
		return f
	}
	s, notes, err := settings.Decode(f.bytes)
	if err != nil {
		f.setAside(err)
		return f
	}
	f.now, f.notices = s, notes
	return f
}

// setAside keeps a damaged file beside the one that will be written.
func (f *File) setAside(why error) {
	f.bytes = nil
	for n := 1; n < 1000; n++ {
		aside := fmt.Sprintf("%s.damaged-%d", f.path, n)
		if _, err := os.Lstat(aside); err == nil {
			continue
		}
		if err := os.Rename(f.path, aside); err != nil {
			break
		}
		f.notices = append(f.notices, fmt.Sprintf("The settings file was damaged, and the defaults are used. It is kept as %s: mend it there, or choose again. (%v)", aside, why))
		return
	}
	f.notices = append(f.notices, fmt.Sprintf("The settings in %s are damaged, and the defaults are used; the file could not be set aside. (%v)", f.path, why))
}

// Path is where the settings are kept.
func (f *File) Path() string { return f.path }

// Settings are the present ones.
func (f *File) Settings() settings.Settings {
	f.mu.Lock()
	defer f.mu.Unlock()
	return f.now
}

// New reports whether there was no file yet: nobody has chosen anything.
func (f *File) New() bool { return f.isNew }

// Notices are sentences about what could not be read.
func (f *File) Notices() []string { return f.notices }

// Change changes the settings and writes them. When they cannot be written they
// are changed all the same, for as long as the program runs.
func (f *File) Change(change func(*settings.Settings)) error {
	f.mu.Lock()
	defer f.mu.Unlock()
	was := f.now
	change(&f.now)
	if f.now == was && len(f.bytes) > 0 {
		return nil
	}
	if err := f.write(); err != nil {
		return fmt.Errorf("the settings hold until the program ends, and could not be kept in %s: %w. Look at the disk's space and the folder's rights", f.path, err)
	}
	return nil
}

func (f *File) write() error {
	out, kept, err := settings.Encode(f.now, f.bytes)
	if err != nil {
		return err
	}
	if err := os.MkdirAll(filepath.Dir(f.path), 0o700); err != nil {
		return err
	}
	if !kept && len(f.bytes) > 0 {
		// It reads, and yet cannot be written into without losing something.
		f.setAside(errors.New("it holds what cannot be written again"))
	}
	if err := replace(f.path, out); err != nil {
		return err
	}
	f.bytes = out
	return nil
}

// replace puts a whole file in the place of another.
func replace(path string, data []byte) error {
	temp, err := os.CreateTemp(filepath.Dir(path), ".settings-*")
	if err != nil {
		return err
	}
	defer os.Remove(temp.Name()) // already gone when all went well
	if _, err := temp.Write(data); err != nil {
		temp.Close()
		return err
	}
	if err := temp.Sync(); err != nil {
		temp.Close()
		return err
	}
	if err := temp.Close(); err != nil {
		return err
	}
	return os.Rename(temp.Name(), path)
}
