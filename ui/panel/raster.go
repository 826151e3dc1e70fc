package panel

import "os"

// OneRasterThread asks software OpenGL (Mesa's llvmpipe) to draw on the calling
// thread, without helpers. A window like ours is drawn in so many small pieces
// that handing them out costs more than it saves: without helpers it took 43 to
// 47 % of a core at thirty frames a second where it had taken 49 to 54 %, on two
// cores. It must be called before the toolkit's application is made, leaves a
// choice already made in the environment alone, and means nothing to a graphics
// card.
func OneRasterThread() error {
	const name = "LP_NUM_THREADS"
	if _, chosen := os.LookupEnv(name); chosen {
		return nil
	}
	return os.Setenv(name, "0")
}
