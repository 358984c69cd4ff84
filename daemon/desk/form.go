package desk

import (
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"github.com/kitmuster/kitmuster/daemon/hint"
	"github.com/kitmuster/kitmuster/daemon/record"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/clean"
)

// Names of what every form carries.
const (
	markName = "mark" // tells it from every other form that was ever shown
	seenName = "seen" // sums up what its page showed
)

// formFor is the time in which a form can be sent: less than the time for which forms
// that were carried out are known again.
const formFor = 24 * time.Hour

// form returns a form that is carried out once. seen is a fingerprint of what the page shows of the records; empty
// = the form does not depend on them.
func (v *visit) form(name, action, seen string, body []page.Block, buttons ...page.Button) page.Form {
	return page.Form{Name: name, Action: action, Body: body, Buttons: buttons, Hidden: []page.Hidden{
		{Name: markName, Value: strconv.FormatInt(v.Now().Unix(), 36) + "-" + newSecret()},
		{Name: seenName, Value: seen},
	}}
}

// told holds the sentences about an entry that was made.
type told struct {
	Text   string   `json:"text"`
	Notes  []string `json:"notes,omitempty"`
	Client string   `json:"client,omitempty"` // whose entry it is
}

// entered turns the report of an entry into what the desk tells.
func entered(done record.Done, err error) (told, error) {
	return told{Text: done.Text, Notes: hint.OfDesk(done.Notes)}, err
}

// Reasons for which a form is not carried out.
var (
	errStale = errors.New("something else has happened since this page was opened, so nothing was entered; look again, and say it once more")
	errOld   = errors.New("this page was opened long ago, so nothing was entered; look again, and say it once more")
)

// wrong is an error that names a field of a form that cannot be read.
type wrong struct{ error }

func wrongf(format string, args ...any) error { return wrong{fmt.Errorf(format, args...)} }

// wrong notes that the form cannot be carried out as it is filled in; the first reason is told.
// Nothing is entered then, whatever is made of the rest: the transaction of the entry refuses it.
func (v *visit) wrong(format string, args ...any) {
	if v.unread == nil {
		v.unread = wrongf(format, args...)
	}
}

// carry carries a form out once and redirects to the page back. Where it is refused, again shows the form's page
// with the reason. seen returns the fingerprint of the records within the transaction, which must be that of the
// page; nil = it does not matter.
func (v *visit) carry(back string, again func() error, seen func(*store.Tx) (string, error),
	do func(context.Context) (told, error)) error {
	if err := v.r.ParseForm(); err != nil {
		return v.refused(again, wrongf("the form could not be read"))
	}
	form := store.Form{Hash: sha256.Sum256([]byte(v.r.URL.Path + "?" + v.r.PostForm.Encode()))}
	form.Still = func(tx *store.Tx) error {
		if v.unread != nil || seen == nil {
			return v.unread
		}
		now, err := seen(tx)
		if err == nil && now != v.r.PostForm.Get(seenName) {
			err = errStale
		}
		return err
	}
	if !v.young(v.r.PostForm.Get(markName)) {
		return v.refused(again, errOld)
	}
	_, _, done, err := v.Books.Store.FormSaid(v.ctx(), form.Hash[:])
	if err != nil {
		return err
	}
	said := told{}
	if err = store.ErrSentTwice; !done {
		said, err = do(store.WithForm(v.ctx(), form))
		said.Client = cmp.Or(said.Client, v.r.PathValue("client"))
	}
	switch {
	case v.unread != nil:
		return v.refused(again, v.unread)
	case errors.Is(err, store.ErrSentTwice):
	case err != nil:
		return v.refused(again, err)
	default:
		text, err := json.Marshal(said)
		if err != nil {
			return err
		}
		// The entry is made; where the words for it cannot be kept, it is told in general.
		_ = v.Books.Store.Said(context.WithoutCancel(v.ctx()), form.Hash[:], string(text))
	}
	http.Redirect(v.w, v.r, back+"?done="+hex.EncodeToString(form.Hash[:]), http.StatusSeeOther)
	return nil
}

// young reports whether the form's mark was made within formFor.
func (v *visit) young(mark string) bool {
	at, rest, ok := strings.Cut(mark, "-")
	sec, err := strconv.ParseInt(at, 36, 64)
	age := v.Now().Sub(time.Unix(sec, 0))
	return ok && err == nil && len(rest) == 40 && age < formFor && age > -time.Minute
}

