package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/net/html"
)

// What an owner and a customer have time for on a Monday.
const (
	ownerWords    = 350
	customerWords = 640
)

// demoPages returns the mails of the demo as pages, by the middle of their file name.
func demoPages(t *testing.T) map[string]string {
	t.Helper()
	dir, _, _ := demoShop(t)
	files, err := filepath.Glob(filepath.Join(dir, "mail", "*.html"))
	require.NoError(t, err)
	require.NotEmpty(t, files)
	out := map[string]string{}
	for _, f := range files {
		data, err := os.ReadFile(f)
		require.NoError(t, err)
		_, name, _ := strings.Cut(filepath.Base(f), "-")
		name, _, _ = strings.Cut(name, "--")
		out[name] = string(data)
	}
	return out
}

// wordsOf is what is read of a page, and the titles that nothing follows.
func wordsOf(t *testing.T, page string) (words []string, empty []string) {
	t.Helper()
	doc, err := html.Parse(strings.NewReader(page))
	require.NoError(t, err)
	title := ""
	var visit func(*html.Node)
	visit = func(n *html.Node) {
		switch {
		case n.Type == html.TextNode:
			if f := strings.Fields(n.Data); len(f) > 0 {
				words = append(words, f...)
				if title != "" && n.Parent.Data != "h2" {
					title = ""
				}
			}
		case n.Data == "style" || n.Data == "title":
			return
		case n.Data == "img":
			title = ""
		case n.Data == "h2":
			if title != "" {
				empty = append(empty, title)
			}
			title = n.FirstChild.Data
		}
		for c := n.FirstChild; c != nil; c = c.NextSibling {
			visit(c)
		}
	}
	visit(doc)
	if title != "" {
		empty = append(empty, title)
	}
	return words, empty
}

func TestMailsOfTheDemoAreShortAndWhole(t *testing.T) {
	pages := demoPages(t)
	for name, page := range pages {
		words, empty := wordsOf(t, page)
		require.Empty(t, empty, "%s has a title with nothing below it", name)
		switch {
		case strings.HasPrefix(name, "round"):
			require.LessOrEqual(t, len(words), ownerWords, name)
		case strings.HasPrefix(name, "proposal"):
			require.LessOrEqual(t, len(words), customerWords, name)
			require.Contains(t, strings.Join(words, " "), "$", "%s has its price", name)
		}
		require.NotContains(t, page, "%!", "%s: a verb without its value", name)
	}
	require.Contains(t, pages, "round-2026-03-02-1")
}
