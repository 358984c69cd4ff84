package round_test

import (
	"archive/zip"
	"bytes"
	"compress/zlib"
	"fmt"
	"html"
	"io"
	"path"
	"regexp"
	"slices"
	"strings"
	"testing"
	"unicode/utf16"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/round"
	"github.com/kitmuster/kitmuster/notify/message"
)

// partsOf is all that a reader of a mail could find something in.
func partsOf(m *round.Message) []message.Part {
	parts := []message.Part{
		{Name: "mail.subject", Data: []byte(m.Subject)},
		{Name: "mail.envelope", Data: fmt.Append(nil, m.ID, m.To, m.ReplyTo)},
		{Name: "mail.text", Data: []byte(m.Text)},
		{Name: "mail.html", Data: []byte(m.HTML)},
	}
	return slices.Concat(parts, m.Inline, m.Attachments)
}

// inside is the name and the text of a part. A part of a kind that cannot be read here fails
// the test: nothing is known of what it tells.
func inside(t *testing.T, p *message.Part) string {
	t.Helper()
	text := ""
	switch path.Ext(p.Name) {
	case ".subject", ".envelope", ".text", ".csv":
		text = string(p.Data)
	case ".html":
		text = html.UnescapeString(string(p.Data))
	case ".ics":
		text = calendarText.Replace(string(p.Data))
	case ".pdf":
		text = pagesOf(p.Data)
	case ".xlsx":
		text = html.UnescapeString(sheetsOf(t, p.Data))
	default:
		require.Fail(t, "a part that nobody has read", p.Name)
	}
	return p.Name + "\n" + text
}

// calendarText joins the lines that RFC 5545 folds (section 3.1) and takes off
// its escapes (section 3.3.11).
var calendarText = strings.NewReplacer("\r\n ", "", `\,`, ",", `\;`, ";", `\\`, `\`, `\n`, "\n")

var stream = regexp.MustCompile(`(?s)stream\r?\n(.*?)endstream`)

// pagesOf reads every compressed stream as two-byte characters from both
// offsets, so that no text is missed whatever stands before it.
func pagesOf(pdf []byte) string {
	var b strings.Builder
	for _, s := range stream.FindAllSubmatch(pdf, -1) {
		z, err := zlib.NewReader(bytes.NewReader(s[1]))
		if err != nil {
			continue
		}
		page, _ := io.ReadAll(z)
		b.Write(page)
		for from := range 2 {
			var units []uint16
			for i := from; i+1 < len(page); i += 2 {
				units = append(units, uint16(page[i])<<8|uint16(page[i+1]))
			}
			b.WriteString(string(utf16.Decode(units)))
		}
	}
	return b.String()
}

func sheetsOf(t *testing.T, xlsx []byte) string {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(xlsx), int64(len(xlsx)))
	require.NoError(t, err)
	var b strings.Builder
	for _, f := range z.File {
		r, err := f.Open()
		require.NoError(t, err)
		data, err := io.ReadAll(r)
		require.NoError(t, err)
		b.Write(data)
	}
	return b.String()
}
