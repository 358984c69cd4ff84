package replies

import (
	"context"
	"errors"
	"time"

	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/inbox"
)

// ReadMailbox stores what is new in a mailbox: each mail, and then how far it was read.
// Where the machine stops between the two, the mail is known again by its bytes.
func ReadMailbox(ctx context.Context, s *store.Store, m *inbox.Mailbox, now time.Time) error {
	from, err := readSoFar(ctx, s, m)
	if err != nil {
		return err
	}
	keep := context.WithoutCancel(ctx)
	note := func(at inbox.Position) error { return s.PutMailboxRead(keep, nameOf(m), at.Validity, at.Last) }
	at, err := m.Take(ctx, from, inbox.DefaultLimits.Bytes, now,
		func(source string, raw []byte, at inbox.Position) error {
			if _, _, err := s.KeepReply(keep, source, raw, false); err != nil {
				return err
			}
			return note(at)
		})
	if at != from && (err == nil || at.Last > 0) { // a first look that failed is still the first
		err = errors.Join(err, note(at))
	}
	return err
}

// WaitForMail returns when there is mail that was not read yet, or after a while; see
// inbox.Mailbox.Wait.
func WaitForMail(ctx context.Context, s *store.Store, m *inbox.Mailbox, most time.Duration, listening func()) error {
	from, err := readSoFar(ctx, s, m)
	if err != nil {
		return err
	}
	return m.Wait(ctx, from, most, listening)
}

func readSoFar(ctx context.Context, s *store.Store, m *inbox.Mailbox) (p inbox.Position, err error) {
	p.Validity, p.Last, err = s.MailboxRead(ctx, nameOf(m))
	return p, err
}

func nameOf(m *inbox.Mailbox) string { return m.User + "@" + m.Host + "/" + m.Folder }
