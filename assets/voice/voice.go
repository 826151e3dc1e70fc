// Package voice holds the shipped clips: what every line of the shipped flows
// sounds like in each voice. Hand [Files] to the speech library; nothing else
// needs to look inside. index.json describes each clip and is written, with the
// clips, by make voice from lines.txt and pins.txt. The voices' licence is in
// COPYING.flite.
package voice

import "embed"

// Files is the index, the clips it names and the voices' licence.
//
//go:embed index.json COPYING.flite slt rms
var Files embed.FS
