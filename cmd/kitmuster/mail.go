package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"path/filepath"
	"strconv"
	"time"

	"github.com/spf13/cobra"

	"github.com/kitmuster/kitmuster/daemon"
	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/delivery"
	"github.com/kitmuster/kitmuster/daemon/lock"
	"github.com/kitmuster/kitmuster/notify/folder"
	"github.com/kitmuster/kitmuster/notify/outbox"
	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/notify/wholefile"
	"github.com/kitmuster/kitmuster/programme"
)

func newMailCommand(a *app) *cobra.Command {
	c := group("mail", "Look at the outbox, and send what waits in it", "  kitmuster mail list")
	c.AddCommand(newMailListCommand(a), newMailPreviewCommand(a), newMailFlushCommand(a), newMailAgainCommand(a),
		newMailDropCommand(a),
		newMailAnswersCommand(a), newMailReadCommand(a), newMailDoneCommand(a), newMailTakeCommand(a),
		newMailNewKeyCommand(a))
	return c
}

// mailRow is the JSON shape of one delivery.
type mailRow struct {
	Number    int64      `json:"number"`
	Way       string     `json:"way"`
	MessageID string     `json:"message_id"`
	Kind      string     `json:"kind"`
	Client    string     `json:"client"`
	To        string     `json:"to"`
	Subject   string     `json:"subject"`
	State     string     `json:"state"`
	Attempts  int        `json:"attempts"`
	Unsure    bool       `json:"unsure"`
	NextTry   *time.Time `json:"next_try,omitempty"`
	Settled   *time.Time `json:"settled,omitempty"`
	Answer    string     `json:"answer,omitempty"`
}

func newMailListCommand(a *app) *cobra.Command {
	var all, asJSON bool
	c := &cobra.Command{
		Use:   "list",
		Short: "List the mails that wait; with --all the delivered ones too",
		Long: `Lists the mails that wait to be sent, newest first: to whom, how often they were tried,
and what the server said. With --all it lists the last 200 that were settled as well.
It sends nothing.

Next: 'kitmuster mail preview N' shows a mail, 'kitmuster mail flush' sends what waits.`,
		Example: "  kitmuster mail list --all",
		RunE: a.onBooks(func(ctx context.Context, b *books.Books, _ []string) error {
			list, err := b.Store.Postings(ctx, !all, 200)
			if err != nil {
				return err
			}
			if asJSON {
				return writeJSON(a.out, map[string]any{"format": 1, "mails": mailRows(list)})
			}
			printMails(a.out, list, all)
			return nil
		}),
	}
	c.Flags().BoolVar(&all, "all", false, "list settled mails too")
	jsonFlag(c, &asJSON)
	return c
}

func mailRows(list []outbox.Posting) []mailRow {
	rows := make([]mailRow, len(list))
	for i := range list {
		p := &list[i]
		rows[i] = mailRow{p.ID, string(p.Way), p.MessageID, p.Kind, p.Client, p.Recipient, p.Subject, string(p.State),
			p.Attempts, p.Unsure > 0, nil, nil, p.Answer}
		switch p.State {
		case outbox.Waiting:
			rows[i].NextTry = &p.NextTry
		case outbox.Held:
		case outbox.Accepted, outbox.Refused, outbox.GivenUp, outbox.Dropped:
			rows[i].Settled = &p.Settled
		}
	}
	return rows
}

func printMails(w io.Writer, list []outbox.Posting, all bool) {
	t := page.Table{Columns: page.Columns("#No.", "State", "To", "Subject", "#Tries", "Answer"),
		Empty: "No mail waits. 'kitmuster mail list --all' shows those that were settled."}
	if all {
		t.Empty = "There are no mails yet; 'kitmuster round' makes them."
	}
	for i := range list {
		p := &list[i]
		t.Row(p.ID, stateOf(p), p.Recipient, p.Subject, p.Attempts, p.Answer)
	}
	show(w, t)
}

