package table

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"io"
	"strings"
)

// Limits of a workbook before anything in it is understood. It is a ZIP archive
// of XML, in which a hundred kilobytes may unpack to gigabytes, and whose tags
// take memory for each level that they are nested in.
const (
	maxParts      = 5000
	maxUnpacked   = 256 << 20 // all parts together
	maxOtherParts = 48 << 20  // parts that are read whole: all but large sheets and texts
	maxElements   = 1_000_000 // of a part that is read whole
	inMemory      = 8 << 20   // sheets and texts up to this size are read whole
)

// checkArchive unpacks a workbook once without keeping it and refuses one that
// is larger, or nested deeper, than spreadsheets write them.
func checkArchive(file string, data []byte) *Error {
	refuse := func(format string, args ...any) *Error { return &Error{File: file, Want: fmt.Sprintf(format, args...)} }
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return unopened(file, err)
	}
	if len(z.File) > maxParts {
		return refuse("this workbook has %d parts, more than the %d that are read; save the list alone as XLSX or CSV",
			len(z.File), maxParts)
	}
	var unpacked, others int64
	for _, part := range z.File {
		n, err := checkPart(part, maxUnpacked-unpacked)
		unpacked += n
		if !streamed(part.Name) || n <= inMemory {
			others += n
		}
		var unfit *partError
		switch {
		case errors.As(err, &unfit):
			return refuse("a part of this workbook %s; save the list alone as XLSX or CSV", unfit.what)
		case err != nil:
			return unopened(file, err)
		case unpacked >= maxUnpacked:
			return refuse("this workbook unpacks to more than %d MB; save the list alone as CSV, or split it",
				maxUnpacked>>20)
		case others > maxOtherParts:
			return refuse("pictures and other parts of this workbook take more than %d MB; save the list alone as XLSX or CSV", maxOtherParts>>20)
		}
	}
	return nil
}

func unopened(file string, err error) *Error {
	return &Error{File: file, Want: "cannot be opened as a workbook (it is damaged, incomplete or protected by a password); save it again as XLSX or CSV", Err: err}
}

// streamed reports whether a part is read bit by bit when it is large.
func streamed(name string) bool {
	name = strings.ToLower(strings.ReplaceAll(name, `\`, "/"))
	return name == "xl/sharedstrings.xml" || strings.HasPrefix(name, "xl/worksheets/sheet")
}

// checkPart unpacks one part, up to most bytes, and looks at its tags.
func checkPart(part *zip.File, most int64) (n int64, err error) {
	r, err := part.Open()
	if err != nil {
		return 0, err
	}
	defer func() { err = errors.Join(err, r.Close()) }()
	counted := &counter{r: io.LimitReader(r, most)}
	if !isMarkup(part.Name) {
		_, err = io.Copy(io.Discard, counted)
		return counted.n, err
	}
	elements := maxElements
	if streamed(part.Name) && part.UncompressedSize64 > inMemory {
		elements = maxUnpacked
	}
	err = checkMarkup(counted, elements)
	return counted.n, err
}

func isMarkup(name string) bool {
	name = strings.ToLower(name)
	for _, end := range []string{".xml", ".rels", ".vml"} {
		if strings.HasSuffix(name, end) {
			return true
		}
	}
	return false
}

// counter counts the bytes that are read.
type counter struct {
	r io.Reader
	n int64
}

func (c *counter) Read(p []byte) (int, error) {
	n, err := c.r.Read(p)
	c.n += int64(n)
	return n, err
}
