//go:build browser

package desk_test

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"
)

// The desk in a real browser with scripts switched off.
//
//	go test -tags browser ./daemon/desk
//
// With KITMUSTER_PICTURES=FOLDER screenshots are kept there, to be looked at.

// window is a tab of a real browser.
type window struct {
	*shop
	ctx    context.Context
	status int64 // of the page that is shown
}

// chromium starts a browser that runs no scripts, and signs it in.
func (s *shop) chromium() *window {
	s.t.Helper()
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.NoSandbox, chromedp.UserDataDir(s.t.TempDir()),
		chromedp.Flag("disable-quic", true), chromedp.Flag("disable-component-update", true), chromedp.Flag("hide-scrollbars", true))
	ctx, cancel := chromedp.NewExecAllocator(context.Background(), options...)
	s.t.Cleanup(cancel)
	ctx, cancel = chromedp.NewContext(ctx)
	s.t.Cleanup(cancel)
	w := &window{shop: s, ctx: ctx}
	w.scripts(false)
	w.open(s.link())
	w.press("", "Sign in")
	return w
}

func (w *window) scripts(on bool) {
	w.t.Helper()
	_, err := chromedp.Call(w.ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: !on})
	require.NoError(w.t, err, "this test needs a Chromium browser (Debian package chromium)")
}

func (w *window) do(steps ...chromedp.Action[chromedp.Void]) {
	w.t.Helper()
	ctx, cancel := context.WithTimeout(w.ctx, 20*time.Second)
	defer cancel()
	r, err := chromedp.RunResponse(ctx, steps...)
	require.NoError(w.t, err)
	w.status = r.Status
}

func (w *window) open(path string) {
	w.t.Helper()
	w.do(chromedp.Navigate(w.url + path))
}

// press writes into fields of a form and clicks its button.
func (w *window) press(form, button string, said ...string) {
	w.t.Helper()
	in := "//form"
	if form != "" {
		in = fmt.Sprintf("//form[input[@name='form' and @value='%s']]", form)
	}
	var steps []chromedp.Action[chromedp.Void]
	for i := 0; i+1 < len(said); i += 2 {
		steps = append(steps, chromedp.SetValue(chromedp.Search(fmt.Sprintf("%s//*[@name='%s']", in, said[i])), said[i+1]))
	}
	w.do(append(steps, chromedp.Click(chromedp.Search(fmt.Sprintf("%s//button[text()[1]='%s']", in, button))))...)
}

// look sets how wide and how light the window is.
func (w *window) look(width int64, dark bool) {
	w.t.Helper()
	scheme := "light"
	if dark {
		scheme = "dark"
	}
	_, err := chromedp.Call(w.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}})
	require.NoError(w.t, err)
	require.NoError(w.t, chromedp.Do(w.ctx, chromedp.EmulateViewport(width, 900)))
}

func TestPictures(t *testing.T) {
	dir := os.Getenv("KITMUSTER_PICTURES")
	if dir == "" {
		dir = t.TempDir()
	}
	s := newShop(t)
	w := s.chromium()
	b := s.signedIn()
	b.get("/proposal/2")
	b.press("yes", "Yes, in these numbers", "n:polo/navy/L", "20")
	b.get("/orders")
	b.press("write", "Write the orders")
	b.get("/orders")
	done := func() {
		for _, f := range []string{"sent-1", "sent-2"} {
			b.get("/orders")
			b.press(f, "It is sent")
		}
	}
	pages := []struct{ name, path string }{
		{"today", "/"}, {"clients", "/clients"}, {"client", "/client/harbour"}, {"person", ada}, {"leaver", "/client/harbour/person/0004"}, {"start", "/client/harbour/start"},
		{"proposal", "/proposal/1"}, {"why", "/proposal/1/why"}, {"orders", "/orders"}, {"find", "/find?q=a"}, {"nothing", "/nothing"},
		{"goods", "/goods"}, {"job", "/job/2"}, {"papers", "/job/2/papers"}, {"part", "/proposal/2"},
	}
	for i, p := range pages {
		if p.name == "goods" && i > 0 {
			done()
		}
		for _, width := range []int64{1280, 390} {
			for _, dark := range []bool{false, true} {
				name := fmt.Sprintf("%s-%d", p.name, width)
				if dark {
					name += "-dark"
				}
				w.look(width, dark)
				w.open(p.path)
				shot, err := chromedp.Run(w.ctx, chromedp.FullScreenshot(100))
				require.NoError(t, err)
				require.NoError(t, os.WriteFile(filepath.Join(dir, name+".png"), shot, 0o600))
			}
		}
	}
}
