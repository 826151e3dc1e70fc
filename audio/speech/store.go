package speech

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"strings"

	"github.com/faiface/beep"
	"github.com/faiface/beep/wav"
	"github.com/jfreymuth/oggvorbis"
)

// Clips are stored in two ways. The shipped ones are Ogg Vorbis: for the 250
// lines of one voice FLAC took 15 MB and Vorbis 5 MB, Vorbis decodes no slower
// (1.5 s of speech in a millisecond), and what counts of a clip, its centre and
// loudness, is measured on what comes out. What a user's machine renders is
// kept as WAV: no encoder is needed, and the cache is small.

// decode reads a stored clip, by its file's name, at ClipRate.
func decode(name string, r io.Reader) ([]float64, error) {
	if strings.HasSuffix(name, ".wav") {
		return decodeWAV(r)
	}
	return DecodeVorbis(r)
}

// DecodeVorbis reads a shipped clip. Anything but mono at ClipRate is an error.
func DecodeVorbis(r io.Reader) ([]float64, error) {
	narrow, format, err := oggvorbis.ReadAll(r)
	if err != nil {
		return nil, fmt.Errorf("decode clip: %w", err)
	}
	if format.SampleRate != ClipRate || format.Channels != 1 {
		return nil, fmt.Errorf("decode clip: %d Hz and %d channels; a clip has %d Hz and one", format.SampleRate, format.Channels, ClipRate)
	}
	x := make([]float64, len(narrow))
	for i, v := range narrow {
		x[i] = float64(v)
	}
	return x, nil
}

// decodeWAV reads a WAV file's left channel and brings it to ClipRate.
func decodeWAV(r io.Reader) ([]float64, error) {
	stream, format, err := wav.Decode(r)
	if err != nil {
		return nil, fmt.Errorf("decode WAV: %w", err)
	}
	var from beep.Streamer = stream
	if format.SampleRate != ClipRate {
		from = beep.Resample(6, format.SampleRate, ClipRate, stream)
	}
	// The decoder takes 16 bits for the half of full scale where there is one
	// channel.
	scale := 1.0
	if format.NumChannels == 1 && format.Precision == 2 {
		scale = 65535.0 / 32767
	}
	var x []float64
	var block [1024][2]float64
	for {
		n, ok := from.Stream(block[:])
		if !ok {
			return x, stream.Err()
		}
		for _, s := range block[:n] {
			x = append(x, s[0]*scale)
		}
	}
}

// ReadWAV reads a WAV file's left channel at ClipRate.
func ReadWAV(file string) ([]float64, error) {
	data, err := os.ReadFile(file)
	if err != nil {
		return nil, err
	}
	return decodeWAV(bytes.NewReader(data))
}

// WriteWAV writes mono speech at ClipRate.
func WriteWAV(file string, pcm []int16) error {
	f, err := os.Create(file)
	if err != nil {
		return err
	}
	at := 0
	err = wav.Encode(f, beep.StreamerFunc(func(out [][2]float64) (int, bool) {
		n := min(len(out), len(pcm)-at)
		for i, v := range pcm[at : at+n] {
			x := float64(v) / 32767
			out[i] = [2]float64{x, x}
		}
		at += n
		return n, n > 0
	}), beep.Format{SampleRate: ClipRate, NumChannels: 1, Precision: 2})
	if closing := f.Close(); err == nil {
		err = closing
	}
	return err
}
