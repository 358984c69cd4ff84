package message_test

import (
	"bytes"
	"compress/zlib"
	"encoding/csv"
	"io"
	"os/exec"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"golang.org/x/net/html"

	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/wear"
)

var envelope = message.Envelope{From: programme.Contact{Name: "Millbrook Press & Thread",
	Email: "kit@millbrook.example"}, Date: time.Date(2026, 3, 2, 7, 0, 0, 0, time.UTC)}

func attachment(t *testing.T, m message.Mail, suffix string) []byte {
	t.Helper()
	for _, p := range m.Attachments {
		if strings.HasSuffix(p.Name, suffix) {
			return p.Data
		}
	}
	require.Fail(t, "no attachment "+suffix)
	return nil
}

func csvRows(t *testing.T, data []byte) [][]string {
	t.Helper()
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	rows, err := csv.NewReader(bytes.NewReader(data)).ReadAll()
	require.NoError(t, err)
	return rows
}

func atoi(t *testing.T, s string) int {
	t.Helper()
	n, err := strconv.Atoi(s)
	require.NoError(t, err)
	return n
}

func parse(t *testing.T, page string) *html.Node {
	t.Helper()
	n, err := html.Parse(strings.NewReader(page))
	require.NoError(t, err)
	return n
}

// walk visits the elements of a page.
func walk(n *html.Node, visit func(*html.Node)) {
	if n.Type == html.ElementNode {
		visit(n)
	}
	for c := n.FirstChild; c != nil; c = c.NextSibling {
		walk(c, visit)
	}
}

func attr(n *html.Node, key string) string {
	for _, a := range n.Attr {
		if a.Key == key {
			return a.Val
		}
	}
	return ""
}

// textOf is what a person reads of a page, with the words for pictures.
func textOf(n *html.Node) string {
	switch {
	case n.Type == html.TextNode:
		return n.Data + " "
	case n.Data == "style" || n.Data == "title":
		return ""
	case n.Data == "img":
		return attr(n, "alt") + " "
	}
	var b strings.Builder
	for c := n.FirstChild; c != nil; c = c.NextSibling {
		b.WriteString(textOf(c))
	}
	return b.String()
}

var (
	stream = regexp.MustCompile(`(?s)stream\r?\n(.*?)endstream`)
	shown  = regexp.MustCompile(`(?s)\((.*?[^\\]|)\) ?Tj`)
)

// pdfText is the text of a paper: with pdftotext where it is installed, as
// readers see it, else from the page streams as the library writes them.
func pdfText(t *testing.T, data []byte) string {
	t.Helper()
	if _, err := exec.LookPath("pdftotext"); err == nil {
		cmd := exec.Command("pdftotext", "-layout", "-", "-")
		cmd.Stdin = bytes.NewReader(data)
		out, err := cmd.Output()
		require.NoError(t, err)
		return string(out)
	}
	var b strings.Builder
	for _, s := range stream.FindAllSubmatch(data, -1) {
		z, err := zlib.NewReader(bytes.NewReader(s[1]))
		if err != nil {
			continue // not a compressed stream: no text
		}
		page, _ := io.ReadAll(z)
		for _, w := range shown.FindAllSubmatch(page, -1) {
			b.WriteString(utf16Text(w[1]) + "\n")
		}
	}
	return b.String()
}

// utf16Text reads the two-byte characters of a string in a page stream.
func utf16Text(b []byte) string {
	var plain []byte
	for i := 0; i < len(b); i++ {
		if b[i] == '\\' && i+1 < len(b) {
			i++
			switch b[i] {
			case 'r':
				plain = append(plain, '\r')
				continue
			case 'n':
				plain = append(plain, '\n')
				continue
			}
		}
		plain = append(plain, b[i])
	}
	var out []rune
	for i := 0; i+1 < len(plain); i += 2 {
		out = append(out, rune(plain[i])<<8|rune(plain[i+1]))
	}
	return string(out)
}

// endings is the evidence of so many recorded endings.
func endings(n int) wear.Evidence { return wear.Evidence{Endings: programme.Endings[int]{Worn: n}} }
