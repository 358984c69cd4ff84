// Package desk serves pages on which a person of the shop works: what is due
// today, a proposal, what somebody holds, goods that came, a job, people who start
// and leave. It says in forms what the commands say in words, and carries out what
// they carry out: no rule of its own lives here.
//
// Nothing needs a script. Each form is carried out once, however often it is sent, and only
// while what its page showed still stands; its entry and the note of it are one
// transaction.
package desk

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"log/slog"
	"net/http"
	"net/url"
	"strings"
	"time"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/logkey"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme"
)

// Shop holds the books and settings that the desk works on at one moment.
type Shop struct {
	Books *books.Books
	From  programme.Contact // the sender of the shop's mails
}

// Options holds what a desk is given from outside.
type Options struct {
	// Shop returns the shop as its files say at this moment.
	Shop func() Shop
	// Reread puts in force what the shop's files say now; nil = nothing does.
	Reread func() error
	// Worries returns what a person should look at, as sentences; nil = nobody knows.
	Worries func(context.Context) ([]string, error)
	// Listen is the address on this machine; Address where a proxy serves the desk with
	// TLS, empty = nowhere.
	Listen, Address string
	Now             func() time.Time
	Log             *slog.Logger
}

// desk answers the requests.
type desk struct {
	Options
	secure bool // browsers reach it by TLS
	style  string
	mux    *http.ServeMux
}

// New returns the desk as a handler.
func New(opt Options) (http.Handler, error) {
	sum := sha256.Sum256(page.StyleSheet())
	d := &desk{Options: opt, secure: opt.Address != "", style: "/looks-" + hex.EncodeToString(sum[:6]) + ".css",
		mux: http.NewServeMux()}
	if d.Log == nil {
		d.Log = slog.New(slog.DiscardHandler)
	}
	d.mux.HandleFunc("GET "+d.style, d.looks)
	d.open("GET /in", (*visit).signInPage)
	d.open("POST /in", (*visit).signIn)
	d.open("GET /", (*visit).unknown)
	d.pages()
	return d.guarded(d.mux)
}

// pages lists every page and every form of those who are signed in.
func (d *desk) pages() {
	for pattern, f := range map[string]func(*visit) error{
		"GET /{$}":                                    (*visit).todayPage,
		"POST /out":                                   (*visit).signOut,
		"POST /undo":                                  (*visit).undo,
		"GET /find":                                   (*visit).find,
		"GET /clients":                                (*visit).clientsPage,
		"GET /new-client":                             (*visit).newClientPage,
		"POST /new-client":                            (*visit).newClient,
		"GET /client/{client}":                        (*visit).clientPage,
		"POST /client/{client}/leave":                 (*visit).leaves,
		"GET /client/{client}/start":                  (*visit).startPage,
		"POST /client/{client}/start":                 (*visit).start,
		"GET /client/{client}/person/{staff}":         (*visit).personPage,
		"POST /client/{client}/person/{staff}/end":    (*visit).end,
		"POST /client/{client}/person/{staff}/issue":  (*visit).issue,
		"POST /client/{client}/person/{staff}/size":   (*visit).size,
		"POST /client/{client}/person/{staff}/change": (*visit).change,
		"POST /client/{client}/person/{staff}/leave":  (*visit).leave,
		"POST /client/{client}/person/{staff}/away":   (*visit).away,
		"GET /client/{client}/count":                  (*visit).countPage,
		"POST /client/{client}/count":                 (*visit).count,
		"POST /client/{client}/person/{staff}/count":  (*visit).counted,
		"GET /client/{client}/held":                   (*visit).heldPage,
		"POST /client/{client}/held":                  (*visit).answerHeld,
		"GET /proposal/{number}":                      (*visit).proposalPage,
		"POST /proposal/{number}":                     (*visit).answer,
		"POST /mail/{number}/done":                    (*visit).mailDone,
		"GET /proposal/{number}/why":                  (*visit).whyPage,
		"GET /job/{number}":                           (*visit).jobPage,
		"POST /job/{number}":                          (*visit).pressed,
		"GET /job/{number}/papers":                    (*visit).papersPage,
		"GET /job/{number}/paper/{name}":              (*visit).paper,
		"GET /goods":                                  (*visit).goodsPage,
		"POST /goods/{order}":                         (*visit).arrived,
		"POST /goods":                                 (*visit).received,
		"GET /orders":                                 (*visit).ordersPage,
		"POST /orders":                                (*visit).writeOrders,
		"POST /orders/{order}/sent":                   (*visit).sent,
	} {
		d.open(pattern, signedIn(f))
	}
}

// open serves a pattern of the mux with f.
func (d *desk) open(pattern string, f func(*visit) error) {
	d.mux.HandleFunc(pattern, func(w http.ResponseWriter, r *http.Request) {
		r.Body = http.MaxBytesReader(w, r.Body, mostBytes)
		v := &visit{desk: d, w: w, r: r, Shop: d.Shop()}
		v.today = programme.DateOf(d.Now().In(v.Books.Zone()))
		if err := f(v); err != nil {
			v.trouble(err)
		}
	})
}

