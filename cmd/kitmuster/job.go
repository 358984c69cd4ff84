package main

import (
	"context"
	"fmt"

	"github.com/kitmuster/kitmuster/daemon/answer"
	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// writePapers writes the papers for the press of an accepted proposal: job
// ticket, bag tags and packing list. Writing them again gives the same files.
func (a *app) writePapers(b *books.Books, p *reorder.Proposal, papers []message.Part) error {
	dir, err := b.WriteJob(books.JobDir(p.Number, p.Client), papers)
	if err != nil {
		return err
	}
	fmt.Fprintf(a.out, "Papers for the press are in %s.\n", dir)
	return nil
}

// papersAgain writes the papers of a proposal that is on its way.
func (a *app) papersAgain(ctx context.Context, b *books.Books, number int64) error {
	p, err := b.Store.Proposal(ctx, number)
	if err != nil {
		return err
	}
	if !p.State.Coming() && p.State != reorder.Received {
		return fmt.Errorf("proposal %d is %s; papers for the press are written once it is accepted", number, p.State)
	}
	client, err := b.Client(ctx, p.Client)
	if err != nil {
		return err
	}
	job, err := answer.JobOf(b.Store.View(ctx), b.Home, b.Shop, client, &p)
	if err != nil {
		return err
	}
	mail, err := message.ComposeJob(job)
	if err != nil {
		return err
	}
	return a.writePapers(b, &p, mail.Attachments)
}
