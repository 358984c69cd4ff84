package desk_test

import (
	"context"
	"fmt"
	"io"
	"maps"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/books/bookstest"
	"github.com/kitmuster/kitmuster/daemon/desk"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/programme"
)

// do sends a request of the signed-in browser as it is, and returns status and body.
func (b *tab) do(method, path, body string, set func(*http.Request)) (int, string, http.Header) {
	b.t.Helper()
	r, err := http.NewRequest(method, b.url+path, strings.NewReader(body))
	require.NoError(b.t, err)
	if method == http.MethodPost {
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	}
	if set != nil {
		set(r)
	}
	answer, err := (&http.Client{Jar: b.client.Jar,
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}).Do(r)
	require.NoError(b.t, err)
	defer answer.Body.Close()
	text, err := io.ReadAll(answer.Body)
	require.NoError(b.t, err)
	return answer.StatusCode, string(text), answer.Header
}

// A page of somebody else that points its own name at this machine reads nothing.
func TestAForeignHostIsRefused(t *testing.T) {
	b := newShop(t).signedIn()
	for _, host := range []string{"evil.example", "evil.example:80", "127.0.0.1", "localhost", "127.0.0.1:1", "",
		"127.0.0.1.evil.example" + b.url[strings.LastIndex(b.url, ":"):]} {
		for _, path := range []string{"/", "/in", ada, "/looks.css"} {
			status, text, _ := b.do("GET", path, "", func(r *http.Request) {
				if r.Host = host; host == "" {
					r.Host = " "
				}
			})
			require.Contains(t, []int{http.StatusMisdirectedRequest, http.StatusBadRequest}, status, host)
			require.NotContains(t, text, "Ada")
		}
	}
	port := b.url[strings.LastIndex(b.url, ":"):]
	status, _, _ := b.do("GET", "/", "", func(r *http.Request) { r.Host = "localhost" + port })
	require.Equal(t, http.StatusUnauthorized, status, "the name is served; the cookie is of the other name")
}

// A page of another origin, also one of another port of this machine, sends no form.
func TestAForeignOriginEntersNothing(t *testing.T) {
	s := newShop(t)
	b := s.signedIn()
	b.get(ada)
	form := b.fill("end-0", "Worn out")
	before := bookstest.Of(t, s.b)
	for _, h := range []map[string]string{
		{"Origin": "https://evil.example"}, {"Origin": "null"}, {"Origin": "http://127.0.0.1:1"},
		{"Origin": "http://localhost:3000"},
		{"Sec-Fetch-Site": "cross-site"}, {"Sec-Fetch-Site": "same-site"},
		{"Sec-Fetch-Site": "same-site", "Origin": s.url},
	} {
		status, _, _ := b.do("POST", form.action, form.values.Encode(), func(r *http.Request) {
			for k, v := range h {
				r.Header.Set(k, v)
			}
		})
		require.Equal(t, http.StatusForbidden, status, "%v", h)
		require.Equal(t, before, bookstest.Of(t, s.b))
	}
	status, _, _ := b.do("POST", form.action, form.values.Encode(),
		func(r *http.Request) { r.Header.Set("Sec-Fetch-Site", "same-origin") })
	require.Equal(t, http.StatusSeeOther, status)
}

