package delivery

import (
	"context"
	"fmt"
	"log/slog"
	"path/filepath"
	"time"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/hint"
	"github.com/kitmuster/kitmuster/notify/folder"
	"github.com/kitmuster/kitmuster/notify/outbox"
)

// WriteFiles writes the drafts and papers that wait into the shop's folders; mails are
// left to the service.
func WriteFiles(ctx context.Context, b *books.Books, now func() time.Time) error {
	courier := Courier{
		Store: b.Store, Drafts: folder.Drafts(filepath.Join(b.Home, books.DraftsDir)),
		Papers: folder.Papers(filepath.Join(b.Home, books.PapersDir)),
		Policy: outbox.DefaultPolicy(), Now: now, Log: slog.New(slog.DiscardHandler),
	}
	report, err := courier.Run(ctx)
	if err == nil && report.Unwritten != "" {
		return fmt.Errorf("all is stored, but not all files could be written: %s; they wait%w",
			report.Unwritten, hint.Text{Command: ", and 'kitmuster mail flush' writes them", Desk: " and are written within a minute"})
	}
	return err
}
