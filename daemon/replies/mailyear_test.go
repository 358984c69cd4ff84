package replies_test

import (
	"bytes"
	"context"
	"encoding/base64"
	"encoding/csv"
	"fmt"
	"log/slog"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"github.com/kitmuster/kitmuster/daemon/answer"
	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/books/bookstest"
	"github.com/kitmuster/kitmuster/daemon/dropfolder"
	"github.com/kitmuster/kitmuster/daemon/handover"
	"github.com/kitmuster/kitmuster/daemon/record"
	"github.com/kitmuster/kitmuster/daemon/replies"
	"github.com/kitmuster/kitmuster/daemon/round"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/daemon/supply"
	"github.com/kitmuster/kitmuster/notify/inbox"
	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/notify/outbox"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
	"github.com/kitmuster/kitmuster/programme/simulate"
)

// mailYear is a customer who does everything by mail, and a shop that only hands over.
type mailYear struct {
	t      *testing.T
	b      *books.Books
	d      *replies.Desk
	rng    *rand.Rand
	day    programme.Date
	client string
	from   string
	seen   int64 // letters read
	mails  int
	sent   [][]byte // by the customer

	said      map[int64]reorder.State // what the customer last said, where it was plain
	did       map[string]int
	worn      int
	counted   int
	newcomers []string
}

func (y *mailYear) now() time.Time { return y.day.Time().Add(10 * time.Hour) }

// Take takes files as the daemon does, on the day of the year.
func (y *mailYear) Take(ctx context.Context, n dropfolder.Name, file string, data []byte) (string, error) {
	take := map[dropfolder.Kind]func(context.Context, *books.Books, string, string, []byte, handover.Options) (*handover.Report, error){
		dropfolder.Roster: handover.Roster, dropfolder.Counts: handover.Ledger, dropfolder.Days: record.DaySheet,
	}[n.Kind]
	r, err := take(ctx, y.b, n.Client, file, data, handover.Options{AsOf: y.day})
	if err != nil {
		return "", &dropfolder.Refusal{Err: err}
	}
	return fmt.Sprintf("%d new.", r.New), nil
}

func newMailYear(t *testing.T) *mailYear {
	t.Helper()
	ctx := context.Background()
	w := simulate.NewWorld(monday, simulate.Seed(1))
	slices.SortFunc(w.Cases, func(a, b simulate.Case) int { return len(a.Roster) - len(b.Roster) })
	c := &w.Cases[0]
	c.Client.DaySheets, c.Client.CountsByThemselves, c.Client.CountEveryWeeks = programme.WeeklyDaySheets, true, 4
	c.Client.Budget, c.Client.Approver, c.Client.Contacts = 0, programme.Contact{}, nil
	c.Client.ByMail.DaySheets = []string{c.Client.Customer.Email}
	home := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(home, "config.yaml"),
		[]byte("replies:\n  address: answers@shop.example\n"), 0o600))
	y := &mailYear{t: t, rng: rand.New(rand.NewPCG(5, 19)), day: monday, client: c.Client.Code,
		from: c.Client.Customer.Email, said: map[int64]reorder.State{}, did: map[string]int{}}
	st, err := store.Open(ctx, filepath.Join(home, books.DatabaseFile), store.Options{Now: y.now})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, st.Close()) })
	y.b = books.With(home, &w.Shop, st)
	require.NoError(t, st.InTx(ctx, func(tx *store.Tx) error { return bookstest.Put(tx, c) }))
	keys, err := y.b.Keys()
	require.NoError(t, err)
	y.d = &replies.Desk{Books: y.b, Keys: keys, Trust: inbox.Trust{Server: "mx.shop.example"}, From: y.b.Shop.Owner,
		Files: y, Now: y.now, Log: slog.New(slog.DiscardHandler)}
	return y
}