// Without the cookie of a session nothing is shown and nothing entered.
func TestWhoIsNotSignedInSeesNothing(t *testing.T) {
	s := newShop(t)
	in := s.signedIn()
	in.get(ada)
	form := in.fill("end-0", "Worn out")
	before := bookstest.Of(t, s.b)
	for _, cookie := range []string{"", "kitmuster-desk=", "kitmuster-desk=" + strings.Repeat("0", 40),
		"kitmuster-desk=' OR 1=1 --"} {
		b := s.tab()
		for _, path := range []string{"/", "/clients", "/client/harbour", ada, "/proposal/1", "/proposal/1/why",
			"/job/1", "/job/1/papers", "/job/1/paper/x.pdf", "/goods", "/orders", "/find?q=a", "/client/harbour/start",
			"/client/harbour/held"} {
			status, text, _ := b.do("GET", path, "", func(r *http.Request) { r.Header.Set("Cookie", cookie) })
			require.Equal(t, http.StatusUnauthorized, status, path)
			require.NotContains(t, text, "Harbour")
		}
		for _, path := range []string{form.action, "/undo", "/out", "/orders", "/goods", "/goods/1", "/orders/1/sent",
			"/proposal/1", "/job/1", "/client/harbour/leave", "/client/harbour/start", "/client/harbour/held"} {
			status, _, _ := b.do("POST", path, form.values.Encode(),
				func(r *http.Request) { r.Header.Set("Cookie", cookie) })
			require.Equal(t, http.StatusUnauthorized, status, path)
		}
	}
	require.Equal(t, before, bookstest.Of(t, s.b))
}

func TestALinkWorksOnceAndForTenMinutes(t *testing.T) {
	s := newShop(t)
	link := s.link()
	b := s.tab()
	b.get(link)
	b.get(link)
	b.press("", "Sign in") // looking at it, as a mail program may, does not use it up
	require.Equal(t, http.StatusOK, b.status)
	second := s.tab()
	second.get(link)
	second.press("", "Sign in")
	require.Equal(t, http.StatusForbidden, second.status)
	require.Contains(t, second.text(), "works no more")

	old, err := desk.NewLink(context.Background(), s.b.Store, "127.0.0.1:1", "", time.Now().Add(-11*time.Minute))
	require.NoError(t, err)
	third := s.tab()
	third.get(old[strings.Index(old, "/in"):])
	third.press("", "Sign in")
	require.Equal(t, http.StatusForbidden, third.status)
	third.get("/in?link=")
	third.press("", "Sign in")
	require.Equal(t, http.StatusForbidden, third.status)

	// Signing out ends the session on the side of the desk.
	cookies := b.client.Jar.Cookies(mustURL(t, s.url))
	b.press("", "Sign out")
	require.Equal(t, http.StatusUnauthorized, b.status)
	status, _, _ := s.tab().do("GET", "/", "", func(r *http.Request) { r.AddCookie(cookies[0]) })
	require.Equal(t, http.StatusUnauthorized, status)
}

func mustURL(t *testing.T, s string) *url.URL {
	t.Helper()
	u, err := url.Parse(s)
	require.NoError(t, err)
	return u
}

// What browsers are told of the pages: no scripts, no frames, nothing from elsewhere,
// nothing kept, and a cookie that no script and no other site gets.
func TestBrowsersAreToldWhatPagesAreMadeOf(t *testing.T) {
	s := newShop(t)
	b := s.tab()
	link := s.link()
	_, _, h := b.do("POST", "/in", "link="+strings.TrimPrefix(link, "/in?link="), nil)
	cookie := h.Get("Set-Cookie")
	for _, want := range []string{"HttpOnly", "SameSite=Strict", "Path=/"} {
		require.Contains(t, cookie, want)
	}
	b = s.signedIn()
	for _, path := range []string{"/", ada, "/nothing", "/client/harbour/start"} {
		_, text, h := b.do("GET", path, "", nil)
		csp := h.Get("Content-Security-Policy")
		for _, want := range []string{"default-src 'none'", "frame-ancestors 'none'", "form-action 'self'",
			"base-uri 'none'"} {
			require.Contains(t, csp, want)
		}
		require.NotContains(t, csp, "unsafe")
		require.Equal(t, "no-store", h.Get("Cache-Control"))
		require.Equal(t, "nosniff", h.Get("X-Content-Type-Options"))
		require.NotContains(t, text, "<script")
		require.NotContains(t, text, " style=")
	}
}

