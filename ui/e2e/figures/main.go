// Figures prints what the real window costs: the share of a core while the
// Rehearse screen moves and while it rests, the frames it reaches, and the time
// from starting the program to its first painted frame. It needs a display;
// .ci/bench gives it one.
package main

import (
	"errors"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"time"

	"github.com/jezek/xgb"
	"github.com/jezek/xgb/xproto"

	"kickover/ui/rehearse/motion"
)

func main() {
	scene := flag.String("scene", "", "scene to move on the Rehearse screen")
	rate := flag.Float64("rate", 30, "snapshots a second")
	seconds := flag.Float64("seconds", 10, "how long")
	first := flag.String("first", "", "program to start until its window is painted")
	flag.Parse()
	if err := figures(*scene, *rate, *seconds, *first); err != nil {
		fmt.Fprintln(os.Stderr, "figures:", err)
		os.Exit(1)
	}
}

func figures(scene string, rate, seconds float64, program string) error {
	if program != "" {
		d, err := firstFrame(program)
		if err == nil {
			fmt.Printf("start to first painted frame: %d ms\n", d.Milliseconds())
		}
		return err
	}
	c, err := motion.Run(motion.Options{Scene: motion.Scene(scene), Rate: rate, For: time.Duration(seconds * float64(time.Second))})
	if err != nil {
		return err
	}
	fmt.Printf("Rehearse, scene %s, %g snapshots a second: %.1f %% of a core, %.0f frames a second\n",
		scene, rate, 100*c.Share(), float64(c.Frames)/c.Wall.Seconds())
	return nil
}

// firstFrame starts the program and looks at the screen, each millisecond, until
// something stands on it: letters and lines, that is colours beside
// the window's ground. The ground alone is no first frame, nor is black or white.
func firstFrame(program string) (time.Duration, error) {
	x, err := xgb.NewConn()
	if err != nil {
		return 0, fmt.Errorf("looking at the display: %w", err)
	}
	defer x.Close()
	screen := xproto.Setup(x).DefaultScreen(x)
	c := exec.Command(program)
	begun := time.Now()
	if err := c.Start(); err != nil {
		return 0, err
	}
	defer func() {
		_ = c.Process.Kill() // it has no run under way
		_ = c.Wait()
	}()
	const patience = 20 * time.Second
	for time.Since(begun) < patience {
		painted, err := painted(x, screen)
		if err != nil {
			return 0, err
		}
		if painted {
			return time.Since(begun), nil
		}
		time.Sleep(time.Millisecond) // the program has the processors
	}
	return 0, errors.New("the window was not painted within twenty seconds")
}

// painted reports whether a column through the screen has at least four colours
// beside black and white, a desktop's frame around the window left out.
func painted(x *xgb.Conn, screen *xproto.ScreenInfo) (bool, error) {
	column, top, high := screen.WidthInPixels/4, screen.HeightInPixels/5, screen.HeightInPixels/5*3
	image, err := xproto.GetImage(x, xproto.ImageFormatZPixmap, xproto.Drawable(screen.Root), int16(column), int16(top), 1, high, 0xffffffff).Reply()
	if err != nil {
		return false, fmt.Errorf("looking at the display: %w", err)
	}
	colours := map[[3]byte]bool{}
	for p := image.Data; len(p) >= 4; p = p[4:] {
		if sum := int(p[0]) + int(p[1]) + int(p[2]); sum > 30 && sum < 3*250 {
			colours[[3]byte(p)] = true
		}
	}
	return len(colours) >= 4, nil
}
