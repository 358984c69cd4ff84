package table

import (
	"bytes"
	"fmt"
	"unicode/utf8"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"
)

var (
	bomUTF8    = []byte{0xEF, 0xBB, 0xBF}
	bomUTF16LE = []byte{0xFF, 0xFE}
	bomUTF16BE = []byte{0xFE, 0xFF}
)

// decode returns the text in UTF-8 without a byte order mark and, where the
// encoding had to be concluded, a note that says so.
func decode(file string, data []byte) (text []byte, note string, bad *Error) {
	switch {
	case bytes.HasPrefix(data, bomUTF8):
		text = data[len(bomUTF8):]
		if at := firstInvalid(text); at >= 0 {
			return nil, "", brokenText(file, text, at)
		}
	case bytes.HasPrefix(data, bomUTF16LE), bytes.HasPrefix(data, bomUTF16BE):
		text, bad = decodeUTF16(file, data, unicode.UTF16(unicode.BigEndian, unicode.ExpectBOM))
	case looksUTF16(data, 1):
		note = "no byte order mark; read as UTF-16"
		text, bad = decodeUTF16(file, data, unicode.UTF16(unicode.LittleEndian, unicode.IgnoreBOM))
	case looksUTF16(data, 0):
		note = "no byte order mark; read as UTF-16"
		text, bad = decodeUTF16(file, data, unicode.UTF16(unicode.BigEndian, unicode.IgnoreBOM))
	default:
		text, note, bad = decodePlain(file, data)
	}
	if bad != nil {
		return nil, "", bad
	}
	if at := bytes.IndexByte(text, 0); at >= 0 {
		return nil, "", &Error{File: file, Line: lineOf(text, at),
			Want: "a NUL byte stands in the text, so this is no list or it was damaged; save it again from the spreadsheet as CSV"}
	}
	return text, note, nil
}

// decodePlain reads text without a mark: UTF-8 where all of it is valid, else
// Windows-1252, unless the two are mixed or the end was cut off.
func decodePlain(file string, data []byte) ([]byte, string, *Error) {
	at := firstInvalid(data)
	if at < 0 {
		return data, "", nil
	}
	if len(data) > maxForeign {
		return nil, "", tooForeign(file)
	}
	cut := at+utf8.UTFMax > len(data) && !utf8.FullRune(data[at:])
	if cut || hasWideRune(data) {
		return nil, "", brokenText(file, data, at)
	}
	for _, undefined := range []byte{0x81, 0x8D, 0x8F, 0x90, 0x9D} {
		if i := bytes.IndexByte(data, undefined); i >= 0 {
			return nil, "", &Error{File: file, Line: lineOf(data, i),
				Want: fmt.Sprintf("the byte %X is a letter in neither UTF-8 nor Windows-1252; save the list again as \"CSV UTF-8\"", undefined)}
		}
	}
	text, err := charmap.Windows1252.NewDecoder().Bytes(data)
	if err != nil {
		return nil, "", &Error{File: file, Want: "cannot be read as Windows-1252; save it again as \"CSV UTF-8\"",
			Err: err}
	}
	return text, "not UTF-8; letters read as Windows-1252", nil
}

func decodeUTF16(file string, data []byte, enc encoding.Encoding) ([]byte, *Error) {
	if len(data) > maxForeign {
		return nil, tooForeign(file)
	}
	if len(data)%2 != 0 {
		return nil, &Error{File: file,
			Want: "the file ends in the middle of a letter (UTF-16), so its end is missing; save or copy it again"}
	}
	text, err := enc.NewDecoder().Bytes(data)
	if err != nil {
		return nil, &Error{File: file, Want: "cannot be read as UTF-16; save it again as \"CSV UTF-8\"", Err: err}
	}
	if i := bytes.IndexRune(text, utf8.RuneError); i >= 0 {
		return nil, brokenText(file, text, i)
	}
	return text, nil
}

// looksUTF16 reports whether most letters have a zero byte at the odd (1) or
// even (0) places of the first kilobyte and none at the others, as Latin text has.
func looksUTF16(data []byte, zeroAt int) bool {
	head := data[:min(len(data), 1024)&^1]
	zeros := 0
	for i, b := range head {
		if b != 0 {
			continue
		}
		if i%2 != zeroAt {
			return false
		}
		zeros++
	}
	return len(head) >= 8 && zeros*2 > len(head)*7/10
}

// firstInvalid returns where the first byte stands that is not UTF-8, or -1.
func firstInvalid(b []byte) int {
	if utf8.Valid(b) {
		return -1
	}
	for i := 0; i < len(b); {
		r, n := utf8.DecodeRune(b[i:])
		if r == utf8.RuneError && n <= 1 {
			return i
		}
		i += n
	}
	return -1
}

// hasWideRune reports whether any letter is written as UTF-8 writes letters beyond ASCII.
func hasWideRune(b []byte) bool {
	for i := 0; i < len(b); {
		r, n := utf8.DecodeRune(b[i:])
		if n > 1 && r != utf8.RuneError {
			return true
		}
		i += n
	}
	return false
}

func brokenText(file string, text []byte, at int) *Error {
	want := "a letter is damaged: most of the list is UTF-8, this line is not; save it again as \"CSV UTF-8\""
	if at+utf8.UTFMax > len(text) && !utf8.FullRune(text[at:]) {
		want = "the file ends in the middle of a letter, so its end is missing; save or copy it again"
	}
	return &Error{File: file, Line: lineOf(text, at), Want: want}
}

// lineOf returns the line, from 1, of the byte at a place.
func lineOf(text []byte, at int) int { return 1 + bytes.Count(text[:at], []byte{'\n'}) }
