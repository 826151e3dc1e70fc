// Package speech turns a line's text into a clip that can be played: found
// among the shipped clips, or rendered by the speech program of the machine.
//
// Call [Open] first, then [Library.Prepare] with every line that may be spoken,
// as soon as they are known; [Library.Clip] then answers at once. A clip says
// where its perceptual centre lies, so that a caller can make it fall on a
// second, and every clip is equally loud. Nothing here plays sound, and nothing
// here is called from an audio callback. A Library may be used by several
// goroutines.
package speech