// Behind a proxy that does TLS the cookie goes by TLS alone, and the proxy's name is one
// of the desk's.
func TestBehindAProxyTheCookieGoesByTLS(t *testing.T) {
	s := newShop(t)
	h, err := desk.New(desk.Options{Shop: func() desk.Shop { return desk.Shop{Books: s.b} }, Listen: "127.0.0.1:9188",
		Address: "https://desk.shop.example", Now: time.Now})
	require.NoError(t, err)
	ask := func(host, origin string) *http.Response {
		link := s.link()
		r, err := http.NewRequest(http.MethodPost, "http://"+host+"/in",
			strings.NewReader("link="+strings.TrimPrefix(link, "/in?link=")))
		require.NoError(t, err)
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		r.Header.Set("Origin", origin)
		w := recorder{header: http.Header{}}
		h.ServeHTTP(&w, r)
		return &http.Response{StatusCode: w.status, Header: w.header}
	}
	r := ask("desk.shop.example", "https://desk.shop.example")
	require.Equal(t, http.StatusSeeOther, r.StatusCode)
	require.Contains(t, r.Header.Get("Set-Cookie"), "; Secure")
	require.Contains(t, r.Header.Get("Set-Cookie"), "__Host-")
	require.Equal(t, http.StatusMisdirectedRequest, ask("other.example", "https://other.example").StatusCode)
	require.Equal(t, http.StatusForbidden, ask("desk.shop.example", "https://other.example").StatusCode)
}

type recorder struct {
	header http.Header
	status int
}

func (r *recorder) Header() http.Header         { return r.header }
func (r *recorder) WriteHeader(status int)      { r.status = status }
func (r *recorder) Write(b []byte) (int, error) { return len(b), nil }

// An address that climbs out of where it belongs, or names what is not there, leads nowhere.
func TestNoAddressLeadsElsewhere(t *testing.T) {
	s := newShop(t)
	b := s.signedIn()
	b.get("/proposal/1")
	b.press("yes", "Yes, in these numbers")
	before := bookstest.Of(t, s.b)
	for _, path := range []string{
		"/../shop.yaml", "/%2e%2e/shop.yaml", "/looks/../../kitmuster.db", "/job/1/paper/..%2f..%2fkitmuster.db",
		"/job/1/paper/%2e%2e%2fkitmuster.db", "/job/1/paper/..%5c..%5ckitmuster.db",
		"/job/1/paper/nothing.pdf", "/client/..%2f..%2fetc", "/client/nobody", "/client/nobody/person/0001",
		"/client/harbour/person/..%2f0001", "/client/harbour/person/9999",
		"/proposal/0", "/proposal/-1", "/proposal/99", "/proposal/1e3", "/proposal/9999999999999999999999",
		"/proposal/1;drop", "/job/x", "/nothing", "/kitmuster.db", "/.git/config",
	} {
		status, text, _ := b.do("GET", path, "", nil)
		require.Contains(t, []int{http.StatusNotFound, http.StatusTemporaryRedirect, http.StatusMovedPermanently},
			status, path)
		require.NotContains(t, text, "SQLite")
		require.NotContains(t, text, "Ada")
	}
	for _, path := range []string{"/client/nobody/leave", "/client/nobody/start", "/client/nobody/person/0001/end",
		"/client/harbour/person/9999/end", "/proposal/99", "/goods/99", "/orders/99/sent", "/mail/99/done",
		"/mail/x/done"} {
		b.get(ada)
		f := b.fill("end-0", "Worn out")
		f.action = path
		b.send(f)
		require.Contains(t, []int{http.StatusNotFound, http.StatusConflict, http.StatusUnprocessableEntity},
			b.status, path)
	}
	// Undo leads back to pages of the desk alone.
	b.get(ada)
	b.press("end-0", "Worn out")
	f := b.fill("undo", "Undo")
	f.values.Set("back", "//evil.example/")
	_, _, h := b.do("POST", "/undo", f.values.Encode(), nil)
	require.True(t, strings.HasPrefix(h.Get("Location"), "/?done="), h.Get("Location"))
	require.Equal(t, before.Movements, bookstest.Of(t, s.b).Movements)
}

