//go:build browser

package desk_test

import (
	"bytes"
	"context"
	"fmt"
	"image/png"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/books/bookstest"
	"github.com/kitmuster/kitmuster/daemon/round"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
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
		chromedp.Flag("disable-quic", true), chromedp.Flag("disable-component-update", true),
		chromedp.Flag("hide-scrollbars", true))
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
	_, err := chromedp.Call(w.ctx, emulation.SetScriptExecutionDisabled,
		emulation.SetScriptExecutionDisabledParams{Value: !on})
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

// just does what leads to no other page.
func (w *window) just(steps ...chromedp.Action[chromedp.Void]) {
	w.t.Helper()
	ctx, cancel := context.WithTimeout(w.ctx, 20*time.Second)
	defer cancel()
	require.NoError(w.t, chromedp.Do(ctx, steps...))
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
		steps = append(steps, chromedp.SetValue(chromedp.Search(fmt.Sprintf("%s//*[@name='%s']", in, said[i])),
			said[i+1]))
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
	_, err := chromedp.Call(w.ctx, emulation.SetEmulatedMedia,
		emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme",
			Value: scheme}}})
	require.NoError(w.t, err)
	require.NoError(w.t, chromedp.Do(w.ctx, chromedp.EmulateViewport(width, 900)))
}

// The screens of the desk, wide and narrow, light and dark, to be looked at.
func TestPictures(t *testing.T) {
	dir := os.Getenv("KITMUSTER_PICTURES")
	if dir == "" {
		dir = t.TempDir()
	}
	s := newShop(t)
	paths := s.screens()
	w := s.chromium()
	for i, path := range paths {
		for _, v := range []struct {
			width int64
			dark  bool
		}{{1280, false}, {1280, true}, {390, false}, {390, true}} {
			w.look(v.width, v.dark)
			w.open(path)
			shot, err := chromedp.Run(w.ctx, chromedp.FullScreenshot(100))
			require.NoError(t, err)
			img, err := png.DecodeConfig(bytes.NewReader(shot))
			require.NoError(t, err)
			require.EqualValues(t, v.width, img.Width, "nothing stands out to the right")
			name := fmt.Sprintf("%02d-%s-%d-dark-%v.png", i,
				strings.Trim(strings.NewReplacer("/", "-", "?", "-", "=", "-").Replace(path),
					"-")[:min(len(path)-1, 30)], v.width, v.dark)
			require.NoError(t, os.WriteFile(filepath.Join(dir, name), shot, 0o600))
		}
	}
}

// picture is that of the README.
const picture = "../../testdata/pictures/desk-today.png"

// The README's picture of the desk is what an invented shop's Today looks like; UPDATE_GOLDEN=1 draws it anew.
func TestThePictureOfTheReadmeIsTheDesk(t *testing.T) {
	now := time.Date(2026, 3, 2, 14, 0, 0, 0, time.UTC)
	s := at(t, &now, 5)
	_, err := round.Run(context.Background(), s.b, round.Options{AsOf: s.today, From: s.b.Shop.Owner, Now: now})
	require.NoError(t, err)
	b := s.signedIn()
	b.get("/proposal/1")
	b.press("yes", "Yes, in these numbers")
	b.get("/orders")
	b.press("write", "Write the orders")
	b.press("sent-1", "It is sent")
	w := s.chromium()
	w.look(1000, false)
	w.open("/")
	shot, err := chromedp.Run(w.ctx, chromedp.FullScreenshot(100))
	require.NoError(t, err)
	if os.Getenv("UPDATE_GOLDEN") == "1" {
		require.NoError(t, os.WriteFile(picture, shot, 0o600))
		return
	}
	kept, err := os.ReadFile(picture)
	require.NoError(t, err)
	want, err := png.DecodeConfig(bytes.NewReader(kept))
	require.NoError(t, err)
	got, err := png.DecodeConfig(bytes.NewReader(shot))
	require.NoError(t, err)
	require.Equal(t, want, got,
		"the page has other parts: UPDATE_GOLDEN=1 go test -tags browser ./daemon/desk -run Picture, and look at it")
}

// notice is what the page says above all else.
func (w *window) notice() string {
	w.t.Helper()
	ctx, cancel := context.WithTimeout(w.ctx, 10*time.Second)
	defer cancel()
	text, err := chromedp.Run(ctx, chromedp.TextContent(chromedp.CSS(".notice")))
	require.NoError(w.t, err)
	return strings.Join(strings.Fields(text), " ")
}

// another opens another tab of the same browser.
func (w *window) another() *window {
	w.t.Helper()
	ctx, cancel := chromedp.NewContext(w.ctx)
	w.t.Cleanup(cancel)
	x := &window{shop: w.shop, ctx: ctx}
	x.scripts(false)
	return x
}

