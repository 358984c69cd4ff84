package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"github.com/kitmuster/kitmuster/daemon"
	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/inbox"
	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/notify/wholefile"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/clean"
)

func newMailTakeCommand(a *app) *cobra.Command {
	var vouched bool
	var on string
	c := &cobra.Command{
		Use:   "take FILE",
		Short: "Take in a mail that a customer answered with",
		Long: `Takes in a mail as a file (.eml), or - for standard input, and does what it says where
that is plain: a yes, a yes with the list attached, not now, no; a filled count form or
a staff list under the name that it went out with. What is not plain is put before you.

A yes counts from an address that the programme names, with the mark that its subject
got from us, and where the mail server or a signature shows that it is genuine. With
--vouched you say yourself that it comes from whom it says.

The service reads the folder for answers by itself: see replies in config.yaml.`,
		Example: "  kitmuster mail take answer.eml\n  kitmuster mail take answer.eml --vouched",
		RunE: a.onBooks(func(ctx context.Context, b *books.Books, args []string) error {
			return a.takeMail(ctx, b, args[0], on, vouched)
		}),
	}
	dayFlag(c, &on, "on", "the day on which it came")
	c.Flags().BoolVar(&vouched, "vouched", false, "you know that it comes from whom it says")
	return c
}

func (a *app) takeMail(ctx context.Context, b *books.Books, path, on string, vouched bool) error {
	raw, name, err := a.readMail(path)
	if err != nil {
		return err
	}
	_, cfg, err := a.settings()
	if err != nil {
		return err
	}
	day, err := a.past(on)
	if err != nil {
		return err
	}
	now := func() time.Time { // by the shop's clock, on that day
		t := a.now().In(b.Zone())
		return t.AddDate(0, 0, day.Sub(programme.DateOf(t)))
	}
	desk, err := daemon.Replies(b, cfg, now, slog.New(slog.DiscardHandler))
	if err != nil {
		return err
	}
	id, isNew, err := b.Store.KeepReply(ctx, name, raw, vouched)
	if err != nil {
		return err
	}
	if _, err := desk.Judge(ctx); err != nil {
		return err
	}
	r, ok, err := b.Store.Reply(ctx, id)
	if err != nil || !ok {
		return err
	}
	if !isNew && !vouched {
		fmt.Fprintln(a.out, "This mail was taken in before.")
	}
	fmt.Fprintf(a.out, "Mail %d: %s: %s.\n", r.ID, replyWords(r.State), strings.TrimSuffix(r.Why, "."))
	if r.State == store.ReplyQuarantined && r.Proposal != 0 {
		fmt.Fprintln(a.out, "If you know that it is real, say so with --vouched.")
	}
	return nil
}

// readMail reads a mail from a file, or from standard input for "-": one byte more than the limit at most, so that
// a mail above the limit is seen to be.
func (a *app) readMail(path string) (raw []byte, name string, err error) {
	in, name := a.in, "standard input"
	if path != "-" {
		f, err := os.Open(path)
		if errors.Is(err, fs.ErrNotExist) {
			return nil, "", fmt.Errorf("there is no file %s", path)
		}
		if err != nil {
			return nil, "", err
		}
		defer func() { _ = f.Close() }()
		in, name = f, filepath.Base(path)
	}
	raw, err = io.ReadAll(io.LimitReader(in, int64(inbox.DefaultLimits.Bytes)+1))
	return raw, name, err
}

// replyWords says what came of a mail.
func replyWords(s store.ReplyState) string {
	switch s {
	case store.ReplyDone:
		return "done"
	case store.ReplyAsked:
		return "waits for you"
	case store.ReplyQuarantined:
		return "put aside"
	case store.ReplyIgnored:
		return "nothing to do"
	case store.ReplyNew:
	}
	return "not read yet"
}

// replyRow is the JSON shape of one mail that came.
type replyRow struct {
	Number   int64  `json:"number"`
	At       string `json:"at"`
	State    string `json:"state"`
	From     string `json:"from"`
	Subject  string `json:"subject"`
	Client   string `json:"client,omitempty"`
	Proposal int64  `json:"proposal,omitempty"`
	Why      string `json:"why"`
}

func newMailAnswersCommand(a *app) *cobra.Command {
	var all, asJSON bool
	c := &cobra.Command{
		Use:   "answers",
		Short: "List the mails that came and wait for you; with --all every one",
		Long: `Lists the mails that came back and that a person must look at, the newest first, each
with the reason: it is not plain what is meant, or it could not be believed. With
--all it lists the last 200, whatever came of them.

Next: 'kitmuster mail read N' shows one; what it means is entered like any answer, such
as 'kitmuster proposal accept'; then 'kitmuster mail done N' takes it off this list.`,
		Example: "  kitmuster mail answers --all",
		RunE: a.onBooks(func(ctx context.Context, b *books.Books, _ []string) error {
			states := []store.ReplyState{store.ReplyAsked, store.ReplyQuarantined}
			if all {
				states = nil
			}
			list, err := b.Store.Replies(ctx, 200, states...)
			if err != nil {
				return err
			}
			if asJSON {
				rows := make([]replyRow, len(list))
				for i, r := range list {
					rows[i] = replyRow{r.ID, r.At.In(b.Zone()).Format("2006-01-02T15:04"), string(r.State), r.Sender,
						r.Subject, r.Client, r.Proposal, r.Why}
				}
				return writeJSON(a.out, map[string]any{"format": 1, "answers": rows})
			}
			t := page.Table{Columns: page.Columns("#No.", "Came", "State", "From", "Subject", "Why"),
				Empty: "No mail that came waits for you."}
			for i := range list {
				r := &list[i]
				t.Row(r.ID, b.Shop.DateStyle.Moment(r.At.In(b.Zone())), replyWords(r.State), r.Sender,
					r.Subject, r.Why)
			}
			show(a.out, t)
			if len(list) > 0 && !all {
				fmt.Fprintln(a.out, "\n'kitmuster mail read N' shows one; 'kitmuster mail done N' takes it off this list.")
			}
			return nil
		}),
	}
	c.Flags().BoolVar(&all, "all", false, "list those that are done or say nothing, too")
	jsonFlag(c, &asJSON)
	return c
}