// refused shows the form's page again with the reason; a fault of the machine is returned instead.
func (v *visit) refused(again func() error, err error) error {
	if store.IsTrouble(err) || v.ctx().Err() != nil {
		return err
	}
	v.typed, v.status = v.r.PostForm, http.StatusUnprocessableEntity
	if v.notice == nil {
		words := "Nothing was entered: " + hint.Desk(err) + "."
		if errors.Is(err, errStale) || errors.Is(err, errOld) {
			v.status, v.typed, words = http.StatusConflict, nil, clean.Sentence(err.Error())+"."
		}
		v.notice = &page.Notice{Bad: true, Words: words}
	}
	return again()
}

// told holds the sentences that report an entry.
func (v *visit) told() (*page.Notice, error) {
	hash, err := hex.DecodeString(v.r.URL.Query().Get("done"))
	if err != nil || len(hash) != sha256.Size {
		return nil, nil
	}
	entry, text, ok, err := v.Books.Store.FormSaid(v.ctx(), hash)
	if err != nil || !ok {
		return nil, err
	}
	said := told{Text: "that is entered"}
	if text != "" {
		if err := json.Unmarshal([]byte(text), &said); err != nil {
			return nil, err
		}
	}
	n := &page.Notice{Words: clean.Sentence(said.Text) + "."}
	for _, x := range said.Notes {
		n.Notes = append(n.Notes, clean.Sentence(strings.TrimSuffix(x, "."))+".")
	}
	if entry == 0 || text == "" {
		return n, nil
	}
	last, ok, err := v.Books.Store.LastImport(v.ctx(), store.ByHand, said.Client)
	if err != nil || !ok || last.ID != entry {
		return n, err
	}
	undo := v.undoForm(&last)
	n.Then = &undo
	return n, nil
}

// undoForm takes the last entry back.
func (v *visit) undoForm(last *store.Import) page.Form {
	f := v.form("undo", "/undo", store.EntryMark(last), nil, page.Button{Words: "Undo", About: last.File})
	f.Hidden = append(f.Hidden, page.Hidden{Name: "client", Value: last.Client},
		page.Hidden{Name: "back", Value: v.r.URL.Path})
	return f
}

// undo takes the last entry back, unless another was made since the page was shown.
func (v *visit) undo() error {
	if err := v.r.ParseForm(); err != nil {
		return errMissing
	}
	client, back := v.r.PostForm.Get("client"), v.r.PostForm.Get("back")
	if u, err := url.Parse(back); err != nil || u.Host != "" || u.Scheme != "" || !strings.HasPrefix(back, "/") ||
		strings.HasPrefix(back, "//") || strings.ContainsAny(back, `\?#`) {
		back = "/"
	}
	seen := func(tx *store.Tx) (string, error) {
		last, ok, err := tx.LastImport(store.ByHand, client)
		if err != nil || !ok {
			return "", err
		}
		return store.EntryMark(&last), nil
	}
	return v.carry(back, v.todayPage, seen, func(ctx context.Context) (told, error) {
		done, err := record.Undo(ctx, v.Books, client, false)
		if errors.Is(err, record.ErrNothing) {
			err = errStale
		}
		said, err := entered(done, err)
		said.Client = client
		return said, err
	})
}

// number reads a whole number from least to most; an empty field is otherwise.
func (v *visit) number(name, label string, least, most, otherwise int) int {
	text := strings.TrimSpace(v.r.PostForm.Get(name))
	if text == "" {
		return otherwise
	}
	n, err := strconv.Atoi(text)
	if err != nil || n < least || n > most {
		v.wrong("%s: read %q; write a whole number from %d to %d", label, text, least, most)
	}
	return n
}

// day reads a day; an empty field is otherwise.
func (v *visit) day(name, label string, otherwise programme.Date) programme.Date {
	text := strings.TrimSpace(v.r.PostForm.Get(name))
	if text == "" {
		return otherwise
	}
	d, err := programme.ParseDate(text)
	if err != nil {
		v.wrong("%s: read %q; write the day as year-month-day, such as %s", label, text, v.today)
	}
	return d
}

// past reads the day on which something happened, which dayField asks and which is not after today.
func (v *visit) past(label string) programme.Date {
	d := v.day("on", label, v.today)
	if d > v.today {
		v.wrong("%s: %s is still to come; name the day on which it happened", label, v.date(d))
	}
	return d
}

// dayField asks for a day, today where nothing else is said.
func (v *visit) dayField(label string) *page.Field {
	return &page.Field{Name: "on", Label: label, Ask: page.AskDay, Value: v.today.String(), Most: v.today.String()}
}
