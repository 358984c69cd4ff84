package books

import (
	"context"
	"path/filepath"
	"strings"

	"github.com/kitmuster/kitmuster/daemon/config"
	"github.com/kitmuster/kitmuster/notify/inbox"
	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// KeyFile holds the keys of the marks that answers by mail carry.
const KeyFile = "replies.key"

// returns holds the addresses that answers by mail go to.
type returns struct {
	address string // empty = to the client's manager
	marked  bool   // the address carries the mark too
	keys    inbox.Keys
}

// Keys returns the keys that sign the marks in answers by mail; they are made at the first use.
func (b *Books) Keys() (inbox.Keys, error) { return inbox.OpenKeys(filepath.Join(b.Home, KeyFile)) }

// ReturnTo tells where the answer to a form of a proposal goes and the mark that it
// carries; nothing where config.yaml names no address for answers.
func (b *Books) ReturnTo(p *reorder.Proposal) (message.ReturnTo, error) {
	return b.returnTo(inbox.Token{Kind: inbox.ToProposal, Number: p.Number, Form: p.Form()},
		inbox.QuestionOf(p.Client, p.AsOf))
}

// ListTo tells where a list of a client goes that was asked for on a day, like ReturnTo.
func (b *Books) ListTo(ctx context.Context, k inbox.Kind, client string, day programme.Date) (message.ReturnTo, error) {
	row, err := b.Store.Client(ctx, client)
	if err != nil {
		return message.ReturnTo{}, err
	}
	return b.returnTo(inbox.ListToken(k, row.ID, day), inbox.QuestionOf(client, day))
}

func (b *Books) returnTo(t inbox.Token, q inbox.Question) (message.ReturnTo, error) {
	r, err := b.returns()
	if err != nil || r.address == "" {
		return message.ReturnTo{}, err
	}
	mark, err := r.keys.Write(t, q)
	if err != nil {
		return message.ReturnTo{}, err
	}
	to := message.ReturnTo{Address: r.address, Mark: mark}
	if local, domain, ok := strings.Cut(r.address, "@"); ok && r.marked {
		to.Address = local + "+" + mark + "@" + domain
	}
	return to, nil
}

// ReturnTrouble says what keeps answers by mail from being asked for, where
// config.yaml wants them.
func (b *Books) ReturnTrouble() error {
	_, err := b.returns()
	return err
}

// returns reads config.yaml and the keys once.
func (b *Books) returns() (returns, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.answers != nil {
		return *b.answers, nil
	}
	c, err := config.ReadFolder(b.Home, b.Zone())
	if err != nil {
		return returns{}, err
	}
	r := returns{address: c.Replies.Address, marked: c.Replies.MarkedAddress == "yes"}
	if r.address != "" {
		if r.keys, err = b.Keys(); err != nil {
			return returns{}, err
		}
	}
	b.answers = &r
	return r, nil
}
