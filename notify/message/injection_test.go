package message_test

import (
	"bytes"
	"mime"
	"net/mail"
	"path"
	"reflect"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"
	"golang.org/x/net/html"

	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme"
)

// Names as a stranger might write them into a roster, put in front of every
// text of the input.
var nasty = map[string]string{
	"formula":       `=HYPERLINK("http://evil.example","x")`,
	"at sign":       "@SUM(1+1)*cmd|' /C calc'!A0",
	"minus":         "-2+3+cmd|' /C calc'!A0",
	"script":        `<script>alert(1)</script>`,
	"attribute":     `" onmouseover="alert(1)`,
	"template":      `{{.Secret}}{{template "top"}}`,
	"header":        "x\r\nBcc: thief@evil.example\r\n\r\nbody",
	"bidi":          "\u202egnp.exe\u2066\u200f",
	"emoji":         "👩🏽‍🔧 \U0001F9F5 ",
	"long":          strings.Repeat("Lang ", 60),
	"long word":     strings.Repeat("x", 300),
	"file name":     "../../etc/passwd\x00.exe",
	"bad encoding":  "\xff\xfe\xc3",
	"link":          "javascript:alert(1)",
	"null and bell": "\x00\a\x1b[31m",
}

// spoil puts bad in front of every text below v but mail addresses and the
// words that only the program writes.
func spoil(v reflect.Value, bad string) {
	switch v.Kind() {
	case reflect.Pointer, reflect.Interface:
		if !v.IsNil() {
			spoil(v.Elem(), bad)
		}
	case reflect.Struct:
		if v.Type() == reflect.TypeFor[message.ReturnTo]() || v.Type() == reflect.TypeFor[programme.ByMail]() {
			return // addresses and marks
		}
		for i := range v.NumField() {
			switch v.Type().Field(i).Name {
			case "Email", "Currency", "TimeZone", "Type":
				continue
			}
			if v.Field(i).CanSet() {
				spoil(v.Field(i), bad)
			}
		}
	case reflect.Slice:
		for i := range v.Len() {
			spoil(v.Index(i), bad)
		}
	case reflect.Map:
		out := reflect.MakeMap(v.Type())
		for k, x := range v.Seq2() {
			key, value := reflect.New(v.Type().Key()).Elem(), reflect.New(v.Type().Elem()).Elem()
			key.Set(k)
			value.Set(x)
			spoil(key, bad)
			spoil(value, bad)
			out.SetMapIndex(key, value)
		}
		if !v.IsNil() {
			v.Set(out)
		}
	case reflect.String:
		if v.Type() == reflect.TypeFor[string]() {
			v.SetString(bad + v.String())
		}
	default:
	}
}

func spoilt[T any](v T, bad string) T {
	spoil(reflect.ValueOf(&v), bad)
	return v
}

// spoiltMails composes one mail of each kind from spoilt input.
func spoiltMails(t *testing.T, bad string) []message.Mail {
	t.Helper()
	var out []message.Mail
	add := func(m message.Mail, err error) {
		require.NoError(t, err)
		out = append(out, m)
	}
	add(message.ComposeRound(spoilt(roundOfTwoShops(), bad)))
	add(message.ComposeRound(spoilt(unansweredRound(), bad)))
	add(message.ComposeReorder(spoilt(fullReorder(), bad)))
	add(message.ComposeCount(spoilt(fullCount(), bad)))
	add(message.ComposeDaySheet(spoilt(aDaySheet(), bad)))
	add(message.ComposeSupplierOrder(spoilt(aSupplierOrder(), bad)))
	add(message.ComposeSupplierOrder(spoilt(fullSheetOrder(), bad)))
	add(message.ComposeJob(spoilt(aJob(), bad)))
	add(message.ComposePick(spoilt(fullPick(), bad)))
	return out
}

// roundOfTwoShops is a round whose parts share no memory, so that no text is spoilt twice.
func roundOfTwoShops() message.Round {
	r := fullRound()
	r.Due = r.Due[:1]
	return r
}

func TestNoNameGetsOutOfItsPlace(t *testing.T) {
	plain := map[message.Kind]int{}
	for _, m := range spoiltMails(t, "x ") {
		plain[m.Kind] += elements(t, m)
	}
	for name, bad := range nasty {
		t.Run(name, func(t *testing.T) {
			got := map[message.Kind]int{}
			for _, m := range spoiltMails(t, bad) {
				got[m.Kind] += elements(t, m)
				harmlessText(t, m)
				harmlessHeaders(t, m)
				for _, p := range m.Attachments {
					harmlessFile(t, p)
				}
			}
			require.Equal(t, plain, got, "no element more or less than without it")
		})
	}
}

// elements counts what a browser would build and checks that none of it acts.
func elements(t *testing.T, m message.Mail) int {
	t.Helper()
	n := 0
	walk(parse(t, m.HTML), func(e *html.Node) {
		n++
		require.NotEqual(t, "script", e.Data)
		for _, a := range e.Attr {
			require.False(t, strings.HasPrefix(a.Key, "on"), a.Key)
			if a.Key == "href" {
				require.True(t, strings.HasPrefix(a.Val, "mailto:"), a.Val)
			}
			if a.Key == "src" {
				require.Regexp(t, `^cid:[a-z0-9-]+$`, a.Val)
			}
		}
	})
	return n
}

