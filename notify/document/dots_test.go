package document_test

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"hash/crc32"
	"image"
	"image/color"
	"image/png"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/notify/document"
	"github.com/kitmuster/kitmuster/programme"
)

// hollowPNG is a PNG of w by h dots whose picture data are zeros, as many lines of
// them as told: a few kilobytes that unpack to what their size says, or not.
func hollowPNG(t testing.TB, w, h, lines int, depth, colourType byte) []byte {
	t.Helper()
	var packed bytes.Buffer
	z, err := zlib.NewWriterLevel(&packed, zlib.BestSpeed)
	require.NoError(t, err)
	line := make([]byte, 1+w*map[byte]int{0: 1, 2: 3, 4: 2, 6: 4}[colourType]*int(depth)/8)
	for range lines {
		_, err = z.Write(line)
		require.NoError(t, err)
	}
	require.NoError(t, z.Close())
	b := []byte("\x89PNG\r\n\x1a\n")
	chunk := func(kind string, data []byte) {
		b = binary.BigEndian.AppendUint32(b, uint32(len(data)))
		tail := append([]byte(kind), data...)
		b = binary.BigEndian.AppendUint32(append(b, tail...), crc32.ChecksumIEEE(tail))
	}
	size := binary.BigEndian.AppendUint32(binary.BigEndian.AppendUint32(nil, uint32(w)), uint32(h))
	chunk("IHDR", append(size, depth, colourType, 0, 0, 0))
	chunk("IDAT", packed.Bytes())
	chunk("IEND", nil)
	return b
}

func TestAPhotoThatTakesTooMuchMemoryIsRefusedBeforeItIsUnpacked(t *testing.T) {
	art := &programme.Artwork{Code: "chest", Width: 4 * inch, Height: 4 * inch}
	deep := image.NewNRGBA64(image.Rect(0, 0, 4, 4))
	deep.Set(0, 0, color.NRGBA64{R: 0xffff, A: 0x8000})
	var deepPNG bytes.Buffer
	require.NoError(t, png.Encode(&deepPNG, deep))
	for name, c := range map[string]struct {
		data []byte
		want string
	}{
		"see-through and large": {hollowPNG(t, 12000, 12000, 1, 16, 6),
			"it is 12000 by 12000 see-through dots of 16 bits a colour, which take 1098 MB unpacked, more than the 170 that there is room for; save it with fewer dots an inch; proofs show a box instead"},
		"large": {hollowPNG(t, 20000, 20000, 1, 8, 2),
			"it is 20000 by 20000 dots large, more than 160 million in all; 300 dots an inch are enough for a print; proofs show a box instead"},
		"deep": {deepPNG.Bytes(),
			"its see-through dots have 16 bits a colour; save it with 8; proofs show a box instead"},
		"more than it says": {hollowPNG(t, 8, 8, 1_000_000, 8, 6),
			"it is broken: it does not hold as many dots as it says; proofs show a box instead"},
		"less than it says": {hollowPNG(t, 800, 800, 10, 8, 6),
			"it is broken: it does not hold as many dots as it says; proofs show a box instead"},
	} {
		require.EqualError(t, document.CheckPicture(art, c.data), c.want, name)
	}
	require.NoError(t, document.CheckPicture(art, hollowPNG(t, 300, 300, 300, 8, 6)))
	require.NoError(t, document.CheckPicture(art, hollowPNG(t, 300, 300, 300, 16, 2)), "kept as it is")
}

// BenchmarkLargestSeeThroughPhoto shows what the largest photo costs that is taken.
func BenchmarkLargestSeeThroughPhoto(b *testing.B) {
	art := &programme.Artwork{Code: "chest", Width: 4 * inch, Height: 4 * inch}
	data := hollowPNG(b, 6600, 6600, 6600, 8, 6)
	b.ReportAllocs()
	for b.Loop() {
		require.NoError(b, document.CheckPicture(art, data))
	}
}
