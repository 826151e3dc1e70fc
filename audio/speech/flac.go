package speech

import (
	"bytes"
	"fmt"
	"io"

	"github.com/mewkiz/flac"
	"github.com/mewkiz/flac/frame"
	"github.com/mewkiz/flac/meta"
)

// EncodeFLAC writes mono 16-bit samples at ClipRate without loss. The same
// samples give the same bytes, whatever is installed.
func EncodeFLAC(pcm []int16) ([]byte, error) {
	const block = 4096
	var out bytes.Buffer
	enc, err := flac.NewEncoder(&out, &meta.StreamInfo{
		BlockSizeMin: 16, BlockSizeMax: block,
		SampleRate: ClipRate, NChannels: 1, BitsPerSample: 16, NSamples: uint64(len(pcm)),
	})
	if err != nil {
		return nil, fmt.Errorf("encode clip: %w", err)
	}
	enc.EnablePredictionAnalysis(true)
	for at := 0; at < len(pcm); at += block {
		part := pcm[at:min(at+block, len(pcm))]
		wide := make([]int32, len(part))
		for i, v := range part {
			wide[i] = int32(v)
		}
		err := enc.WriteFrame(&frame.Frame{
			Header: frame.Header{
				BlockSize: uint16(len(part)), SampleRate: ClipRate,
				Channels: frame.ChannelsMono, BitsPerSample: 16,
			},
			Subframes: []*frame.Subframe{{
				SubHeader: frame.SubHeader{Pred: frame.PredVerbatim},
				Samples:   wide, NSamples: len(part),
			}},
		})
		if err != nil {
			return nil, fmt.Errorf("encode clip: %w", err)
		}
	}
	if err := enc.Close(); err != nil {
		return nil, fmt.Errorf("encode clip: %w", err)
	}
	return out.Bytes(), nil
}

// DecodeFLAC reads a clip. Anything but mono, 16 bits and ClipRate is an error.
func DecodeFLAC(r io.Reader) ([]int16, error) {
	stream, err := flac.New(r)
	if err != nil {
		return nil, fmt.Errorf("decode clip: %w", err)
	}
	if i := stream.Info; i.SampleRate != ClipRate || i.NChannels != 1 || i.BitsPerSample != 16 {
		return nil, fmt.Errorf("decode clip: %d Hz, %d channels, %d bits; a clip has %d Hz, 1 channel, 16 bits",
			i.SampleRate, i.NChannels, i.BitsPerSample, ClipRate)
	}
	var pcm []int16
	for {
		f, err := stream.ParseNext()
		if err == io.EOF {
			return pcm, nil
		}
		if err != nil {
			return nil, fmt.Errorf("decode clip: %w", err)
		}
		for _, v := range f.Subframes[0].Samples {
			pcm = append(pcm, int16(v))
		}
	}
}
