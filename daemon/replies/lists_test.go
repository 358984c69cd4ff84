package replies_test

import (
	"bytes"
	"context"
	"encoding/base64"
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/dropfolder"
	"github.com/kitmuster/kitmuster/daemon/handover"
	"github.com/kitmuster/kitmuster/daemon/record"
	"github.com/kitmuster/kitmuster/daemon/replies"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/inbox"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/setup"
)

// everyFile takes what the daemon takes.
type everyFile struct{ d *replies.Desk }

func (f everyFile) Take(ctx context.Context, n dropfolder.Name, file string, data []byte) (string, error) {
	take := map[dropfolder.Kind]func() (*handover.Report, error){
		dropfolder.Roster: func() (*handover.Report, error) {
			return handover.Roster(ctx, f.d.Books, n.Client, file, data, handover.Options{AsOf: monday + 1})
		},
		dropfolder.Counts: func() (*handover.Report, error) {
			return handover.Ledger(ctx, f.d.Books, n.Client, file, data, handover.Options{AsOf: monday + 1})
		},
		dropfolder.Days: func() (*handover.Report, error) {
			return record.DaySheet(ctx, f.d.Books, n.Client, file, data, handover.Options{AsOf: monday + 1})
		},
	}[n.Kind]
	r, err := take()
	if err != nil {
		return "", &dropfolder.Refusal{Err: err, Aim: "All the same", Command: "kitmuster import FILE"}
	}
	return dropfolder.NoteMark + "it was read\n" + fmt.Sprintf("%d new.", r.New), nil
}

// withFile is a mail with one attachment.
func withFile(from, subject, name, content string) []byte {
	var b bytes.Buffer
	fmt.Fprintf(&b, "Authentication-Results: mx.quaypress.example; dmarc=pass header.from=%s\r\nFrom: %s\r\nTo: answers@quaypress.example\r\nSubject: %s\r\nDate: Tue, 3 Mar 2026 09:00:00 +0000\r\nMessage-ID: <%s@x.example>\r\nMIME-Version: 1.0\r\n",
		from[bytes.IndexByte([]byte(from), '@')+1:], from, subject,
		base64.RawURLEncoding.EncodeToString([]byte(subject+name)))
	b.WriteString("Content-Type: multipart/mixed; boundary=b\r\n\r\n--b\r\nContent-Type: text/plain\r\n\r\nHere it is.\r\n--b\r\n")
	fmt.Fprintf(&b, "Content-Type: application/octet-stream\r\nContent-Transfer-Encoding: base64\r\nContent-Disposition: attachment; filename=\"%s\"\r\n\r\n%s\r\n--b--\r\n",
		name, base64.StdEncoding.EncodeToString([]byte(content)))
	return b.Bytes()
}

const (
	daysBack  = "Week from,2026-03-02\nName,Garment,Worn out,No.\nAda,polo,1,0001\n"
	countBack = "Counted on,2026-03-02\nName,Garment,Presentable,No.\nAda,polo,2,0001\n"
	staffBack = "staff_id,name,role,start_date,size_top\n0011,Jory Kettlesing,barista,2026-03-02,L\n"
)

// harbourMay changes whom the programme of harbour lists.
func harbourMay(t *testing.T, d *replies.Desk, list programme.ByMail) {
	t.Helper()
	ctx := context.Background()
	client, err := d.Books.Client(ctx, "harbour")
	require.NoError(t, err)
	changed := *client
	changed.ByMail = list
	require.NoError(t, d.Books.Store.InTx(ctx,
		func(tx *store.Tx) error { return tx.PutClient("harbour", setup.WriteClient(&changed)) }))
}

