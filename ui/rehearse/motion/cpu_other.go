//go:build !unix

package motion

import "time"

// processTime is not known here; costs are given as zero.
func processTime() time.Duration { return 0 }
