//go:build browser

package document_test

import (
	"bufio"
	"bytes"
	"encoding/base64"
	"encoding/json"
	"image"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
)

// browser is a Chromium that is spoken to through pipes (DevTools protocol,
// messages of JSON that end in a zero byte).
type browser struct {
	t    *testing.T
	to   *os.File
	from *bufio.Reader
	last int
}

func openBrowser(t *testing.T, width, height string) *browser {
	t.Helper()
	theirIn, ourOut, err := os.Pipe()
	require.NoError(t, err)
	ourIn, theirOut, err := os.Pipe()
	require.NoError(t, err)
	cmd := exec.CommandContext(t.Context(), "chromium", "--headless=new", "--no-sandbox", "--disable-gpu",
		"--disable-quic", "--no-first-run",
		"--disable-background-networking", "--disable-component-update", "--disable-sync",
		"--user-data-dir="+t.TempDir(),
		"--window-size="+width+","+height, "--remote-debugging-pipe", "about:blank")
	cmd.ExtraFiles = []*os.File{theirIn, theirOut}
	require.NoError(t, cmd.Start(), "this test needs a Chromium browser (Debian package chromium)")
	t.Cleanup(func() { _ = cmd.Process.Kill(); _ = cmd.Wait() })
	return &browser{t: t, to: ourOut, from: bufio.NewReader(ourIn)}
}

// call waits for the answer to one message.
func (b *browser) call(method, session string, params, result any) {
	b.t.Helper()
	b.last++
	message := map[string]any{"id": b.last, "method": method, "params": params}
	if session != "" {
		message["sessionId"] = session
	}
	data, err := json.Marshal(message)
	require.NoError(b.t, err)
	_, err = b.to.Write(append(data, 0))
	require.NoError(b.t, err)
	for {
		data, err := b.from.ReadBytes(0)
		require.NoError(b.t, err)
		var answer struct {
			ID     int
			Result json.RawMessage
		}
		require.NoError(b.t, json.Unmarshal(bytes.TrimRight(data, "\x00"), &answer))
		if answer.ID == b.last {
			require.NoError(b.t, json.Unmarshal(answer.Result, result))
			return
		}
	}
}

// shot is what a page looks like.
func (b *browser) shot(session string) image.Image {
	b.t.Helper()
	var out struct{ Data string }
	b.call("Page.captureScreenshot", session, map[string]any{"format": "png"}, &out)
	data, err := base64.StdEncoding.DecodeString(out.Data)
	require.NoError(b.t, err)
	img, err := png.Decode(bytes.NewReader(data))
	require.NoError(b.t, err)
	return img
}

// extent is the smallest rectangle that holds all dots of a kind.
func extent(img image.Image, is func(r, g, b uint32) bool) (out image.Rectangle) {
	at := img.Bounds()
	for y := at.Min.Y; y < at.Max.Y; y++ {
		for x := at.Min.X; x < at.Max.X; x++ {
			if r, g, b, _ := img.At(x, y).RGBA(); is(r>>8, g>>8, b>>8) {
				out = out.Union(image.Rect(x, y, x+1, y+1))
			}
		}
	}
	return out
}

// shadow is how many dots of each edge the viewer's shadow of the page covers.
const shadow = 3

// TestABrowserShowsThePrintFileAtTheSameSize has Chromium, which shares nothing
// with poppler, open a print file: the page's edges are white against the
// viewer's dark ground, and the art lies on it to 0.1 mm.
func TestABrowserShowsThePrintFileAtTheSameSize(t *testing.T) {
	p, l := printFile(false)
	l.Items = l.Items[:1]
	data, _, err := p.PDF(l)
	require.NoError(t, err)
	file := filepath.Join(t.TempDir(), "print.pdf")
	require.NoError(t, os.WriteFile(file, data, 0o600))
	b := openBrowser(t, "4200", "2600")
	var page struct{ TargetID string }
	b.call("Target.createTarget", "", map[string]any{"url": "file://" + file + "#toolbar=0&navpanes=0&view=FitH"},
		&page)
	var tab struct{ SessionID string }
	b.call("Target.attachToTarget", "", map[string]any{"targetId": page.TargetID, "flatten": true}, &tab)
	isArt := func(r, g, b uint32) bool { return r > 200 && g < 60 && b < 60 }
	var img image.Image
	require.Eventually(t, func() bool {
		img = b.shot(tab.SessionID)
		return !extent(img, isArt).Empty()
	}, time.Minute, time.Second, "the browser shows no art")
	img = b.shot(tab.SessionID) // drawn to the end by now
	paper := extent(img, func(r, g, b uint32) bool { return r > 200 && (g > 200 || g < 60) }).Inset(-shadow)
	art := extent(img, isArt)
	dot := l.Width.Millimetres() / float64(paper.Dx()) // millimetres
	require.Less(t, dot, 0.06)
	require.InDelta(t, l.Height.Millimetres(), float64(paper.Dy())*dot, 0.1)
	near := func(want programme.Length, dots int) { require.InDelta(t, want.Millimetres(), float64(dots)*dot, 0.1) }
	it := &l.Items[0]
	near(it.X, art.Min.X-paper.Min.X)
	near(it.Y, art.Min.Y-paper.Min.Y)
	near(it.X+it.W, art.Max.X-paper.Min.X)
	near(it.Y+it.H, art.Max.Y-paper.Min.Y)
}