func TestListsThatComeBackByMail(t *testing.T) {
	const tom, pia = "tom@harbourbakeries.example", "pia@harbourbakeries.example"
	for name, c := range map[string]struct {
		kind       inbox.Kind
		day        programme.Date
		from, file string
		content    string
		may        programme.ByMail
		forged     bool
		state      store.ReplyState
		says       string
	}{
		"a day sheet, whatever its name": {kind: inbox.ToDaySheet, from: tom, file: "Scan 3.csv", content: daysBack,
			state: store.ReplyDone, says: "Scan 3.csv: 1 new. It was read."},
		"a count form": {kind: inbox.ToCount, from: tom, file: "count.csv", content: countBack,
			state: store.ReplyDone, says: "count.csv: 1 new."},
		"a list of staff": {kind: inbox.ToRoster, from: tom, file: "staff.csv", content: staffBack,
			state: store.ReplyDone, says: "staff.csv: 1 new."},
		"a list of staff with a day sheet": {kind: inbox.ToDaySheet, from: tom, file: "roster--harbour.csv",
			content: staffBack, state: store.ReplyDone, says: "1 new."},
		"from somebody listed for it": {kind: inbox.ToDaySheet, from: pia, file: "d.csv", content: daysBack,
			may: programme.ByMail{DaySheets: []string{pia}}, state: store.ReplyDone, says: "1 new."},
		"from the customer, not listed": {kind: inbox.ToDaySheet, from: tom, file: "d.csv", content: daysBack,
			may: programme.ByMail{DaySheets: []string{pia}}, state: store.ReplyQuarantined,
			says: "does not name tom@harbourbakeries.example among those who send day sheets"},
		"listed for another list": {kind: inbox.ToCount, from: pia, file: "d.csv", content: countBack,
			may: programme.ByMail{DaySheets: []string{pia}}, state: store.ReplyQuarantined,
			says: "among those who send counts"},
		"from a stranger": {kind: inbox.ToDaySheet, from: "x@elsewhere.example", file: "d.csv",
			content: daysBack, state: store.ReplyQuarantined, says: "does not name x@elsewhere.example"},
		"another client's": {kind: inbox.ToDaySheet, from: tom, file: "roster--quay.csv",
			content: staffBack, state: store.ReplyQuarantined},
		"a ledger is not taken by mail": {kind: inbox.ToDaySheet, from: tom, file: "ledger--harbour.csv",
			content: daysBack, state: store.ReplyAsked, says: "no list is attached"},
		"no list at all": {kind: inbox.ToDaySheet, from: tom, file: "photo.jpg", content: "x",
			state: store.ReplyAsked, says: "no list is attached"},
		"a wrong row": {kind: inbox.ToDaySheet, from: tom, file: "d.csv",
			content: daysBack + "Ada,polo,99,0002\n", state: store.ReplyAsked,
			says: "All the same, with FILE as 'kitmuster mail read 1 --save .' saves it: kitmuster import FILE"},
		"a form of a time long past": {kind: inbox.ToDaySheet, day: monday - 100, from: tom, file: "d.csv",
			content: daysBack, state: store.ReplyAsked, says: "counted until"},
		"a mark of another kind": {kind: inbox.ToCount, forged: true, from: tom, file: "d.csv",
			content: daysBack, state: store.ReplyQuarantined, says: "not one of ours"},
		"a day that there is not": {kind: inbox.ToCount, day: -1, from: tom, file: "d.csv", content: daysBack,
			state: store.ReplyQuarantined, says: "not one of ours"},
		"a form that somebody has not read": {kind: inbox.ToCount, from: tom, file: "count.csv", content: daysBack,
			state: store.ReplyAsked, says: "could not be taken in"},
	} {
		t.Run(name, func(t *testing.T) {
			d := newDesk(t)
			d.Files = everyFile{d}
			harbourMay(t, d, c.may)
			row, err := d.Books.Store.Client(context.Background(), "harbour")
			require.NoError(t, err)
			day := c.day
			if day == 0 {
				day = monday
			}
			token := inbox.ListToken(c.kind, row.ID, day)
			mark, err := d.Keys.Write(token, inbox.QuestionOf("harbour", day))
			require.NoError(t, err)
			switch {
			case c.forged:
				mark = "d" + mark[1:]
			case day < 0:
				mark = fmt.Sprintf("c%d.20260231.%s", row.ID, mark[len(mark)-16:])
			}
			r := take(t, d, withFile(c.from, "Fwd: your form ["+mark+"]", c.file, c.content))
			require.Equal(t, c.state, r.State, r.Why)
			require.Contains(t, r.Why, c.says)
			sent := letters(t, d)["confirmation"]
			if r.State != store.ReplyDone {
				require.Empty(t, sent, "what was not taken in is confirmed to nobody")
			}
			if r.State == store.ReplyDone {
				require.Len(t, sent, 1)
				text := string(sent[0].Bytes)
				require.Contains(t, text, "Auto-Submitted: auto-replied")
				require.Contains(t, text, "Subject: Your list is taken in")
				require.Equal(t, c.from, sent[0].To[0])
				defer func() {
					require.Len(t, letters(t, d)["confirmation"], 1,
						"one a sender and day, so that no loop comes of it")
				}()
				again := take(t, d, withFile(c.from, "once more ["+mark+"]", c.file, c.content))
				require.Equal(t, store.ReplyDone, again.State)
				require.Contains(t, again.Why, "0 new.", "it counts once")
			}
		})
	}
}

func TestWhoMayDoWhatByMail(t *testing.T) {
	d := newDesk(t)
	ctx := context.Background()
	may := func(address string) (out string) {
		client, err := d.Books.Client(ctx, "harbour")
		require.NoError(t, err)
		for i, deed := range []replies.Deed{replies.Says, replies.Changes, replies.Counts, replies.Rosters,
			replies.DaySheets} {
			if replies.May(d.Books.Shop, client, address, deed) {
				out += "ychrd"[i : i+1]
			}
		}
		return out
	}
	require.Equal(t, "ychrd", may("TOM@harbourbakeries.example"))
	require.Equal(t, "ychrd", may(d.Books.Shop.Owner.Email))
	require.Empty(t, may("pia@harbourbakeries.example"))
	require.Empty(t, may(""))
	harbourMay(t, d, programme.ByMail{Answers: []string{"tom@harbourbakeries.example"},
		Rosters: []string{"Pia@harbourbakeries.example"}})
	require.Equal(t, "ychd", may("tom@harbourbakeries.example"), "another sends the lists of staff")
	require.Equal(t, "r", may("pia@harbourbakeries.example"))
	require.Equal(t, "ychrd", may(d.Books.Shop.Owner.Email))
	harbourMay(t, d, programme.ByMail{Changes: []string{"pia@harbourbakeries.example"}})
	require.Equal(t, "yhrd", may("tom@harbourbakeries.example"))
}
