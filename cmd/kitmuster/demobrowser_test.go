//go:build browser

package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// Heights in pixels at a width of 700, as a mail program on a desk shows them:
//
//	go test -tags browser ./cmd/kitmuster -run Heights
const (
	ownerHeight    = 2500
	customerHeight = 2500
)

var height = regexp.MustCompile(`<pre id="height">(\d+)</pre>`)

func TestHeightsOfTheMailsOfTheDemo(t *testing.T) {
	const measure = `<script>addEventListener('load', () => { const p = document.createElement('pre'); p.id = 'height';
p.textContent = document.querySelector('table.page').offsetHeight; document.body.append(p) })</script></body>`
	for name, page := range demoPages(t) {
		most := customerHeight
		if strings.HasPrefix(name, "round") {
			most = ownerHeight
		}
		file := filepath.Join(t.TempDir(), name+".html")
		require.NoError(t, os.WriteFile(file, []byte(strings.Replace(page, "</body>", measure, 1)), 0o600))
		dom, err := exec.Command("chromium", "--headless", "--no-sandbox", "--disable-gpu", "--no-first-run",
			"--disable-background-networking",
			"--disable-component-update", "--disable-sync", "--user-data-dir="+t.TempDir(), "--window-size=700,1000",
			"--dump-dom", "file://"+file).Output()
		require.NoError(t, err, "this test needs a Chromium browser (Debian package chromium)")
		found := height.FindSubmatch(dom)
		require.NotNil(t, found, name)
		high, err := strconv.Atoi(string(found[1]))
		require.NoError(t, err)
		require.LessOrEqual(t, high, most, name)
		t.Logf("%s: %d pixels", name, high)
	}
}