// send writes a mail from the customer, and has it read.
func (y *mailYear) send(headers, subject, text, file string, data []byte) store.Reply {
	y.t.Helper()
	y.mails++
	var b bytes.Buffer
	_, domain, _ := strings.Cut(y.from, "@")
	fmt.Fprintf(&b, "Authentication-Results: mx.shop.example; dmarc=pass header.from=%s\r\n%sFrom: %s\r\nTo: answers@shop.example\r\nSubject: %s\r\nDate: %s\r\nMessage-ID: <%d@%s>\r\nMIME-Version: 1.0\r\n",
		domain, headers, y.from, subject, y.now().Format(time.RFC1123Z), y.mails, domain)
	fmt.Fprintf(&b, "Content-Type: multipart/mixed; boundary=part\r\n\r\n--part\r\nContent-Type: text/plain; charset=utf-8\r\n\r\n%s\r\n", text)
	if file != "" {
		fmt.Fprintf(&b, "--part\r\nContent-Type: application/octet-stream\r\nContent-Transfer-Encoding: base64\r\nContent-Disposition: attachment; filename=\"%s\"\r\n\r\n%s\r\n",
			file, base64.StdEncoding.EncodeToString(data))
	}
	b.WriteString("--part--\r\n")
	y.sent = append(y.sent, b.Bytes())
	return take(y.t, y.d, b.Bytes())
}

var marks = regexp.MustCompile(`\[([pcdr][0-9]+\.[0-9]+\.[a-z2-7]{16})\]`)

// letters returns what went out since they were last looked at, as the customer reads it.
func (y *mailYear) letters() (out []outbox.Letter, read []*inbox.Letter) {
	y.t.Helper()
	for {
		l, ok, err := y.b.Store.Letter(context.Background(), y.seen+1)
		require.NoError(y.t, err)
		if !ok {
			return out, read
		}
		y.seen++
		r, err := inbox.Read(l.Bytes, inbox.DefaultLimits)
		require.NoError(y.t, err)
		out, read = append(out, l), append(read, r)
	}
}

func (y *mailYear) monday() {
	y.t.Helper()
	_, err := round.Run(context.Background(), y.b, round.Options{AsOf: y.day, Now: y.now(), From: y.b.Shop.Owner})
	require.NoError(y.t, err)
	letters, read := y.letters()
	y.day++
	for i := range letters {
		mark := ""
		if m := marks.FindStringSubmatch(read[i].Text); m != nil {
			mark = m[1]
		}
		switch l := &letters[i]; {
		case l.Kind == string(message.KindReorder) && l.Way == outbox.Draft:
			y.answer(l, read[i], mark)
		case l.Kind == string(message.KindCount):
			y.count(read[i], mark)
		case l.Kind == string(message.KindDaySheet):
			y.daySheet(l, read[i], mark)
		}
	}
	if y.rng.IntN(4) == 0 {
		y.starter()
	}
	if y.rng.IntN(5) == 0 {
		y.countForm()
	}
}

// countForm is a count form as a round sends it, of some of what people hold, and its
// return: whether a round asks for one at all depends on what it would save.
func (y *mailYear) countForm() {
	y.t.Helper()
	ctx := context.Background()
	client, err := y.b.Client(ctx, y.client)
	require.NoError(y.t, err)
	d, err := round.DaySheet(ctx, y.b, client, y.day)
	require.NoError(y.t, err)
	form := message.CountForm{Shop: y.b.Shop, Client: client, AsOf: y.day, ReturnBy: y.day + 10}
	for _, r := range d.Rows {
		if r.OnRecord > 0 && r.Person.ActiveOn(y.day) && len(form.Rows) < 10 {
			form.Rows = append(form.Rows, r)
		}
	}
	form.ReturnTo, err = y.b.ListTo(ctx, inbox.ToCount, y.client, y.day)
	require.NoError(y.t, err)
	m, err := message.ComposeCount(form)
	require.NoError(y.t, err)
	raw, err := m.Bytes(message.Envelope{From: y.b.Shop.Owner, Date: y.now(),
		MessageID: fmt.Sprintf("count-%s@shop.example", y.day)})
	require.NoError(y.t, err)
	read, err := inbox.Read(raw, inbox.DefaultLimits)
	require.NoError(y.t, err)
	y.count(read, marks.FindStringSubmatch(read.Text)[1])
}

