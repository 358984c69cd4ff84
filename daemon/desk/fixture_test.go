package desk_test

import (
	"context"
	"io"
	"log/slog"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"golang.org/x/net/html"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/books/bookstest"
	"github.com/kitmuster/kitmuster/daemon/desk"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// shop is a desk at work, with the books behind it.
type shop struct {
	t     testing.TB
	b     *books.Books
	url   string
	today programme.Date
	now   func() time.Time
}

// open serves the desk of books as the daemon does.
func open(t testing.TB, b *books.Books) *shop {
	t.Helper()
	srv := httptest.NewUnstartedServer(nil)
	h, err := desk.New(desk.Options{Shop: func() desk.Shop { return desk.Shop{Books: b, From: b.Shop.Owner} },
		Listen: srv.Listener.Addr().String(), Now: time.Now, Log: slog.New(slog.NewTextHandler(t.Output(), nil))})
	require.NoError(t, err)
	srv.Config.Handler = h
	srv.Start()
	t.Cleanup(srv.Close)
	return &shop{t: t, b: b, url: srv.URL, today: programme.DateOf(time.Now().In(b.Zone())), now: time.Now}
}

// newShop has two clients, four people at each, and a proposal of eight polos for each
// client that was sent today.
func newShop(t testing.TB) *shop {
	t.Helper()
	s := open(t, bookstest.New(t))
	s.propose()
	return s
}

func (s *shop) propose() {
	s.t.Helper()
	s.tx(func(tx *store.Tx) {
		require.NoError(s.t, tx.AddRound(store.Round{ID: 1, AsOf: s.today, Summary: []byte("{}")}))
		for i, code := range []string{"harbour", "quay"} {
			c, err := s.b.Client(context.Background(), code)
			require.NoError(s.t, err)
			p, err := reorder.Direct(s.b.Shop, c, s.today, []reorder.Named{
				{StaffID: "0001", SKU: bookstest.PoloM, Pieces: 5, Why: programme.CauseWorn, PEnd: 0.8,
					By: s.today + 30},
				{StaffID: "0002", SKU: bookstest.PoloL, Pieces: 3, Why: programme.CauseOwed, PEnd: 1},
			}, nil)
			require.NoError(s.t, err)
			p.Number = int64(i + 1)
			require.NoError(s.t, tx.AddProposal(1, p))
		}
	})
}

func (s *shop) tx(f func(*store.Tx)) {
	s.t.Helper()
	require.NoError(s.t, s.b.Store.InTx(context.Background(), func(tx *store.Tx) error { f(tx); return nil }))
}

func (s *shop) proposal(n int64) reorder.Proposal {
	s.t.Helper()
	p, err := s.b.Store.Proposal(context.Background(), n)
	require.NoError(s.t, err)
	return p
}

func (s *shop) moves(client string) []programme.Movement {
	s.t.Helper()
	list, err := s.b.Store.Movements(context.Background(), client)
	require.NoError(s.t, err)
	return list
}

func (s *shop) person(client, staff string) programme.Person {
	s.t.Helper()
	people, err := s.b.Store.People(context.Background(), client)
	require.NoError(s.t, err)
	p, ok := programme.Roster(people).Find(staff)
	require.True(s.t, ok, staff)
	return *p
}

// tab is a tab of a browser that knows forms and nothing of scripts.
type tab struct {
	*shop
	client *http.Client
	path   string // of the page that is shown
	query  string
	status int
	doc    *html.Node
}

// tab opens a browser that is not signed in.
func (s *shop) tab() *tab {
	s.t.Helper()
	jar, err := cookiejar.New(nil)
	require.NoError(s.t, err)
	return &tab{shop: s, client: &http.Client{Jar: jar}}
}

// signedIn opens a browser with a link of its own.
func (s *shop) signedIn() *tab {
	s.t.Helper()
	b := s.tab()
	b.get(s.link())
	b.press("", "Sign in")
	require.Equal(s.t, http.StatusOK, b.status)
	return b
}

// another opens another tab of the same browser.
func (b *tab) another() *tab { return &tab{shop: b.shop, client: b.client} }

// link is one that signs in, without the address of the desk.
func (s *shop) link() string {
	s.t.Helper()
	l, err := desk.NewLink(context.Background(), s.b.Store, strings.TrimPrefix(s.url, "http://"), "", s.now())
	require.NoError(s.t, err)
	return strings.TrimPrefix(l, s.url)
}

func (b *tab) get(path string) {
	b.t.Helper()
	r, err := b.client.Get(b.url + path)
	require.NoError(b.t, err)
	b.shows(r)
}

func (b *tab) shows(r *http.Response) {
	b.t.Helper()
	defer r.Body.Close()
	text, err := io.ReadAll(r.Body)
	require.NoError(b.t, err)
	b.status, b.path, b.query = r.StatusCode, r.Request.URL.Path, r.Request.URL.RawQuery
	b.doc, err = html.Parse(strings.NewReader(string(text)))
	require.NoError(b.t, err)
}

// sent is a form as it is sent.
type sent struct {
	action, method string
	values         url.Values
}

// fill returns the form of a page with a name (any with "") that has a button of those words, as
// it is sent when the button is pressed; said changes values, and "-" takes one out.
func (b *tab) fill(form, button string, said ...string) sent {
	b.t.Helper()
	for _, f := range all(b.doc, "form") {
		values := url.Values{}
		for _, x := range all(f, "input", "select") {
			name := attr(x, "name")
			switch {
			case x.Data == "select":
				for i, o := range all(x, "option") {
					if _, chosen := find(o, "selected"); chosen || i == 0 {
						values.Set(name, attr(o, "value"))
					}
				}
			case attr(x, "type") == "checkbox":
				if _, ticked := find(x, "checked"); ticked {
					values.Set(name, attr(x, "value"))
				}
			case name != "":
				values.Set(name, attr(x, "value"))
			}
		}
		if form != "" && values.Get("form") != form {
			continue
		}
		for _, x := range all(f, "button") {
			if words(x) != button && !strings.HasPrefix(words(x), button+" ") {
				continue
			}
			if n := attr(x, "name"); n != "" {
				values.Set(n, attr(x, "value"))
			}
			for i := 0; i+1 < len(said); i += 2 {
				if said[i+1] == "-" {
					values.Del(said[i])
					continue
				}
				require.True(b.t, values.Has(said[i]) || has(f, said[i]), "the form has no field %s", said[i])
				values.Set(said[i], said[i+1])
			}
			return sent{attr(f, "action"), attr(f, "method"), values}
		}
	}
	require.Fail(b.t, "there is no such form", "%s, %s on %s:\n%s", form, button, b.path, b.text())
	return sent{}
}

func has(form *html.Node, name string) bool {
	return slices.ContainsFunc(all(form, "input", "select"), func(x *html.Node) bool { return attr(x, "name") == name })
}

// press fills a form in and sends it.
func (b *tab) press(form, button string, said ...string) {
	b.t.Helper()
	b.send(b.fill(form, button, said...))
}

func (b *tab) send(f sent) {
	b.t.Helper()
	var r *http.Response
	var err error
	if f.method == "get" {
		r, err = b.client.Get(b.url + f.action + "?" + f.values.Encode())
	} else {
		r, err = b.client.PostForm(b.url+f.action, f.values)
	}
	require.NoError(b.t, err)
	b.shows(r)
}

// text is all that the page says.
func (b *tab) text() string { return words(b.doc) }

// notice is what the page says above all else.
func (b *tab) notice() string {
	for _, x := range all(b.doc, "div") {
		if r := attr(x, "role"); r == "status" || r == "alert" {
			return words(x)
		}
	}
	return ""
}

func all(n *html.Node, tags ...string) (out []*html.Node) {
	for x := range n.Descendants() {
		if x.Type == html.ElementNode && slices.Contains(tags, x.Data) {
			out = append(out, x)
		}
	}
	return out
}

func find(n *html.Node, key string) (string, bool) {
	for _, a := range n.Attr {
		if a.Key == key {
			return a.Val, true
		}
	}
	return "", false
}

func attr(n *html.Node, key string) string {
	v, _ := find(n, key)
	return v
}

func words(n *html.Node) string {
	var b strings.Builder
	for x := range n.Descendants() {
		if x.Type == html.TextNode && x.Parent.Data != "style" && x.Parent.Data != "title" {
			b.WriteString(x.Data + " ")
		}
	}
	return strings.Join(strings.Fields(b.String()), " ")
}
