package replies

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"strings"

	"github.com/kitmuster/kitmuster/daemon/dropfolder"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/inbox"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/clean"
)

// asked are the lists that tokens ask for.
var asked = map[inbox.Kind]dropfolder.Kind{inbox.ToCount: dropfolder.Counts, inbox.ToDaySheet: dropfolder.Days,
	inbox.ToRoster: dropfolder.Roster}

// deeds maps the kinds of lists that may come by mail to the deeds they ask for; a ledger or the stock comes by no
// mail.
var deeds = map[dropfolder.Kind]Deed{dropfolder.Counts: Counts, dropfolder.Days: DaySheets, dropfolder.Roster: Rosters}

// toList judges a mail whose token asks for a list of a client: a count form, a day
// sheet, a list of staff. Its files go the way of the drop folder.
func (j *judgement) toList(ctx context.Context, w inbox.Written) error {
	client, err := j.clientOf(ctx, w)
	if err != nil {
		return err
	}
	if client == nil {
		return j.close(ctx, store.ReplyQuarantined, "the mark in its subject is not one of ours")
	}
	j.client = client
	if why, ok, err := j.believed(); err != nil {
		return err
	} else if !ok {
		return j.close(ctx, store.ReplyQuarantined, why)
	}
	day, _ := w.Day()
	switch q := inbox.QuestionOf(client.Code, day); {
	case j.today > q.Until:
		return j.close(ctx, store.ReplyAsked, fmt.Sprintf("it answers a mail that counted until %s",
			j.Books.Shop.DateStyle.Date(q.Until)))
	case j.letter.Closed != "":
		return j.close(ctx, store.ReplyAsked, j.letter.Closed)
	}
	return j.takeFiles(ctx, []*programme.Client{client}, asked[w.Kind])
}

// clientOf is the client whose list a token asks for; nil = the token is none of ours.
func (j *judgement) clientOf(ctx context.Context, w inbox.Written) (*programme.Client, error) {
	day, ok := w.Day()
	if !ok {
		return nil, nil
	}
	rows, err := j.Books.Store.Clients(ctx)
	if err != nil {
		return nil, err
	}
	for _, row := range rows {
		if row.ID == w.Number && j.Keys.Good(w.Token, inbox.QuestionOf(row.Code, day), w.Mark) {
			return j.Books.Client(ctx, row.Code)
		}
	}
	return nil, nil
}

// untokened judges a mail that answers no question: an attached file with a name of
// the drop folder's from somebody who may hand it over, else a letter for a person.
func (j *judgement) untokened(ctx context.Context) error {
	clients, err := j.known(ctx)
	if err != nil {
		return err
	}
	if len(clients) == 0 {
		return j.close(ctx, store.ReplyIgnored,
			"it answers no question of ours, and nobody's programme names its sender")
	}
	if len(clients) == 1 {
		j.client = clients[0]
	}
	if why, ok, err := j.believed(); err != nil {
		return err
	} else if !ok {
		return j.close(ctx, store.ReplyQuarantined, why)
	}
	if j.letter.Closed != "" {
		return j.close(ctx, store.ReplyAsked, j.letter.Closed)
	}
	return j.takeFiles(ctx, clients, "")
}

// takeFiles takes in the lists that are attached: by their names, as the drop folder
// does, or, where a token asked for a list, as that. Each is taken whole or not at all.
func (j *judgement) takeFiles(ctx context.Context, clients []*programme.Client, want dropfolder.Kind) error {
	var done []string
	for _, f := range j.letter.Files {
		n, ok := j.nameOf(f.Name, clients, want)
		if !ok {
			continue
		}
		codes := make([]string, len(clients))
		for i, c := range clients {
			codes[i] = c.Code
		}
		at := n.Among(codes)
		if at < 0 || !May(j.Books.Shop, clients[at], j.letter.Sender(), deeds[n.Kind]) {
			return j.notTheirs(ctx, f.Name, want)
		}
		j.client = clients[at]
		report, err := j.Files.Take(ctx, n, f.Name, f.Data)
		if refusal, ok := errors.AsType[*dropfolder.Refusal](err); ok {
			return j.close(ctx, store.ReplyAsked, fmt.Sprintf("the file %s could not be taken in: %s", f.Name,
				refusal.At(fmt.Sprintf("with FILE as 'kitmuster mail read %d --save .' saves it", j.reply.ID))))
		}
		if err != nil {
			return err
		}
		done = append(done, f.Name+": "+report)
	}
	if len(done) == 0 {
		return j.close(ctx, store.ReplyAsked, noList(want))
	}
	return j.Books.Store.InTx(ctx, func(tx *store.Tx) error {
		told := make([]string, len(done))
		for i := range done {
			told[i] = notesLast(done[i])
		}
		what := strings.Join(told, " ")
		if ok, err := j.settle(tx, store.ReplyDone, what); err != nil || !ok {
			return err
		}
		return errors.Join(tx.AddEvent(store.Event{Kind: programme.FileTaken, Client: j.client.Code,
			What: "By mail, " + what}), j.receipt(tx, done))
	})
}

// notesLast puts the report of a file into one line: what it came to, and then its notes.
func notesLast(report string) string {
	file, lines, _ := strings.Cut(report, ": ")
	var sums, notes []string
	for line := range strings.Lines(lines) {
		line = strings.TrimSpace(line)
		if note, ok := strings.CutPrefix(line, dropfolder.NoteMark); ok {
			notes = append(notes, note)
		} else {
			sums = append(sums, line)
		}
	}
	out := file + ": " + strings.Join(sums, " ")
	if len(notes) > 0 {
		out += " " + clean.Sentence(strings.Join(notes, "; ")) + "."
	}
	return out
}

// nameOf says what a file is of; ok is false for pictures, signatures and the like, and
// for lists that come by no mail.
func (j *judgement) nameOf(file string, clients []*programme.Client,
	want dropfolder.Kind) (n dropfolder.Name, ok bool) {
	if n, err := dropfolder.ParseName(file); err == nil {
		return n, deeds[n.Kind] != ""
	}
	switch strings.ToLower(filepath.Ext(file)) {
	case ".csv", ".tsv", ".xlsx":
		return dropfolder.Name{Kind: want, Client: clients[0].Code}, want != ""
	}
	return n, false
}

func (j *judgement) notTheirs(ctx context.Context, file string, want dropfolder.Kind) error {
	if want == "" {
		return j.close(ctx, store.ReplyAsked, fmt.Sprintf("the file %s is not its sender's to hand over", file))
	}
	return j.close(ctx, store.ReplyQuarantined,
		fmt.Sprintf("the programme of %s does not name %s among those who send %s",
			j.client.Name, j.letter.Sender(), deeds[want]))
}

func noList(want dropfolder.Kind) string {
	if want == "" {
		return "it answers no question that we asked, or the mark in its subject is gone"
	}
	return "no list is attached that can be read; it should be a workbook (.xlsx) or a plain list (.csv)"
}