// answer says something to the form that came.
func (y *mailYear) answer(l *outbox.Letter, read *inbox.Letter, mark string) {
	y.t.Helper()
	require.NotEmpty(y.t, mark, "a form without a mark cannot be answered")
	before := stateOf(y.t, y.d, l.Proposal)
	if y.rng.IntN(3) == 0 {
		r := y.send("Auto-Submitted: auto-replied\r\n", "Out of office: ["+mark+"]", "Yes, I am away until Monday.", "",
			nil)
		require.Equal(y.t, store.ReplyIgnored, r.State)
		require.Equal(y.t, before, stateOf(y.t, y.d, l.Proposal))
		y.did["out of office"]++
	}
	var r store.Reply
	want := reorder.Accepted
	switch y.rng.IntN(8) {
	case 0:
		r, want = y.send("", fmt.Sprintf("Not now: proposal %d [%s]", l.Proposal, mark), "Not now, thank you.", "",
			nil), reorder.PutOff
	case 1:
		r, want = y.send("", "Re: your proposal ["+mark+"]", "No thanks.\r\nThe season is over.", "", nil),
			reorder.Declined
	case 2, 3:
		name, list := y.changed(read)
		r = y.send("", "Changes ["+mark+"]", fmt.Sprintf("Yes to proposal %d, with these changes:", l.Proposal), name,
			list)
	default:
		r = y.send("", "Re: Uniforms ["+mark+"]",
			"Yes, please go ahead.\r\n\r\nThanks\r\n\r\nOn Monday the shop wrote:\r\n> Not now", "", nil)
	}
	switch r.State {
	case store.ReplyDone:
		y.said[l.Proposal] = want
		y.did[string(want)]++
		require.Equal(y.t, want, stateOf(y.t, y.d, l.Proposal))
	case store.ReplyAsked: // a person decides; nothing has happened
		y.did["asked"]++
		require.Equal(y.t, before, stateOf(y.t, y.d, l.Proposal), r.Why)
	default:
		require.Fail(y.t, "an honest answer is taken or asked", "%s: %s", r.State, r.Why)
	}
}

// changed is the attached list with one piece less in a row of several.
func (y *mailYear) changed(l *inbox.Letter) (string, []byte) {
	y.t.Helper()
	for _, f := range l.Files {
		if filepath.Ext(f.Name) != ".csv" {
			continue
		}
		rows, err := csv.NewReader(bytes.NewReader(bytes.TrimPrefix(f.Data, []byte("\ufeff")))).ReadAll()
		require.NoError(y.t, err)
		at := slices.IndexFunc(rows[0], func(s string) bool { return strings.EqualFold(s, "pieces") })
		require.GreaterOrEqual(y.t, at, 0)
		for _, row := range rows[1:] {
			if n, err := strconv.Atoi(row[at]); err == nil && n > 1 {
				row[at] = strconv.Itoa(n - 1)
				break
			}
		}
		var b bytes.Buffer
		require.NoError(y.t, csv.NewWriter(&b).WriteAll(rows))
		return f.Name, b.Bytes()
	}
	require.Fail(y.t, "no list goes with the form")
	return "", nil
}

// workbook fills cells of a workbook that came: the numbers of a column, row by row.
func (y *mailYear) workbook(l *inbox.Letter, sheet, column string,
	number func(onRecord int) int) (string, []byte, int) {
	y.t.Helper()
	at := slices.IndexFunc(l.Files, func(f inbox.File) bool { return filepath.Ext(f.Name) == ".xlsx" })
	require.GreaterOrEqual(y.t, at, 0)
	book, err := excelize.OpenReader(bytes.NewReader(l.Files[at].Data))
	require.NoError(y.t, err)
	rows, err := book.GetRows(sheet)
	require.NoError(y.t, err)
	head := rows[4]
	fill, record := slices.Index(head, column), slices.Index(head, "On record")
	require.GreaterOrEqual(y.t, fill, 0)
	sum := 0
	for i := 5; i < len(rows); i++ {
		if len(rows[i]) <= record || rows[i][record] == "" {
			continue
		}
		held, err := strconv.Atoi(rows[i][record])
		require.NoError(y.t, err)
		if n := number(held); n >= 0 {
			cell, err := excelize.CoordinatesToCellName(fill+1, i+1)
			require.NoError(y.t, err)
			require.NoError(y.t, book.SetCellInt(sheet, cell, int64(n)))
			sum += n
		}
	}
	var b bytes.Buffer
	require.NoError(y.t, book.Write(&b))
	return l.Files[at].Name, b.Bytes(), sum
}