var control = regexp.MustCompile(`[\x00-\x08\x0b-\x1f\x7f]`)

var direction = regexp.MustCompile("[\u200e\u200f\u202a-\u202e\u2066-\u2069\u2028\u2029]")

func harmlessText(t *testing.T, m message.Mail) {
	t.Helper()
	for _, s := range []string{m.Text, m.HTML, m.Subject} {
		require.NotRegexp(t, direction, s)
		require.Empty(t, control.FindString(s))
	}
	require.NotContains(t, m.Subject, "\n")
}

func harmlessHeaders(t *testing.T, m message.Mail) {
	t.Helper()
	raw, err := m.Bytes(message.Envelope{From: programme.Contact{Name: m.Subject, Email: "kit@millbrook.example"},
		Date: envelope.Date, To: []programme.Contact{{Name: m.Subject, Email: "you@example.com"}}})
	require.NoError(t, err)
	got, err := mail.ReadMessage(bytes.NewReader(raw))
	require.NoError(t, err)
	require.Empty(t, got.Header.Get("Bcc"))
	to, err := got.Header.AddressList("To")
	require.NoError(t, err)
	require.Len(t, to, 1)
	require.Equal(t, "you@example.com", to[0].Address)
	subject, err := new(mime.WordDecoder).DecodeHeader(got.Header.Get("Subject"))
	require.NoError(t, err)
	require.Equal(t, m.Subject, subject)
}

func harmlessFile(t *testing.T, p message.Part) {
	t.Helper()
	require.Equal(t, path.Base(p.Name), p.Name)
	require.Regexp(t, `^[A-Za-z0-9.-]{1,100}$`, p.Name)
	switch p.Type {
	case "text/csv":
		for _, row := range csvRows(t, p.Data) {
			for _, c := range row {
				require.NotRegexp(t, `^[=+@\t\r]`, c)
				require.NotRegexp(t, `^-[^0-9]|^-[0-9.]*[^0-9.]`, c)
				require.NotRegexp(t, direction, c)
				require.NotContains(t, c, "\n")
			}
		}
	case "text/html":
		walk(parse(t, string(p.Data)),
			func(e *html.Node) { require.NotContains(t, []string{"script", "a", "img", "form"}, e.Data) })
		require.NotRegexp(t, direction, string(p.Data))
	case "application/pdf":
		require.True(t, bytes.HasPrefix(p.Data, []byte("%PDF-")))
	case "text/calendar":
		for line := range strings.Lines(string(p.Data)) {
			require.LessOrEqual(t, len(strings.TrimRight(line, "\r\n")), 75)
			require.False(t, strings.HasPrefix(line, "Bcc"))
		}
	default:
		x, err := excelize.OpenReader(bytes.NewReader(p.Data))
		require.NoError(t, err)
		for _, sheet := range x.GetSheetList() {
			rows, err := x.GetRows(sheet)
			require.NoError(t, err)
			for i, row := range rows {
				for j := range row {
					cell, err := excelize.CoordinatesToCellName(j+1, i+1)
					require.NoError(t, err)
					formula, err := x.GetCellFormula(sheet, cell)
					require.NoError(t, err)
					require.Empty(t, formula, "%s!%s", sheet, cell)
				}
			}
		}
	}
}

func TestLettersThatThePaperLacksAreReported(t *testing.T) {
	m, err := message.ComposeReorder(aReorder())
	require.NoError(t, err)
	require.Len(t, m.Warnings, 1)
	require.Contains(t, m.Warnings[0], "박은지")
	require.Contains(t, pdfText(t, attachment(t, m, "-order-form.pdf")), "(b5)", "the staff number tells who it is")
	require.Contains(t, m.HTML, "박은지", "the mail shows them")
}

func TestExplainIsHarmlessOnATerminal(t *testing.T) {
	for name, bad := range nasty {
		r := spoilt(aReorder(), bad)
		text := page.PlainText(message.Explain(r.Shop, r.Client, r.Proposal, r.People))
		require.Empty(t, control.FindString(text), name)
		require.NotRegexp(t, direction, text, name)
	}
}

func FuzzReorderOfAnyNames(f *testing.F) {
	for _, bad := range nasty {
		f.Add(bad)
	}
	f.Fuzz(func(t *testing.T, bad string) {
		m, err := message.ComposeReorder(spoilt(aReorder(), bad))
		require.NoError(t, err)
		plain, err := message.ComposeReorder(spoilt(aReorder(), "x "))
		require.NoError(t, err)
		require.Equal(t, elements(t, plain), elements(t, m))
		harmlessText(t, m)
		for _, p := range m.Attachments {
			if p.Type != "application/pdf" {
				harmlessFile(t, p)
			}
		}
		_, err = m.Bytes(envelope)
		require.NoError(t, err, "%q", bad)
	})
}
