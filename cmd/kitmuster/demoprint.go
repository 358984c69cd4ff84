package main

import (
	"fmt"
	"io"
	"path/filepath"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/round"
	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/simulate"
)

// printDemo tells the story of the folder that was made.
func printDemo(w io.Writer, b *books.Books, world *simulate.World, plan *round.Plan, mails []mailFile) {
	fmt.Fprintf(w, "%s, a shop of our own invention, now lives in %s.\n", b.Shop.Name, b.Home)
	fmt.Fprintf(w, "It looks after the work clothes of seven clients. Two years of records were handed over:\n\n")
	printDemoClients(w, world, plan)
	fmt.Fprintln(w)
	printRound(w, b.Shop, plan)
	fmt.Fprintf(w, "\nNothing was sent or ordered. %d mails lie in %s. Open these in a browser:\n\n", len(mails),
		filepath.Join(b.Home, books.MailDir))
	printDemoMails(w, b.Home, mails)
	printDemoNext(w, b.Home, plan)
}

func printDemoClients(w io.Writer, world *simulate.World, plan *round.Plan) {
	t := page.Table{Columns: page.Columns("Client", "Trade", "#Staff", "#Pieces in service", "#Endings on record",
		"#Ledger rows")}
	entries := map[string]*round.Entry{}
	for i := range plan.Entries {
		entries[plan.Entries[i].Client.Code] = &plan.Entries[i]
	}
	for i := range world.Cases {
		c := &world.Cases[i]
		e := entries[c.Client.Code]
		t.Row(c.Client.Name, c.Client.Trade, len(programme.Roster(c.Roster).On(world.AsOf)), e.InService,
			e.Evidence.Replaced(), len(c.Ledger))
	}
	show(w, t)
}

// printDemoMails names the owner's mail first, then one of each other kind.
func printDemoMails(w io.Writer, home string, mails []mailFile) {
	what := map[string]string{
		"round":    "what the owner reads on Monday morning",
		"reorder":  "what a client manager forwards to the client",
		"count":    "the form on which a client counts what is still presentable",
		"supplier": "an order ready to go to a supplier",
	}
	seen := map[string]bool{}
	for _, m := range mails {
		if seen[m.kind] || what[m.kind] == "" {
			continue
		}
		seen[m.kind] = true
		fmt.Fprintf(w, "  %s\n      %s\n", filepath.Join(home, m.page), what[m.kind])
	}
}

func printDemoNext(w io.Writer, home string, plan *round.Plan) {
	client := plan.Entries[0].Client.Code
	number := int64(0)
	for i := range plan.Entries {
		if p := plan.Entries[i].Proposal; p != nil {
			client, number = p.Client, p.Number
			break
		}
	}
	fmt.Fprintf(w, "\nThen look around (its records end on %s, so look from that day):\n\n", plan.AsOf)
	show := func(command, says string) {
		fmt.Fprintf(w, "  kitmuster --home %s %s\n      %s\n", home, command, says)
	}
	show("muster "+client+" --as-of "+plan.AsOf.String(), "what its people hold, and what will be needed")
	if number > 0 {
		show(fmt.Sprintf("proposal show %d", number), "one reorder with the reason behind every number")
	}
	show("wear "+client+" --as-of "+plan.AsOf.String()+" --pictures pictures",
		"how long its garments last: by the starting figures, and by its records")
	show("replay "+client+" --picture replay.png", "what the forecast would have said on past dates, against what came")
}
