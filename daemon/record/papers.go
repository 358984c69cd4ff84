package record

import (
	"fmt"
	"slices"
	"strconv"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// papers writes the pick list and the bag tags of what the move picks and takes back,
// and puts them into the outbox to the owner. Of a trial there are none, nor where
// nothing is to be picked: what follows is told where the entry was made.
func (m *move) papers(why string) error {
	if m.opt.Try || !slices.ContainsFunc(m.out.Kits,
		func(k Kit) bool { return len(k.Picked)+len(k.Shelved)+len(k.Spent) > 0 }) {
		return nil
	}
	x := message.Pick{Shop: m.books.Shop, Client: m.client, People: m.people, On: m.opt.On, Number: m.id, Why: why}
	if p := m.out.Proposal; p != nil {
		x.Proposal, x.Arrives = p.Number, p.Arrives
	}
	for i := range m.out.Kits {
		x.Bags = append(x.Bags, bagOf(&m.out.Kits[i]))
	}
	mail, err := message.ComposePick(x)
	if err != nil {
		return fmt.Errorf("write the pick list: %w", err)
	}
	m.out.Papers = mail.Attachments
	for _, w := range mail.Warnings {
		m.note("%s", w)
	}
	return m.send(mail, 0)
}

// WritePapers writes the papers of the outcome into a folder of the shop's jobs and returns its
// path; "" where there are none.
func (o *Outcome) WritePapers(b *books.Books) (string, error) {
	if len(o.Papers) == 0 {
		return "", nil
	}
	dir := books.PickDir(strconv.FormatInt(o.Entry, 10), o.Client)
	if p := o.Proposal; p != nil && p.State == reorder.Accepted {
		dir = books.JobDir(p.Number, o.Client)
	}
	return b.WriteJob(dir, o.Papers)
}

func bagOf(k *Kit) message.PickBag {
	return message.PickBag{
		StaffID: k.StaffID, Start: k.Start, Take: k.Picked, Back: slices.Concat(k.Shelved, k.Spent),
		Later: k.Later, Awaited: k.Awaited, Coming: k.Proposed, Waiting: k.Waiting, Held: k.Held, Unsized: k.Unsized,
	}
}
