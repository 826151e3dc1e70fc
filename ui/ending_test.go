package ui

import (
	"testing"

	"fyne.io/fyne/v2/test"
)

func TestClosingTheWindowLeavesTheLoop(t *testing.T) {
	a := test.NewTempApp(t)
	w := a.NewWindow("")
	left := 0
	e := endOf(w, func() { left++ })
	e.run(func() {
		e.quit() // the test's toolkit does at once what it is asked for
		t.Error("the loop goes on")
	})
	if left != 1 {
		t.Errorf("what was under way was left %d times", left)
	}
}

func TestAFaultInTheLoopIsNoEnd(t *testing.T) {
	a := test.NewTempApp(t)
	e := endOf(a.NewWindow(""), func() {})
	defer func() {
		if got := recover(); got != "a fault" {
			t.Errorf("a fault of the loop came out as %v", got)
		}
	}()
	e.run(func() { panic("a fault") })
}
