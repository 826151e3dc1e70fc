package main

import (
	"fmt"
	"os"
	"strings"

	"github.com/go-gl/gl/v2.1/gl"
	"github.com/go-gl/glfw/v3.4/glfw"
)

// lookAtDisplay opens a window that is never shown, as the toolkit would, and
// asks what draws it. It has to be called from the program's first goroutine, as
// a command is.
func lookAtDisplay() finding {
	if err := display(); err != nil {
		return finding{State: limited, Found: sentence(err) + ": the window does not open. All commands work in the terminal.",
			Mend: "start it from a desktop, or set DISPLAY"}
	}
	noWindow := func(what string, err error) finding {
		return finding{State: wrong, Found: fmt.Sprintf("the window cannot be opened on the display %q: %s: %v. All commands work in the terminal.", os.Getenv("DISPLAY"), what, err),
			Mend: "see that the desktop runs and that its driver has OpenGL 2.1; on Debian, install libgl1-mesa-dri"}
	}
	if err := glfw.Init(); err != nil {
		return noWindow("it does not answer", err)
	}
	defer glfw.Terminate()
	glfw.WindowHint(glfw.Visible, glfw.False)
	glfw.WindowHint(glfw.ContextVersionMajor, 2)
	glfw.WindowHint(glfw.ContextVersionMinor, 1)
	w, err := glfw.CreateWindow(64, 64, "kickover doctor", nil, nil)
	if err != nil {
		return noWindow("it has no OpenGL 2.1", err)
	}
	defer w.Destroy()
	w.MakeContextCurrent()
	if err := gl.Init(); err != nil {
		return noWindow("OpenGL does not begin", err)
	}
	size := ""
	if m := glfw.GetPrimaryMonitor(); m != nil {
		mode := m.GetVideoMode()
		size = fmt.Sprintf("%d×%d, ", mode.Width, mode.Height)
	}
	return finding{State: well, Found: fmt.Sprintf("%sOpenGL %s, drawn by %s", size, gl.GoStr(gl.GetString(gl.VERSION)), gl.GoStr(gl.GetString(gl.RENDERER)))}
}

// sentence begins an error's words as a sentence begins.
func sentence(err error) string {
	words := err.Error()
	return strings.ToUpper(words[:1]) + words[1:]
}