// stateOf returns the state of a delivery in words; a draft or paper is written, not delivered.
func stateOf(p *outbox.Posting) string {
	switch {
	case p.Way != outbox.Post && p.State == outbox.Accepted:
		return string(p.Way) + ", written"
	case p.Way != outbox.Post:
		return string(p.Way) + ", " + string(p.State)
	case p.State == outbox.Held:
		return "waits for you: perhaps delivered"
	case p.Unsure > 0 && p.State == outbox.Waiting:
		return string(p.State) + ", perhaps delivered"
	}
	return string(p.State)
}

func newMailPreviewCommand(a *app) *cobra.Command {
	page := ""
	c := &cobra.Command{
		Use:   "preview N",
		Short: "Show a mail as it will be read",
		Long: `Shows the plain text of mail N. With --page it writes the mail as a page for the
browser, its pictures inside. It sends nothing.`,
		Example: "  kitmuster mail preview 3\n  kitmuster mail preview 3 --page mail.html",
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.withLetter(cmd.Context(), args[0],
				func(_ context.Context, _ *books.Books, l *outbox.Letter) error {
					if len(l.Bytes) == 0 {
						return fmt.Errorf("the text of mail %d is not kept any more: mail.keep_days of config.yaml says for how long", l.ID)
					}
					if page == "" {
						text, err := folder.Text(l.Bytes)
						if err != nil {
							return err
						}
						_, err = fmt.Fprintf(unfolded(a.out), "Subject: %s\n\n%s", l.Subject, text)
						return err
					}
					html, err := folder.Preview(l.Bytes)
					if err != nil {
						return err
					}
					if err := wholefile.Write(page, html); err != nil {
						return fmt.Errorf("write the page: %w", err)
					}
					fmt.Fprintf(a.out, "Open %s in a browser.\n", page)
					return nil
				})
		},
	}
	c.Flags().StringVar(&page, "page", "", "file to write the mail to, as a page for the browser")
	return c
}

func (a *app) withLetter(ctx context.Context, number string,
	f func(context.Context, *books.Books, *outbox.Letter) error) error {
	n, err := strconv.ParseInt(number, 10, 64)
	if err != nil {
		return usagef("N is %q; give the number that 'kitmuster mail list --all' shows", number)
	}
	return a.withBooks(ctx, func(ctx context.Context, b *books.Books) error {
		l, ok, err := b.Store.Letter(ctx, n)
		if err != nil {
			return err
		}
		if !ok {
			return fmt.Errorf("there is no mail %d; 'kitmuster mail list --all' shows the mails", n)
		}
		return f(ctx, b, &l)
	})
}

func newMailAgainCommand(a *app) *cobra.Command {
	return &cobra.Command{
		Use:   "again N",
		Short: "Send a mail once more that was refused or given up, or that may have arrived",
		Long: `Puts mail N back into the outbox for those recipients to whom it was refused, given up,
or sent several times without an answer of the server. Who had it gets no second one.
It is the same mail, to the byte; who has it already may see it twice.

Next: 'kitmuster mail flush' sends it now; the service does within a minute.`,
		Example: "  kitmuster mail again 3",
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.withLetter(cmd.Context(), args[0],
				func(ctx context.Context, b *books.Books, l *outbox.Letter) error {
					n, err := b.Store.Again(ctx, l.ID)
					if err != nil {
						return err
					}
					if n == 0 {
						return fmt.Errorf("mail %d was neither refused nor given up, or its text is not kept any more; 'kitmuster mail list --all' says how it stands", l.ID)
					}
					fmt.Fprintf(a.out, "Mail %d is sent once more to %s.\n", l.ID, programme.NumberOf(n, "recipient"))
					return nil
				})
		},
	}
}

