package delivery

import (
	"crypto/rand"
	"strings"
	"time"

	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/notify/outbox"
	"github.com/kitmuster/kitmuster/programme"
)

// Envelope holds what a composed mail needs to become a letter.
type Envelope struct {
	From     programme.Contact
	Date     time.Time // of the header, in the zone that people read
	Client   string    // code; empty for the owner's
	Proposal int64     // 0 = none
	Way      outbox.Way
}

// Seal writes a composed mail as the letter that carries it. From here on its
// bytes and its Message-ID are fixed. The Message-ID has a random part: one that
// is made again after a backup was put back must not be taken, by a mail program
// or a server, for the one that it has already.
func Seal(m message.Mail, e Envelope) (outbox.Letter, error) {
	l := outbox.Letter{
		MessageID: m.MessageID(e.From, strings.ToLower(rand.Text()[:randomPart])), Name: m.ID, Way: e.Way,
		Kind: string(m.Kind), Client: e.Client, Proposal: e.Proposal, Subject: m.Subject, From: e.From.Email,
	}
	for _, c := range m.To {
		l.To = append(l.To, c.Email)
	}
	var err error
	l.Bytes, err = m.Bytes(message.Envelope{From: e.From, Date: e.Date, MessageID: l.MessageID})
	return l, err
}

// randomPart is the length of a Message-ID's random part: ten letters of base
// 32, 50 bits beside a name and a number that are hardly ever given twice. Longer
// ones would make the header fold, which some mail programs do not read.
const randomPart = 10

// SealForCustomer seals a mail and, where there is something in it to forward to the
// client's customer, the draft to them beside it.
func SealForCustomer(m message.Mail, e Envelope, client *programme.Client) ([]outbox.Letter, error) {
	l, err := Seal(m, e)
	if err != nil {
		return nil, err
	}
	if m.Forward == nil || client == nil || client.Customer.Email == "" {
		return []outbox.Letter{l}, nil
	}
	e.Way, e.From = outbox.Draft, m.To[0]
	draft, err := Seal(m.AsDraft(), e)
	return []outbox.Letter{l, draft}, err
}
