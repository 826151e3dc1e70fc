package ui

import (
	"net/url"
	"path/filepath"
)

// fileURL is the address of a file of this machine (RFC 8089).
func fileURL(path string) (*url.URL, error) {
	abs, err := filepath.Abs(path)
	if err != nil {
		return nil, err
	}
	return &url.URL{Scheme: "file", Path: filepath.ToSlash(abs)}, nil
}