func newMailDropCommand(a *app) *cobra.Command {
	return &cobra.Command{
		Use:   "drop N",
		Short: "Take a mail that waits out of the outbox, so that it is not sent",
		Long: `Takes mail N out of the outbox. Recipients that have it already keep it, and its
proposal stays as it is.`,
		Example: "  kitmuster mail drop 3",
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.withLetter(cmd.Context(), args[0],
				func(ctx context.Context, b *books.Books, l *outbox.Letter) error {
					n, err := b.Store.Drop(ctx, l.ID)
					if err != nil {
						return err
					}
					if n == 0 {
						return fmt.Errorf("mail %d does not wait any more", l.ID)
					}
					fmt.Fprintf(a.out, "Mail %d will not be sent.\n", l.ID)
					return nil
				})
		},
	}
}

func newMailFlushCommand(a *app) *cobra.Command {
	return &cobra.Command{
		Use:   "flush",
		Short: "Send what waits now, and try a refused login again",
		Long: `Makes every mail that waits due now. Where a refused login had stopped all sending,
the login is tried again. Where the service runs, it sends them within a minute;
otherwise they are sent here. Without a mail server in config.yaml they are written to
the mail folder.`,
		Example: "  kitmuster mail flush",
		RunE: func(cmd *cobra.Command, _ []string) error {
			_, cfg, err := a.settings()
			if err != nil {
				return err
			}
			return a.withBooks(cmd.Context(), func(ctx context.Context, b *books.Books) error {
				waiting, err := b.Store.TryNow(ctx)
				if err != nil {
					return err
				}
				if waiting == 0 {
					fmt.Fprintln(a.out, "No mail waits.")
					return nil
				}
				l, err := lock.Take(filepath.Join(a.home, lock.FileName), "kitmuster mail flush", a.now())
				if errors.Is(err, lock.ErrHeld) {
					fmt.Fprintf(a.out, "%d mails are due now; the service sends them within a minute.\n", waiting)
					return nil
				}
				if err != nil {
					return err
				}
				c := daemon.Courier(a.home, cfg, b.Store, daemon.Sender(a.home, cfg), a.now)
				c.Log = slog.New(slog.DiscardHandler)
				err = a.sendAll(ctx, c, waiting)
				return errors.Join(err, l.Release())
			})
		},
	}
}

// sendAll sends until nothing is due, keeping to the allowed number a minute.
func (a *app) sendAll(ctx context.Context, c *delivery.Courier, waiting int) error {
	var sum delivery.Report
	for ctx.Err() == nil {
		r, err := c.Run(ctx)
		if err != nil {
			return err
		}
		sum.Smaller += r.Smaller
		sum.Accepted, sum.PutOff, sum.Refused, sum.Written = sum.Accepted+r.Accepted, sum.PutOff+r.PutOff,
			sum.Refused+r.Refused, sum.Written+r.Written
		if r.Held {
			return fmt.Errorf("%d of %d mails were delivered, then sending stopped: %s", sum.Accepted, waiting, r.Why)
		}
		if r.Unwritten != "" {
			return errors.New(r.Unwritten)
		}
		if sum.Accepted+sum.PutOff+sum.Refused+sum.Written >= waiting {
			break
		}
		select { // the rest is over the limit of this minute
		case <-ctx.Done():
		case <-time.After(5 * time.Second):
		}
	}
	fmt.Fprintf(a.out, "%d mails delivered, %d put off by the server, %d refused.\n", sum.Accepted, sum.PutOff,
		sum.Refused)
	if sum.Smaller > 0 {
		fmt.Fprintf(a.out, "%d were too large: their largest files are in %s, and the mails name them.\n", sum.Smaller,
			filepath.Join(a.home, books.PapersDir))
	}
	if sum.Written > 0 {
		fmt.Fprintf(a.out, "%s written for you to send or open.\n", programme.NumberOf(sum.Written, "file"))
	}
	if sum.Refused > 0 {
		return errors.New("some mails were refused; 'kitmuster mail list --all' shows why")
	}
	return ctx.Err()
}