// Every form, driven in a browser that runs no scripts.
func TestEveryFormWorksWithoutScripts(t *testing.T) {
	s := newShop(t)
	s.tx(func(tx *store.Tx) {
		_, _, err := tx.AddMovements("harbour", []programme.Movement{{Date: s.today - 90, Kind: programme.Issued,
			StaffID: "0001", SKU: bookstest.PoloM, Pieces: 60, OldKept: true}}, 0)
		require.NoError(t, err)
	})
	w := s.chromium()
	ctx := context.Background()

	// 50 endings, by the four buttons in turn.
	w.open(ada)
	for i := range 50 {
		w.press("end-0", []string{"Worn out", "Print gone", "Torn or stained", "Lost"}[i%4])
		require.EqualValues(t, 200, w.status, "%d", i)
	}
	byReason := map[programme.Reason]int{}
	for _, m := range s.moves("harbour") {
		if m.Kind == programme.Ended {
			byReason[m.Reason] += m.Pieces
		}
	}
	require.Equal(t, map[programme.Reason]int{programme.Worn: 13, programme.Print: 13, programme.Damaged: 12,
		programme.Lost: 12}, byReason)
	w.press("undo", "Undo")
	require.Contains(t, w.notice(), "Taken back")
	require.Len(t, s.moves("harbour"), 3+49)

	// The key that sends a form says nothing where nobody knows which button is meant.
	rows := len(s.moves("harbour"))
	w.just(chromedp.Click(chromedp.Search("//form[input[@value='end-0']]//input[@name='pieces']")),
		chromedp.KeyEvent("\r"))
	time.Sleep(300 * time.Millisecond)
	require.Len(t, s.moves("harbour"), rows)

	// Two tabs that race, and a form that is sent twice.
	two := w.another()
	w.open(ada)
	two.open(ada)
	w.press("end-0", "Lost")
	two.press("end-0", "Worn out")
	require.EqualValues(t, 409, two.status)
	require.Contains(t, two.notice(), "Something else has happened")
	require.Len(t, s.moves("harbour"), rows+1)
	w.do(chromedp.DoubleClick(chromedp.Search("//form[input[@name='form' and @value='end-0']]//button[text()[1]='Lost']")))
	w.open(ada)
	require.Len(t, s.moves("harbour"), rows+2)

	// Hand out, another size, another role, away, leaving with what came back.
	w.open(ada)
	w.press("issue", "Handed out", "pieces", "2")
	require.EqualValues(t, 200, w.status)
	w.press("change", "Enter the change", "role", "baker", "site", "Quayside")
	require.Equal(t, "baker", s.person("harbour", "0001").Role)
	w.press("undo", "Undo")
	require.Equal(t, "barista", s.person("harbour", "0001").Role)
	w.press("size", "What they hold still fits", "size-top", "L")
	require.Equal(t, "L", s.person("harbour", "0001").Sizes["top"])
	w.press("away", "Enter it", "until", (s.today + 9).String())
	require.Len(t, s.person("harbour", "0001").Spells, 1)
	w.press("leave", "This came back")
	require.EqualValues(t, 200, w.status)
	require.Equal(t, s.today, s.person("harbour", "0001").End)
	w.open("/client/harbour")
	w.press("leaves", "Enter the last day", "person", "0002", "on", (s.today + 20).String())
	require.Equal(t, s.today+20, s.person("harbour", "0002").End)
	w.press("undo", "Undo")

	// Three starters.
	w.open("/client/harbour/start")
	w.press("start", "They start", "name-0", "Kezia Larkfield", "size-top-0", "M", "name-1", "Tove Ashlock",
		"size-top-1", "L", "name-2", "Ned Fenwick", "size-top-2", "M")
	require.Contains(t, w.notice(), "Kezia Larkfield")
	people, err := s.b.Store.People(ctx, "harbour")
	require.NoError(t, err)
	require.Len(t, people, 7)

	// A changed proposal, ordered, of which a part arrives; not now, no.
	w.open("/")
	w.press("", "Enter the answer")
	w.open("/proposal/2")
	w.press("yes", "Yes, in these numbers", "n:polo/navy/M", "4", "note", "by telephone")
	require.Equal(t, 7, s.proposalOn(2).Pieces())
	w.press("order", "It is ordered")
	w.open("/job/2")
	w.press("arrive", "Enter it", "came:polo/navy/M", "1", "back:polo/navy/M", "3", "came:polo/navy/L", "3", "later",
		(s.today + 14).String())
	require.Equal(t, reorder.PartReceived, s.proposalOn(2).State)
	require.Equal(t, 3, s.proposalOn(2).Outstanding())
	w.press("arrive", "Enter it", "came:polo/navy/M", "3") // what comes later is not filled in
	require.Equal(t, reorder.Received, s.proposalOn(2).State)
	w.open("/proposal/1")
	w.press("wait", "Not now", "until", (s.today + 30).String())
	require.Equal(t, reorder.PutOff, s.proposalOn(1).State)
	w.press("no", "No", "because", "new logo")
	require.Equal(t, reorder.Declined, s.proposalOn(1).State)
	w.press("undo", "Undo")
	require.Equal(t, reorder.PutOff, s.proposalOn(1).State)
	w.press("yes", "Yes, in these numbers")
	require.Equal(t, reorder.Accepted, s.proposalOn(1).State)

	// Orders, goods.
	w.open("/orders")
	w.press("write", "Write the orders")
	written, err := s.b.Store.SupplierOrders(ctx, store.OrderWritten)
	require.NoError(t, err)
	require.NotEmpty(t, written)
	for _, o := range written {
		w.press(fmt.Sprintf("sent-%d", o.Number), "It is sent")
	}
	require.Equal(t, reorder.Ordered, s.proposalOn(1).State)
	for _, o := range written {
		w.open("/goods")
		w.press(fmt.Sprintf("order-%d", o.Number), "This came")
		require.EqualValues(t, 200, w.status)
	}
	left, err := s.b.Store.SupplierOrders(ctx, store.OrderOrdered)
	require.NoError(t, err)
	require.Empty(t, left)
	w.press("other", "Enter them", "kind", "blank", "what", "polo/navy", "size", "M", "pieces", "12")
	require.Contains(t, w.notice(), "12")
	w.press("", "Find a person", "q", "tove")
	require.EqualValues(t, 200, w.status)
	w.press("", "Sign out")
	require.EqualValues(t, 401, w.status)
}

