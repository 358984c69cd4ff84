package tabletest

import (
	"archive/zip"
	"bytes"
	"compress/flate"
	"fmt"
	"io"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// Hostile is a small file that takes gigabytes when it is read without care.
type Hostile struct {
	Name string // with its extension
	Data []byte
	Want string // part of the sentence that it is refused with
}

// HostileFiles are made anew each time. Their headings are those of a roster,
// so that a reader of rosters goes on to the rows.
func HostileFiles(t testing.TB) []Hostile {
	t.Helper()
	wide := func(w io.Writer) { repeat(w, 60_000, `<row r="%[1]d"><c r="XFD%[1]d"><v>1</v></c></row>`) }
	return []Hostile{
		{"wide.xlsx", workbook(t, "", wide), "the line has 16384 cells and a list at most 1000"},
		{"nested.xlsx", workbook(t, "", func(w io.Writer) { fill(w, "<a>", 5_000_000) }),
			"tags nested more than 200 deep"},
		{"crowded.xlsx", workbook(t, "", func(w io.Writer) {
			_, _ = io.WriteString(w, "<row>")
			fill(w, "<c><v>1</v></c>", 1_000_000)
			_, _ = io.WriteString(w, "</row>")
		}), "a row of more than 16384 cells"},
		{"blank.xlsx", workbook(t, "", func(w io.Writer) { fill(w, strings.Repeat(" ", 10_000)+"<row/>", 28_000) }),
			"unpacks to more than 256 MB"},
		{"echo.xlsx", workbook(t, strings.Repeat("x", 32_000),
			func(w io.Writer) {
				repeat(w, 100_000, `<row r="%[1]d"><c t="s"><v>0</v></c></row>`)
			}), "more than 96 MB of text"},
		{"words.xlsx", workbook(t, "", func(w io.Writer) {
			_, _ = io.WriteString(w, `<!DOCTYPE x [<!ENTITY a "b">]>`)
		}), "declares words of its own"},
		{"columns.csv", []byte("staff_id,name,role,start_date\n1" + strings.Repeat(",x", 400_000) + "\n"),
			"a list at most 1000"},
	}
}

// workbook makes an XLSX of one sheet with the headings of a roster and what
// rows writes below them; text, if any, is its only shared text.
func workbook(t testing.TB, text string, rows func(w io.Writer)) []byte {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	z.RegisterCompressor(zip.Deflate,
		func(w io.Writer) (io.WriteCloser, error) { return flate.NewWriter(w, flate.BestSpeed) })
	const head = `<?xml version="1.0" encoding="UTF-8"?>`
	const main = `xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"`
	const package2006 = "http://schemas.openxmlformats.org/package/2006/"
	const office2006 = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
	part := func(name string, write func(w io.Writer)) {
		w, err := z.Create(name)
		require.NoError(t, err)
		_, err = io.WriteString(w, head)
		require.NoError(t, err)
		write(w)
	}
	plain := func(s string) func(io.Writer) { return func(w io.Writer) { _, _ = io.WriteString(w, s) } }
	part("[Content_Types].xml", plain(`<Types xmlns="`+package2006+`content-types"><Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/><Default Extension="xml" ContentType="application/xml"/><Override PartName="/xl/workbook.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"/></Types>`))
	part("_rels/.rels", plain(`<Relationships xmlns="`+package2006+`relationships"><Relationship Id="rId1" Type="`+
		office2006+`/officeDocument" Target="xl/workbook.xml"/></Relationships>`))
	part("xl/workbook.xml", plain(`<workbook `+main+` xmlns:r="`+office2006+`"><sheets><sheet name="Staff" sheetId="1" r:id="rId1"/></sheets></workbook>`))
	part("xl/_rels/workbook.xml.rels",
		plain(`<Relationships xmlns="`+package2006+`relationships"><Relationship Id="rId1" Type="`+
			office2006+`/worksheet" Target="worksheets/sheet1.xml"/><Relationship Id="rId2" Type="`+office2006+`/sharedStrings" Target="sharedStrings.xml"/></Relationships>`))
	part("xl/sharedStrings.xml", plain(`<sst `+main+`><si><t>`+text+`</t></si></sst>`))
	part("xl/worksheets/sheet1.xml", func(w io.Writer) {
		_, _ = io.WriteString(w, `<worksheet `+main+`><sheetData><row>`)
		for _, h := range []string{"staff_id", "name", "role", "start_date"} {
			_, _ = fmt.Fprintf(w, `<c t="inlineStr"><is><t>%s</t></is></c>`, h)
		}
		_, _ = io.WriteString(w, `</row>`)
		rows(w)
		_, _ = io.WriteString(w, `</sheetData></worksheet>`)
	})
	require.NoError(t, z.Close())
	return b.Bytes()
}

// repeat writes a row for each line from the second on.
func repeat(w io.Writer, rows int, format string) {
	for i := range rows {
		_, _ = fmt.Fprintf(w, format, i+2)
	}
}

// fill writes a text n times.
func fill(w io.Writer, s string, n int) {
	const block = 1000
	blocks := strings.Repeat(s, block)
	for range n / block {
		_, _ = io.WriteString(w, blocks)
	}
}
