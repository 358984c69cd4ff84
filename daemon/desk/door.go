package desk

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"net"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/page"
)

// A link works once and for linkFor, a signed-in browser for sessionFor.
const (
	linkFor    = 10 * time.Minute
	sessionFor = 14 * 24 * time.Hour
)

// NewLink makes a link that signs one browser in, at the address of the desk.
func NewLink(ctx context.Context, st *store.Store, listen, address string, now time.Time) (string, error) {
	secret := newSecret()
	if err := st.AddDeskKey(ctx, store.DeskLink, hashOf(secret), now.Add(linkFor)); err != nil {
		return "", err
	}
	if address == "" {
		address = "http://" + listen
	}
	return strings.TrimRight(address, "/") + "/in?link=" + secret, nil
}

// newSecret returns 160 random bits.
func newSecret() string {
	b := make([]byte, 20)
	_, _ = rand.Read(b) // never fails
	return hex.EncodeToString(b)
}

func hashOf(secret string) [sha256.Size]byte { return sha256.Sum256([]byte(secret)) }

// guarded refuses requests for other hosts and from other origins, and sets the headers that restrict what
// browsers load.
func (d *desk) guarded(next http.Handler) (http.Handler, error) {
	hosts, err := hostsOf(d.Listen, d.Address)
	if err != nil {
		return nil, err
	}
	origin := http.NewCrossOriginProtection()
	if d.Address != "" {
		if err := origin.AddTrustedOrigin(strings.TrimRight(d.Address, "/")); err != nil {
			return nil, fmt.Errorf("the address of the desk: %w", err)
		}
	}
	inner := origin.Handler(next)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", "default-src 'none'; style-src 'self'; img-src data:; form-action 'self'; base-uri 'none'; frame-ancestors 'none'")
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "same-origin")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Cache-Control", "no-store")
		if !slices.Contains(hosts, strings.ToLower(r.Host)) {
			http.Error(w, "This desk is not served under that name.", http.StatusMisdirectedRequest)
			return
		}
		inner.ServeHTTP(w, r)
	}), nil
}

// hostsOf lists the names under which browsers may ask for the desk: a page of
// somebody else that points its own name at this machine is not among them.
func hostsOf(listen, address string) ([]string, error) {
	host, port, err := net.SplitHostPort(listen)
	if err != nil {
		return nil, fmt.Errorf("the address of the desk: %w", err)
	}
	hosts := []string{strings.ToLower(net.JoinHostPort(host, port))}
	for _, h := range []string{"localhost", "127.0.0.1", "::1"} {
		hosts = append(hosts, net.JoinHostPort(h, port))
	}
	if address != "" {
		u, err := url.Parse(address)
		if err != nil {
			return nil, fmt.Errorf("the address of the desk: %w", err)
		}
		hosts = append(hosts, strings.ToLower(u.Host))
	}
	return hosts, nil
}

// errSignedOut says that a browser is not signed in.
var errSignedOut = errors.New("not signed in")

// cookie is the name under which a browser keeps its session. Browsers take one of the
// longer name from the host itself alone, and by TLS alone.
func (d *desk) cookie() string {
	if d.secure {
		return "__Host-kitmuster-desk"
	}
	return "kitmuster-desk"
}

// signedIn returns f for signed-in browsers; for others it is errSignedOut.
func signedIn(f func(*visit) error) func(*visit) error {
	return func(v *visit) error {
		c, err := v.r.Cookie(v.cookie())
		if err != nil {
			return errSignedOut
		}
		ok, err := v.Books.Store.HasDeskKey(v.ctx(), store.DeskSession, hashOf(c.Value))
		if err != nil {
			return err
		}
		if !ok {
			return errSignedOut
		}
		return f(v)
	}
}

// signInPage asks for a press of a button, so that a browser or a mail program that
// looks at addresses beforehand does not use the link up.
func (v *visit) signInPage() error {
	p := page.Page{Title: "Sign in"}
	p.Heading(1, "The desk of "+v.Books.Shop.Name)
	p.Say("This signs this browser in, for two weeks.")
	p.Add(page.Form{Action: "/in", Hidden: []page.Hidden{{Name: "link", Value: v.r.URL.Query().Get("link")}},
		Buttons: []page.Button{{Words: "Sign in", Main: true}}})
	return v.show(p)
}

func (v *visit) signIn() error {
	session := newSecret()
	ok, err := v.Books.Store.UseDeskLink(v.ctx(), hashOf(v.r.PostFormValue("link")), hashOf(session),
		v.Now().Add(sessionFor))
	if err != nil {
		return err
	}
	if !ok {
		v.status = http.StatusForbidden
		p := page.Page{Title: "Sign in"}
		p.Heading(1, "This link works no more")
		p.Say("A link signs one browser in, once, within ten minutes. Type kitmuster desk on the shop's machine for another.")
		return v.show(p)
	}
	http.SetCookie(v.w, &http.Cookie{Name: v.cookie(), Value: session, Path: "/", HttpOnly: true, Secure: v.secure,
		SameSite: http.SameSiteStrictMode, MaxAge: int(sessionFor.Seconds())})
	http.Redirect(v.w, v.r, "/", http.StatusSeeOther)
	return nil
}

func (v *visit) signOut() error {
	c, err := v.r.Cookie(v.cookie())
	if err != nil {
		return errSignedOut
	}
	hash := hashOf(c.Value)
	if err := v.Books.Store.DropDeskKey(v.ctx(), hash[:]); err != nil {
		return err
	}
	http.SetCookie(v.w, &http.Cookie{Name: v.cookie(), Path: "/", HttpOnly: true, Secure: v.secure,
		SameSite: http.SameSiteStrictMode, MaxAge: -1})
	return errSignedOut
}
