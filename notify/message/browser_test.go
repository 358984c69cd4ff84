//go:build browser

package message_test

import (
	"encoding/json"
	"fmt"
	"html"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// The mails in a real browser: nothing is cut off at the widths of a desk and
// of a phone, in light and in dark, and every word can be told from its ground.
//
//	go test -tags browser ./notify/message
//
// With KITMUSTER_PICTURES=FOLDER the screenshots are kept there, to be looked at.

type screen struct {
	width int
	dark  bool
}

// All mails are looked at on four screens side by side.
var screens = []screen{{700, false}, {390, false}, {700, true}, {390, true}}

// finding is what the page says of itself.
type finding struct {
	Wide    int      // pixels that stand out to the right
	Faint   []string // words whose contrast to their ground is below 4.5 (WCAG 2.1, 1.4.3)
	Tiny    []string // words smaller than 12 pixels
	Dark    bool     // the browser asked for dark
	Missing int      // pictures that did not load
}

// inspect measures the page in the frame once it is there.
const inspect = `
const rgb = s => s.match(/[\d.]+/g).map(Number);
const lum = c => { const f = c.slice(0,3).map(v => { v /= 255; return v <= .03928 ? v/12.92 : ((v+.055)/1.055)**2.4 }); return .2126*f[0]+.7152*f[1]+.0722*f[2] };
function look(d) {
  const w = d.defaultView;
  const ground = e => { for (; e; e = e.parentElement) { const c = rgb(w.getComputedStyle(e).backgroundColor); if (c.length < 4 || c[3] > 0) return c } return [255,255,255] };
  const r = {Wide: Math.max(0, d.documentElement.scrollWidth - d.documentElement.clientWidth), Faint: [], Tiny: [], Dark: w.matchMedia('(prefers-color-scheme: dark)').matches, Missing: 0};
  const walk = d.createTreeWalker(d.body, NodeFilter.SHOW_TEXT);
  for (let n; n = walk.nextNode();) {
    const words = n.data.trim(), e = n.parentElement, s = w.getComputedStyle(e);
    if (!words || ['STYLE', 'SCRIPT'].includes(e.tagName)) continue;
    const a = lum(rgb(s.color)), b = lum(ground(e)), k = (Math.max(a,b)+.05)/(Math.min(a,b)+.05);
    if (k < 4.5) r.Faint.push(k.toFixed(1) + ' ' + words.slice(0, 40));
    if (parseFloat(s.fontSize) < 12) r.Tiny.push(words.slice(0, 40));
  }
  for (const i of d.images) if (!i.complete || !i.naturalWidth) r.Missing++;
  return r;
}
addEventListener('load', () => {
  const out = document.createElement('pre');
  out.id = 'found';
  out.textContent = JSON.stringify([...document.querySelectorAll('iframe')].map(f => look(f.contentDocument)));
  document.body.append(out);
});`

// browse opens a page, keeps a picture of it, and returns what the page then holds.
func browse(t *testing.T, page, shot string, width, height int) []byte {
	t.Helper()
	out, err := exec.Command("chromium", "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic",
		"--no-first-run", "--disable-background-networking",
		"--disable-component-update", "--disable-sync", "--hide-scrollbars", "--user-data-dir="+t.TempDir(),
		fmt.Sprintf("--window-size=%d,%d", width, height), "--screenshot="+shot, "--dump-dom", "file://"+page).Output()
	require.NoError(t, err, "this test needs a Chromium browser (Debian package chromium)")
	return out
}

// framed puts a mail into frames, each of which counts as a screen of its own
// width and, by its colour scheme, of its own light.
func framed(mail string, height int) (page string, width int) {
	var b strings.Builder
	b.WriteString(`<!DOCTYPE html><meta charset="utf-8"><style>body{margin:0;display:flex}iframe{border:0;display:block}#found{display:none}</style>`)
	for _, s := range screens {
		scheme := "light"
		if s.dark {
			scheme = "dark"
		}
		fmt.Fprintf(&b, `<iframe style="color-scheme:%s" width="%d" height="%d" srcdoc="%s"></iframe>`, scheme, s.width,
			height, html.EscapeString(mail))
		width += s.width
	}
	return b.String() + "<script>" + inspect + "</script>", width
}

var found = regexp.MustCompile(`(?s)<pre id="found">(.*?)</pre>`)

func TestMailsAreReadableOnEveryScreen(t *testing.T) {
	dir := os.Getenv("KITMUSTER_PICTURES")
	if dir == "" {
		dir = t.TempDir()
	}
	for name, m := range mails(t) {
		t.Run(name, func(t *testing.T) {
			height := 2000
			if name == "round" {
				height = 4200
			}
			text, width := framed(m.Preview(), height)
			page, shot := filepath.Join(t.TempDir(), "page.html"), filepath.Join(dir, name+".png")
			require.NoError(t, os.WriteFile(page, []byte(text), 0o600))
			dom := found.FindSubmatch(browse(t, page, shot, width, height))
			require.NotNil(t, dom, "the page did not load")
			var got []finding
			require.NoError(t, json.Unmarshal([]byte(html.UnescapeString(string(dom[1]))), &got))
			require.Len(t, got, len(screens))
			for i, s := range screens {
				require.Equal(t, finding{Faint: []string{}, Tiny: []string{}, Dark: s.dark}, got[i],
					"%d pixels wide", s.width)
			}
			f, err := os.Open(shot)
			require.NoError(t, err)
			defer f.Close()
			img, err := png.DecodeConfig(f)
			require.NoError(t, err)
			require.Equal(t, width, img.Width)
		})
	}
}
