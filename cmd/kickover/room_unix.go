//go:build unix

package main

import "golang.org/x/sys/unix"

// freeBytes is the room left to this user on a folder's disk.
func freeBytes(path string) (bytes uint64, known bool) {
	var s unix.Statfs_t
	if unix.Statfs(path, &s) != nil {
		return 0, false
	}
	return uint64(s.Bavail) * uint64(s.Bsize), true
}