// A form that is far too large, or none at all, is refused.
func TestWhatIsNoFormIsRefused(t *testing.T) {
	s := newShop(t)
	b := s.signedIn()
	before := bookstest.Of(t, s.b)
	b.get(ada)
	f := b.fill("end-0", "Worn out")
	for _, body := range []string{"a=" + strings.Repeat("x", 2<<20), "%zz", "", "reason=worn",
		strings.Replace(f.values.Encode(), "mark=", "mark=1-", 1),
		strings.Replace(f.values.Encode(), "reason=worn", "reason=left", 1)} {
		status, _, _ := b.do("POST", f.action, body, nil)
		require.Contains(t, []int{http.StatusUnprocessableEntity, http.StatusConflict}, status)
	}
	require.Equal(t, before, bookstest.Of(t, s.b))
}

const markup = `<script>alert(1)</script>"'><img src=x onerror=alert(2)>{{.}}`

// Markup that got into any field, by whatever way, is words on every page.
func TestStoredMarkupIsWords(t *testing.T) {
	s := newShop(t)
	s.tx(func(tx *store.Tx) {
		people := bookstest.Staff()
		for i := range people {
			people[i].Name, people[i].Site = markup+people[i].Name, markup
		}
		people = append(people, programme.Person{StaffID: markup, Name: markup, Role: "barista", Start: s.today})
		require.NoError(t, tx.PutPeople("harbour", people))
		p, err := tx.Proposal(1)
		require.NoError(t, err)
		p.Because = markup
		require.NoError(t, tx.PutProposalBody(&p))
		require.NoError(t, tx.MoveProposal(1, p.State, "sent", markup))
		_, err = tx.AddImport(store.Import{Kind: "roster", Client: "harbour", File: markup, Note: markup})
		require.NoError(t, err)
		require.NoError(t, tx.AddEvent(store.Event{Kind: programme.OtherTrouble, What: markup}))
	})
	s.b.Shop.Name = markup
	for i := range s.b.Shop.Suppliers {
		s.b.Shop.Suppliers[i].Name = markup
	}
	s.b.Shop.Garments[0].Name = markup
	b := s.signedIn()
	staff := "/client/harbour/person/" + url.PathEscape(markup)
	check := func(text, where string) {
		require.NotContains(t, text, "<script", where)
		require.NotContains(t, text, "<img", where)
		require.NotContains(t, text, "onerror=alert(2)>", where)
	}
	for _, path := range []string{"/", "/clients", "/client/harbour", "/client/harbour/start", ada, staff,
		"/proposal/1", "/proposal/1/why", "/goods", "/orders", "/find?q=" + url.QueryEscape(markup), "/find?q=script"} {
		status, text, _ := b.do("GET", path, "", nil)
		require.Equal(t, http.StatusOK, status, path)
		check(text, path)
	}
	// And what is typed comes back as words, whether it is refused or entered.
	for _, f := range []struct{ page, form, button string }{
		{"/proposal/1", "yes", "Yes, in these numbers"}, {"/proposal/1", "wait", "Not now"},
		{"/proposal/1", "no", "No"}, {ada, "end-0", "Worn out"}, {ada, "issue", "Handed out"},
		{ada, "size", "Exchange"}, {ada, "leave", "This came back"}, {ada, "away", "Enter it"},
		{"/client/harbour/start", "start", "They start"}, {"/client/harbour", "leaves", "Enter the last day"},
		{"/goods", "other", "Enter them"}, {"/new-client", "client", "Draft the programme"},
		{ada, "change", "Enter the change"},
	} {
		b.get(f.page)
		form := b.fill(f.form, f.button)
		for name := range form.values {
			if name == "mark" || name == "seen" || name == "form" {
				continue
			}
			one := sent{form.action, form.method, url.Values{}}
			maps.Copy(one.values, form.values)
			one.values.Set(name, markup)
			r, err := b.client.PostForm(b.url+one.action, one.values)
			require.NoError(t, err)
			text, err := io.ReadAll(r.Body)
			require.NoError(t, err)
			require.NoError(t, r.Body.Close())
			check(string(text), fmt.Sprint(f, name))
			require.Less(t, r.StatusCode, 500, fmt.Sprint(f, name))
		}
	}
}