func (y *mailYear) count(l *inbox.Letter, mark string) {
	y.t.Helper()
	rows := 0
	name, data, _ := y.workbook(l, "Count", "Presentable",
		func(held int) int { rows++; return max(0, held-y.rng.IntN(2)) })
	r := y.send("", "Fwd: count ["+mark+"]", "Here it is.", name, data)
	require.Equal(y.t, store.ReplyDone, r.State, r.Why)
	y.counted += rows
	y.did["counts"]++
}

func (y *mailYear) daySheet(l *outbox.Letter, read *inbox.Letter, mark string) {
	y.t.Helper()
	if y.rng.IntN(6) == 0 { // the server has no such address that day
		b := fmt.Sprintf("Return-Path: <>\r\nFrom: MAILER-DAEMON@mx.shop.example\r\nSubject: Undelivered\r\nMIME-Version: 1.0\r\nContent-Type: multipart/report; report-type=delivery-status; boundary=r\r\n\r\n--r\r\nContent-Type: text/plain\r\n\r\nIt failed.\r\n--r\r\nContent-Type: message/delivery-status\r\n\r\nReporting-MTA: dns; mx\r\n\r\nFinal-Recipient: rfc822; %s\r\nAction: failed\r\nStatus: 5.1.1\r\n\r\n--r\r\nContent-Type: text/rfc822-headers\r\n\r\nMessage-ID: <%s>\r\n\r\n--r--\r\n", y.from, l.MessageID)
		r := take(y.t, y.d, []byte(b))
		require.Equal(y.t, store.ReplyDone, r.State, r.Why)
		y.did["bounces"]++
		return
	}
	name, data, worn := y.workbook(read, "Days", "Worn out", func(held int) int {
		if held > 0 && y.rng.IntN(6) == 0 {
			return 1
		}
		return -1
	})
	if worn == 0 {
		return
	}
	for range 1 + y.rng.IntN(2) { // sometimes twice
		r := y.send("", "Re: Day sheet ["+mark+"]", "As every week.", name, data)
		require.Equal(y.t, store.ReplyDone, r.State, r.Why)
		y.day++
	}
	y.worn += worn
	y.did["day sheets"]++
}

func (y *mailYear) starter() {
	y.t.Helper()
	ctx := context.Background()
	client, err := y.b.Client(ctx, y.client)
	require.NoError(y.t, err)
	n := len(y.newcomers) + 1
	id := fmt.Sprintf("N%03d", n)
	list := fmt.Sprintf("staff_id,name,role,start_date\n%s,Person %s,%s,%s\n", id, strings.Repeat("Q", n),
		client.Roles[0].Code, y.day)
	r := y.send("", "New colleague", "Please see the list.", "roster--"+y.client+".csv", []byte(list))
	require.Equal(y.t, store.ReplyDone, r.State, r.Why)
	y.newcomers = append(y.newcomers, id)
}

// shop is what the shop does by hand: it orders, presses and hands over.
func (y *mailYear) shop() {
	y.t.Helper()
	ctx := context.Background()
	o, err := supply.Drafts(ctx, y.b, y.day, supply.Wish{})
	require.NoError(y.t, err)
	if len(o.Orders) > 0 {
		require.NoError(y.t, y.b.Store.InTx(ctx, o.Commit))
		_, err := answer.Sent(ctx, y.b, y.day, nil, false)
		require.NoError(y.t, err)
	}
	list, err := y.b.Store.Proposals(ctx, "", reorder.Ordered)
	require.NoError(y.t, err)
	client, err := y.b.Client(ctx, y.client)
	require.NoError(y.t, err)
	for i := range list {
		if y.day >= list[i].Arrives {
			_, err := answer.Give(ctx, y.b.Store, y.b.Shop, client,
				answer.Answer{Number: list[i].Number, Event: reorder.Receive, Day: y.day, Known: true}, false)
			require.NoError(y.t, err)
		}
	}
}

