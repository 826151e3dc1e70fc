package main

import (
	"image"
	"image/color"
	"os/exec"
	"runtime"
	"time"
)

// load keeps the machine as busy as it is at worst until stopped: every core has
// another program on it that never rests, and this one draws a window.
func load() (stop func()) {
	stopBurning, stopDrawing := burn(runtime.NumCPU()), make(chan struct{})
	go animate(stopDrawing)
	return func() {
		close(stopDrawing)
		stopBurning()
	}
}

// burn keeps every core busy with processes of their own until stopped.
func burn(cores int) (stop func()) {
	var burning []*exec.Cmd
	for range cores {
		c := exec.Command("sh", "-c", "while :; do :; done")
		if c.Start() == nil {
			burning = append(burning, c)
		}
	}
	return func() {
		for _, c := range burning {
			c.Process.Kill()
			c.Wait()
		}
	}
}

// animate draws a new picture of a window's size thirty times a second, as the
// program does beside the sound: it computes, and leaves work to the collector.
func animate(stop chan struct{}) {
	next := time.NewTicker(time.Second / 30)
	defer next.Stop()
	for n := 0; ; n++ {
		select {
		case <-stop:
			return
		case <-next.C:
		}
		picture := image.NewRGBA(image.Rect(0, 0, 1280, 800))
		for y := range 800 {
			for x := range 1280 {
				picture.SetRGBA(x, y, color.RGBA{uint8(x + n), uint8(y), uint8(x * y >> 8), 255})
			}
		}
	}
}