// mostBytes limits the body of a request, far above any form of the desk.
const mostBytes = 1 << 20

func (d *desk) looks(w http.ResponseWriter, _ *http.Request) {
	w.Header().Set("Content-Type", "text/css; charset=utf-8")
	w.Header().Set("Cache-Control", "max-age=31536000, immutable")
	_, _ = w.Write(page.StyleSheet())
}

// visit is one request.
type visit struct {
	*desk
	Shop
	w     http.ResponseWriter
	r     *http.Request
	today programme.Date
	// notice stands above all else on the page, typed is the form that is shown
	// again as it was sent.
	notice *page.Notice
	typed  url.Values
	status int // 0 = all is well
	// unread says why the form that was sent cannot be carried out as it is filled in; nil = it can.
	unread error
}

func (v *visit) ctx() context.Context { return v.r.Context() }

// errMissing is an address at which there is nothing.
var errMissing = errors.New("there is no such page")

func (v *visit) unknown() error { return errMissing }

// trouble shows an error that is not about what was entered: no such page, not signed in, or a fault of the
// machine.
func (v *visit) trouble(err error) {
	p := page.Page{Title: "Trouble"}
	switch {
	case errors.Is(err, errMissing), errors.Is(err, store.ErrNoClient), errors.Is(err, store.ErrNoProposal):
		v.status, p.Title = http.StatusNotFound, "Not here"
		p.Heading(1, "There is no such page")
		p.Say("The address leads nowhere, or what was there is gone.")
	case errors.Is(err, errSignedOut):
		v.status, p.Title = http.StatusUnauthorized, "Sign in"
		p.Heading(1, "You are not signed in")
		p.Say("On the shop's machine, type kitmuster desk: it shows a link that signs this browser in. A link works once, and for ten minutes.")
	default:
		v.status = http.StatusServiceUnavailable
		v.Log.Error("a page of the desk could not be shown", logkey.Error, err.Error())
		p.Heading(1, "That did not work")
		p.Say("Nothing was entered. Try it again in a moment; if it stays so, kitmuster status says what is wrong.")
	}
	p.Add(page.Paragraph{Words: page.Leading("To the first page", "/")})
	if err := v.show(p); err != nil {
		http.Error(v.w, "the page cannot be shown", http.StatusInternalServerError)
	}
}

// menu are the pages that can always be reached.
var menu = []page.Link{{Words: "Today", To: "/"}, {Words: "Clients", To: "/clients"}, {Words: "Orders", To: "/orders"},
	{Words: "Goods in", To: "/goods"}}

// titled returns a page with its title as the first heading.
func titled(title string) page.Page {
	p := page.Page{Title: title}
	p.Heading(1, title)
	return p
}

// show writes a page with menu, notice and finder around it.
func (v *visit) show(p page.Page) error {
	s := page.Screen{Page: p, Shop: v.Books.Shop.Name, Here: v.r.URL.Path, Style: v.style, Notice: v.notice}
	if v.status != http.StatusUnauthorized && v.r.URL.Path != "/in" {
		s.Menu = menu
		s.Finder = &page.Form{Action: "/find", Get: true, Body: []page.Block{page.Fields{List: []*page.Field{
			{Name: "q", Label: "Find a person", Ask: page.AskSearch, Value: v.r.URL.Query().Get("q"), Bare: true},
		}}}, Buttons: []page.Button{{Words: "Find a person"}}}
		s.Foot = &page.Form{Action: "/out", Buttons: []page.Button{{Words: "Sign out"}}}
	}
	v.retype(&s)
	if s.Notice == nil {
		var err error
		if s.Notice, err = v.told(); err != nil {
			return err
		}
	}
	var b strings.Builder
	if err := s.HTML(&b); err != nil {
		return err
	}
	v.w.Header().Set("Content-Type", "text/html; charset=utf-8")
	if v.status != 0 {
		v.w.WriteHeader(v.status)
	}
	_, _ = v.w.Write([]byte(b.String()))
	return nil
}

// retype puts what was sent back into the fields of the form that is shown again.
func (v *visit) retype(s *page.Screen) {
	if v.typed == nil {
		return
	}
	s.EachField(func(form *page.Form, f *page.Field) {
		if form == nil || form.Name == "" || form.Name != v.typed.Get("form") {
			return
		}
		if f.Ask == page.AskTick {
			f.Ticked = v.typed.Has(f.Name)
		} else if v.typed.Has(f.Name) {
			f.Value = v.typed.Get(f.Name)
		}
	})
}

// date writes a day as the shop does.
func (v *visit) date(d programme.Date) string { return v.Books.Shop.DateStyle.Date(d) }

func (v *visit) money(m programme.Money) string { return m.In(v.Books.Shop.Currency) }