// A customer says yes, changes lists, refuses, counts, notes, hires and is away, all by
// mail; mails come back and come twice. At the end everything is in the books once.
func TestACustomersYearByMailAlone(t *testing.T) {
	weeks := 16
	if os.Getenv("KITMUSTER_FULL") != "" {
		weeks = 52
	}
	y := newMailYear(t)
	ctx := context.Background()
	for n := range weeks {
		y.day = monday.Add(7 * n)
		y.monday()
		y.day = monday.Add(7*n + 4)
		y.shop()
	}
	t.Logf("%d weeks, %d mails: %v, %d worn, %d counted, %d starters", weeks, y.mails, y.did, y.worn, y.counted,
		len(y.newcomers))
	require.Positive(t, y.did[string(reorder.Accepted)])
	require.Positive(t, y.did["day sheets"])
	require.Positive(t, y.did["counts"])
	require.NotEmpty(t, y.newcomers)
	if weeks > 50 {
		for _, what := range []string{string(reorder.PutOff), string(reorder.Declined), "out of office", "bounces"} {
			require.Positive(t, y.did[what], what)
		}
	}
	y.isRight()

	// All of it once more, as a server that lost its place would hand it over.
	before, entries := y.books()
	for _, raw := range y.sent {
		r := take(t, y.d, append([]byte("Received: from elsewhere by mx; Wed, 4 Mar 2026 10:00:00 +0000\r\n"), raw...))
		require.NotEqual(t, store.ReplyQuarantined, r.State, r.Why)
	}
	again, more := y.books()
	require.Equal(t, before, again, "nothing acts twice")
	require.Equal(t, entries, more)
	_, err := y.b.Store.Replies(ctx, 1, store.ReplyNew)
	require.NoError(t, err)
}

// books are the ledger, the roster and the proposals, and the number of entries.
func (y *mailYear) books() (any, int) {
	y.t.Helper()
	ctx := context.Background()
	moves, err := y.b.Store.Movements(ctx, y.client)
	require.NoError(y.t, err)
	people, err := y.b.Store.People(ctx, y.client)
	require.NoError(y.t, err)
	states := map[int64]reorder.State{}
	list, err := y.b.Store.Proposals(ctx, y.client)
	require.NoError(y.t, err)
	for i := range list {
		states[list[i].Number] = list[i].State
	}
	imports, err := y.b.Store.Imports(ctx, y.client, 10_000)
	require.NoError(y.t, err)
	return []any{moves, people, states}, len(imports)
}

// isRight compares the books with what the customer wrote.
func (y *mailYear) isRight() {
	y.t.Helper()
	ctx := context.Background()
	moves, err := y.b.Store.Movements(ctx, y.client)
	require.NoError(y.t, err)
	worn, counted := 0, 0
	for _, m := range moves {
		switch {
		case strings.HasPrefix(m.Ref, "day-sheet-"):
			worn += m.Pieces
			require.Equal(y.t, programme.Worn, m.Reason)
		case m.Kind == programme.Counted && m.Date >= monday:
			counted++
		}
	}
	require.Equal(y.t, y.worn, worn, "each piece noted ended once")
	require.Equal(y.t, y.counted, counted, "each row counted")
	people, err := y.b.Store.People(ctx, y.client)
	require.NoError(y.t, err)
	for _, id := range y.newcomers {
		_, ok := programme.Roster(people).Find(id)
		require.True(y.t, ok, id)
	}
	for number, said := range y.said {
		state := stateOf(y.t, y.d, number)
		if said == reorder.Accepted {
			require.Contains(y.t, []reorder.State{reorder.Accepted, reorder.Ordered, reorder.Received}, state,
				"proposal %d", number)
		} else {
			require.NotContains(y.t, []reorder.State{reorder.Accepted, reorder.Ordered, reorder.Received}, state,
				"proposal %d", number)
		}
	}
	bad, err := y.b.Store.Replies(ctx, 1000, store.ReplyQuarantined, store.ReplyNew)
	require.NoError(y.t, err)
	require.Empty(y.t, bad)
}
