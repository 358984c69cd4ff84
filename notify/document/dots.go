package document

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
)

// Bounds of a photo, so that none makes the program use more than some 700 MB:
// the PDF library keeps a photo as it is, but takes one with see-through dots
// apart, for which it unpacks the whole and writes it anew.
const (
	photoFile   = 100 << 20 // bytes of the file
	photoPixels = 160_000_000
	photoDots   = 170 << 20 // bytes of see-through dots, unpacked: 22 by 22 in at 300 dots an inch
)

// checkSize refuses a photo of w by h dots that takes too much memory to draw.
// The error is a clause.
func checkSize(kind string, data []byte, w, h int) error {
	switch {
	case len(data) > photoFile:
		return fmt.Errorf("its file has %d MB, more than the %d that are read; save it with fewer dots", len(data)>>20,
			photoFile>>20)
	case w <= 0 || h <= 0 || w > photoPixels/h:
		return fmt.Errorf("it is %d by %d dots large, more than %d million in all; 300 dots an inch are enough for a print",
			w, h, photoPixels/1_000_000)
	case kind == "PNG":
		return checkSeeThrough(data, w, h)
	}
	return nil
}

// checkSeeThrough looks at a PNG whose dots may be see-through (Portable
// Network Graphics, third edition, 11.2.1: bit depth and colour type).
func checkSeeThrough(data []byte, w, h int) error {
	depth, channels := data[24], map[byte]int{4: 2, 6: 4}[data[25]]
	if channels == 0 {
		return nil
	}
	unpacked := int64(h) * (1 + int64(w)*int64(channels)*int64(depth)/8) // each line begins with its filter
	switch {
	case unpacked > photoDots:
		return fmt.Errorf("it is %d by %d see-through dots of %d bits a colour, which take %d MB unpacked, more than the %d that there is room for; save it with fewer dots an inch",
			w, h, depth, unpacked>>20, photoDots>>20)
	case depth != 8:
		return fmt.Errorf("its see-through dots have %d bits a colour; save it with 8", depth)
	}
	n, err := unpackedBytes(data, unpacked+1)
	switch {
	case err != nil:
		return fmt.Errorf("it is broken: %w", err)
	case n != unpacked:
		return errors.New("it is broken: it does not hold as many dots as it says")
	}
	return nil
}

// unpackedBytes counts what the picture data of a PNG unpack to, up to most,
// without keeping it.
func unpackedBytes(png []byte, most int64) (int64, error) {
	z, err := zlib.NewReader(&pictureData{rest: png[8:]})
	if err != nil {
		return 0, err
	}
	n, err := io.Copy(io.Discard, io.LimitReader(z, most))
	return n, errors.Join(err, z.Close())
}

// pictureData reads the data of the IDAT chunks of a PNG one behind the other.
type pictureData struct{ chunk, rest []byte }

func (p *pictureData) Read(b []byte) (int, error) {
	for len(p.chunk) == 0 {
		if len(p.rest) < 12 {
			return 0, io.EOF
		}
		n := int64(binary.BigEndian.Uint32(p.rest))
		if n > int64(len(p.rest))-12 {
			return 0, io.ErrUnexpectedEOF
		}
		if bytes.Equal(p.rest[4:8], []byte("IDAT")) {
			p.chunk = p.rest[8 : 8+n]
		}
		p.rest = p.rest[12+n:]
	}
	n := copy(b, p.chunk)
	p.chunk = p.chunk[n:]
	return n, nil
}
