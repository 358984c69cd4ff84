package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"slices"
	"time"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/delivery"
	"github.com/kitmuster/kitmuster/daemon/handover"
	"github.com/kitmuster/kitmuster/daemon/round"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/folder"
	"github.com/kitmuster/kitmuster/notify/outbox"
	"github.com/kitmuster/kitmuster/programme/simulate"
)

// handOver takes the written files into the books as the commands do.
func handOver(ctx context.Context, b *books.Books, clients []string) error {
	for _, code := range clients {
		text, err := os.ReadFile(filepath.Join(b.Home, books.ProgrammesDir, code+".yaml"))
		if err != nil {
			return err
		}
		if err := b.Store.InTx(ctx, func(tx *store.Tx) error { return tx.PutClient(code, text) }); err != nil {
			return err
		}
	}
	opt := handover.Options{AsOf: demoDay}
	for _, code := range clients {
		err := handFile(b.Home, rosterFile(code), func(file string, data []byte) (*handover.Report, error) {
			return handover.Roster(ctx, b, code, file, data, opt)
		})
		if err != nil {
			return err
		}
		err = handFile(b.Home, ledgerFile(code), func(file string, data []byte) (*handover.Report, error) {
			return handover.Ledger(ctx, b, code, file, data, opt)
		})
		if err != nil {
			return err
		}
	}
	return handFile(b.Home, stockFile, func(file string, data []byte) (*handover.Report, error) {
		return handover.Stock(ctx, b, file, data, opt)
	})
}

func handFile(home, name string, take func(file string, data []byte) (*handover.Report, error)) error {
	data, err := os.ReadFile(filepath.Join(home, name))
	if err != nil {
		return err
	}
	_, err = take(name, data)
	return err
}

// demoMorning returns when the demo's round runs: seven in the morning at the shop.
func demoMorning(zone *time.Location) time.Time {
	d := demoDay.Time()
	return time.Date(d.Year(), d.Month(), d.Day(), 7, 0, 0, 0, zone)
}

func (a *app) demoRound(ctx context.Context, b *books.Books, w *simulate.World) error {
	var codes []string
	for i := range w.Cases {
		codes = append(codes, w.Cases[i].Client.Code)
	}
	if err := handOver(ctx, b, codes); err != nil {
		return fmt.Errorf("hand the demo's files over: %w", err)
	}
	res, err := round.Run(ctx, b, round.Options{AsOf: demoDay, Now: demoMorning(b.Zone())})
	if err != nil {
		return err
	}
	files, err := a.mailsToFolder(ctx, b)
	if err != nil {
		return err
	}
	printDemo(a.out, b, w, res.Plan, files)
	return nil
}

// mailFile is a mail in the folder.
type mailFile struct {
	kind, page string
}

// mailsToFolder writes what waits in the outbox as files and returns the mails, oldest first.
func (a *app) mailsToFolder(ctx context.Context, b *books.Books) ([]mailFile, error) {
	courier := delivery.Courier{Store: b.Store, Sender: folder.New(filepath.Join(b.Home, books.MailDir)),
		Drafts: folder.Drafts(filepath.Join(b.Home, books.DraftsDir)),
		Papers: folder.Papers(filepath.Join(b.Home, books.PapersDir)), Policy: outbox.DefaultPolicy(), Now: a.now,
		Log: slog.New(slog.DiscardHandler)}
	report, err := courier.Run(ctx)
	if err != nil {
		return nil, err
	}
	if why := cmp.Or(report.Why, report.Unwritten); why != "" {
		return nil, errors.New(why)
	}
	list, err := b.Store.Postings(ctx, false, report.Accepted+report.Written)
	var files []mailFile
	for i := range slices.Backward(list) {
		if p := &list[i]; p.Way == outbox.Post {
			files = append(files, mailFile{p.Kind,
				filepath.Join(books.MailDir, folder.FileName(&p.Letter, p.Recipient)+".html")})
		}
	}
	return files, err
}
