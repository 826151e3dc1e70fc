package rehearse

import "fyne.io/fyne/v2"

// act is what a key does.
type act int

const (
	actNone      act = iota
	actRocker        // arg: which of the left hand's switches
	actBrakes        // hold or release
	actStart         // the sprung position, as long as the key is down
	actTurnBack      // the ignition one position back
	actTurnOn        // the ignition one position on
	actLook          // arg: third
	actClear         // call
	actReady         // call; Explain: next
	actReport        // the instrument that the present check asks for
	actSkip          // the rest
	actAnswer        // an interruption
	actIgnore        // an interruption
	actChoose        // arg: which choice
	actNext          // Explain
	actBack          // Explain
	actOpen          // throttle forward while held
	actClose         // throttle back while held
	actMarkUp        // throttle to the next mark forward
	actMarkDown      // throttle to the next mark back
	actRich          // mixture full forward
	actCut           // mixture full back
	actLean          // mixture back while held
	actEnrich        // mixture forward while held
	actThirdUp       // the right hand's third lever full forward
	actThirdDown     // the right hand's third lever full back
	actLeftUp        // the left hand's lever full out
	actLeftDown      // the left hand's lever full in
	actPause
	actLeave
	actEscape // stop and think; once more, leave
)

type binding struct {
	act act
	arg int
}

// keymap lays the left hand's controls under the left hand and the right hand's
// under the right, so that START can be held while the mixture moves.
var keymap = map[fyne.KeyName]binding{
	fyne.Key1:     {actRocker, 0},
	fyne.Key2:     {actRocker, 1},
	fyne.Key3:     {actRocker, 2},
	fyne.Key4:     {actRocker, 3},
	fyne.Key5:     {actRocker, 4},
	fyne.KeySpace: {actBrakes, 0},
	fyne.KeyF:     {actStart, 0},
	fyne.KeyZ:     {actTurnBack, 0},
	fyne.KeyX:     {actTurnOn, 0},
	fyne.KeyA:     {actLook, 0},
	fyne.KeyW:     {actLook, 1},
	fyne.KeyD:     {actLook, 2},
	fyne.KeyC:     {actClear, 0},
	fyne.KeyT:     {actReport, 0},
	fyne.KeyR:     {actSkip, 0},
	fyne.KeyG:     {actAnswer, 0},
	fyne.KeyV:     {actIgnore, 0},

	fyne.Key7:         {actChoose, 0},
	fyne.Key8:         {actChoose, 1},
	fyne.Key9:         {actChoose, 2},
	fyne.Key0:         {actChoose, 3},
	fyne.KeyReturn:    {actReady, 0},
	fyne.KeyEnter:     {actReady, 0},
	fyne.KeyRight:     {actNext, 0},
	fyne.KeyLeft:      {actBack, 0},
	fyne.KeyI:         {actOpen, 0},
	fyne.KeyK:         {actClose, 0},
	fyne.KeyU:         {actMarkUp, 0},
	fyne.KeyJ:         {actMarkDown, 0},
	fyne.KeyO:         {actRich, 0},
	fyne.KeyL:         {actCut, 0},
	fyne.KeyP:         {actEnrich, 0},
	fyne.KeySemicolon: {actLean, 0},
	fyne.KeyY:         {actThirdUp, 0},
	fyne.KeyH:         {actThirdDown, 0},
	fyne.KeyE:         {actLeftUp, 0},
	fyne.KeyQ:         {actLeftDown, 0},

	fyne.KeyF9:     {actPause, 0},
	fyne.KeyF10:    {actLeave, 0},
	fyne.KeyEscape: {actEscape, 0},
}

// Legends as they are printed on the caps.
var (
	rockerKeys = []string{"1", "2", "3", "4", "5"}
	lookKeys   = [3]string{"A", "W", "D"}
	choiceKeys = []string{"7", "8", "9", "0"}
	snapKeys   = []string{"U", "J"} // of the throttle, to the next mark
	turnKeys   = [2]string{"Z", "X"}
)

const (
	brakeKey  = "space"
	startKey  = "F"
	callKey   = "C"
	readyKey  = "Enter"
	reportKey = "T"
	answerKey = "G"
	ignoreKey = "V"
	pauseKey  = "F9"
	leaveKey  = "F10"
)