func newMailDoneCommand(a *app) *cobra.Command {
	return &cobra.Command{
		Use:   "done N ...",
		Short: "Say that mails that waited for you are dealt with",
		Long: `Takes mails off the list of those that wait for you: what they mean is entered, or
nothing follows from them. They stay on record: 'kitmuster mail answers --all' lists them.`,
		Example: "  kitmuster mail done 3\n  kitmuster mail done 3 4",
		Args:    cobra.MinimumNArgs(1),
		RunE: a.onBooks(func(ctx context.Context, b *books.Books, args []string) error {
			numbers := make([]int64, len(args))
			for i := range args {
				n, err := readNumber(args[i])
				if err != nil {
					return err
				}
				numbers[i] = n
			}
			err := b.Store.InTx(ctx, func(tx *store.Tx) error {
				for _, n := range numbers {
					ok, err := tx.DealWithReply(n, "dealt with by hand")
					if err != nil {
						return err
					}
					if !ok {
						return fmt.Errorf("mail %d does not wait for you; 'kitmuster mail answers' lists those that do. Nothing was changed",
							n)
					}
				}
				return nil
			})
			if err != nil {
				return err
			}
			for _, n := range numbers {
				fmt.Fprintf(a.out, "Mail %d is dealt with.\n", n)
			}
			return nil
		}),
	}
}

func newMailReadCommand(a *app) *cobra.Command {
	var into string
	c := &cobra.Command{
		Use:   "read N",
		Short: "Show a mail that came",
		Long: `Shows who a mail that came is from, what came of it and why, and its text. With --save
the files attached to it are written into a folder, to be mended and handed over; no
file is written over.`,
		Example: "  kitmuster mail read 3\n  kitmuster mail read 3 --save .",
		RunE: a.onBooks(func(ctx context.Context, b *books.Books, args []string) error {
			number, err := readNumber(args[0])
			if err != nil {
				return err
			}
			r, ok, err := b.Store.Reply(ctx, number)
			if err != nil {
				return err
			}
			if !ok {
				return fmt.Errorf("no mail that came has the number %d; 'kitmuster mail answers --all' lists them",
					number)
			}
			return a.showReply(b, &r, into)
		}),
	}
	c.Flags().StringVar(&into, "save", "", "write the attached files into this folder")
	return c
}

// showReply shows a mail, and writes its files into a folder where one is named.
func (a *app) showReply(b *books.Books, r *store.Reply, into string) error {
	fmt.Fprintf(a.out, "Mail %d came on %s: %s: %s.\n", r.ID, b.Shop.DateStyle.Moment(r.At.In(b.Zone())),
		replyWords(r.State), strings.TrimSuffix(r.Why, "."))
	if len(r.Bytes) == 0 {
		fmt.Fprintln(a.out, "Its text is no longer kept.")
		return nil
	}
	l, err := inbox.Read(r.Bytes, inbox.DefaultLimits)
	if err != nil {
		fmt.Fprintf(a.out, "It cannot be shown: %v.\n", err)
		return nil
	}
	fmt.Fprintf(a.out, "From: %s\nSubject: %s\n", clean.Line(strings.Join(l.From, ", ")), clean.Line(l.Subject))
	for _, f := range l.Files {
		fmt.Fprintf(a.out, "Attached: %s, %d kB\n", clean.Line(f.Name), (len(f.Data)+999)/1000)
	}
	fmt.Fprintln(a.out)
	for line := range strings.Lines(l.Text) {
		fmt.Fprintln(a.out, clean.Line(strings.TrimRight(line, "\r\n")))
	}
	if into == "" {
		return nil
	}
	for i := range l.Files {
		if err := a.saveAttached(into, &l.Files[i]); err != nil {
			return err
		}
	}
	return nil
}

// saveAttached writes an attached file under a name that does no harm, and over no other.
func (a *app) saveAttached(into string, f *inbox.File) error {
	ending := filepath.Ext(f.Name)
	name := clean.FileName(strings.TrimSuffix(f.Name, ending))
	if ending != "" {
		name += "." + clean.FileName(ending)
	}
	path := filepath.Join(into, name)
	err := wholefile.New(path, f.Data)
	if errors.Is(err, fs.ErrExist) {
		return fmt.Errorf("%s is there already, and nothing is written over it; name another folder", path)
	}
	if err != nil {
		return fmt.Errorf("save %s: %w", clean.Line(f.Name), err)
	}
	fmt.Fprintf(a.out, "written  %s\n", path)
	return nil
}

func newMailNewKeyCommand(a *app) *cobra.Command {
	return &cobra.Command{
		Use:   "new-key",
		Short: "Make a new key for the marks of answers by mail",
		Long: `Makes a new key, with which the marks in the subjects of yes links are made from now
on. The key before it goes on counting for mails that are out, the one before that
no longer. Do it when somebody may have seen replies.key, twice where you are sure.`,
		Example: "  kitmuster mail new-key",
		RunE: func(*cobra.Command, []string) error {
			if err := inbox.RenewKeys(filepath.Join(a.home, books.KeyFile)); err != nil {
				return err
			}
			fmt.Fprintln(a.out, "There is a new key; answers to mails of the key before it still count.")
			return nil
		},
	}
}
