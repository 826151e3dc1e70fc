package ledgerfile

import (
	"os"
	"strings"
	"sync"
	"time"

	"golang.org/x/sys/unix"
)

var boot = sync.OnceValue(func() string {
	id, err := os.ReadFile("/proc/sys/kernel/random/boot_id")
	if err != nil {
		return ""
	}
	return strings.TrimSpace(string(id))
})

// Now reads CLOCK_BOOTTIME, which goes on while the computer sleeps.
func (system) Now() Moment {
	m := Moment{Wall: time.Now().UTC().Round(0), Boot: boot()}
	var ts unix.Timespec
	if err := unix.ClockGettime(unix.CLOCK_BOOTTIME, &ts); err == nil {
		m.Since = time.Duration(ts.Nano())
	} else {
		m.Boot = ""
	}
	return m
}

// Hardware reads the battery clock; it is slow to read and asked only when an
// entry is written.
func (system) Hardware() time.Time {
	date, err := os.ReadFile("/sys/class/rtc/rtc0/date")
	if err != nil {
		return time.Time{}
	}
	hour, err := os.ReadFile("/sys/class/rtc/rtc0/time")
	if err != nil {
		return time.Time{}
	}
	t, err := time.Parse("2006-01-02 15:04:05", strings.TrimSpace(string(date))+" "+strings.TrimSpace(string(hour)))
	if err != nil {
		return time.Time{}
	}
	return t
}