// axe is what axe-core says of a page.
type axe struct {
	Violations []struct {
		ID, Help string
		Nodes    []struct{ HTML, FailureSummary string }
	}
	Passes []struct{ ID string }
}

// ours measures what axe-core does not: targets of 44 pixels, nothing that stands out to the
// right, no letters below 12 pixels.
const ours = `(() => {
const bad = [];
const wide = document.documentElement.scrollWidth - document.documentElement.clientWidth;
if (wide > 0) bad.push('stands out by ' + wide);
for (const e of document.querySelectorAll('a, button, input:not([type=hidden]), select')) {
  const own = e.type === 'checkbox' ? e.closest('label') : e;
  const r = own.getBoundingClientRect();
  if (r.width === 0 || e.hidden || e.className === 'skip') continue;
  if (r.height < 43.5 || r.width < 43.5) bad.push('small: ' + r.width.toFixed(0) + 'x' + r.height.toFixed(0) + ' ' + e.outerHTML.slice(0, 120));
}
for (const e of document.querySelectorAll('body *')) if (e.childNodes.length && parseFloat(getComputedStyle(e).fontSize) < 12) bad.push('tiny: ' + e.outerHTML.slice(0, 80));
return bad })()`

// axe-core 4.14 (WCAG 2.2 A and AA and its best practices) finds nothing wrong on any page, wide
// and narrow, light and dark, and at twice the size; nor do our own measures.
func TestPagesAreAccessible(t *testing.T) {
	script, err := os.ReadFile(axeFile())
	require.NoError(t, err, "this test needs axe-core; .ci/run fetches it")
	s := newShop(t)
	paths := s.screens()
	w := s.chromium()
	for _, path := range paths {
		for _, v := range []struct {
			width int64
			dark  bool
		}{{1280, false}, {640, true}, {390, false}, {390, true}} { // 640 is 1280 at twice the size
			w.look(v.width, v.dark)
			w.scripts(true)
			w.open(path)
			require.NoError(t, chromedp.Do(w.ctx, run(string(script))))
			found, err := chromedp.Run(w.ctx, chromedp.Evaluate[axe](`axe.run(document, {runOnly: ['wcag2a','wcag2aa','wcag21a','wcag21aa','wcag22aa','best-practice']})`,
				chromedp.EvalAwaitPromise))
			require.NoError(t, err)
			require.Empty(t, found.Violations, "%s at %d, dark %v", path, v.width, v.dark)
			require.Greater(t, len(found.Passes), 15, path)
			bad, err := chromedp.Run(w.ctx, chromedp.Evaluate[[]string](ours))
			require.NoError(t, err)
			require.Empty(t, bad, "%s at %d", path, v.width)
			w.scripts(false)
		}
	}
}

func axeFile() string {
	if dir := os.Getenv("KITMUSTER_TOOLS"); dir != "" {
		return filepath.Join(dir, "axe.min.js")
	}
	home, _ := os.UserHomeDir()
	return filepath.Join(home, ".cache", "kitmuster-tools", "axe.min.js")
}

// run evaluates a script for what it leaves behind.
func run(script string) chromedp.Action[chromedp.Void] {
	return chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		_, err := chromedp.Evaluate[any](script+"; null")(ctx, t)
		return err
	})
}

// screens brings the shop to where every page has something to show, and returns the addresses.
func (s *shop) screens() []string {
	s.t.Helper()
	b := s.signedIn()
	b.get("/proposal/2")
	b.press("yes", "Yes, in these numbers", "n:polo/navy/L", "20")
	b.get("/orders")
	b.press("write", "Write the orders")
	b.press("sent-1", "It is sent")
	b.get(ada)
	b.press("end-0", "Worn out")
	done := b.query
	return []string{
		"/", "/clients", "/client/harbour", ada, ada + "?" + done, "/client/harbour/person/0004",
		"/client/harbour/start", "/client/harbour/count", "/proposal/1", "/proposal/2", "/proposal/1/why",
		"/orders", "/goods", "/new-client", "/job/2", "/job/2/papers", "/find?q=a", "/find?q=nobody", "/nothing",
		"/in?link=x",
	}
}
