package main

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// shown is proposal 1 as 'proposal show --json' tells it.
func shown(t *testing.T, home string) reorder.Proposal {
	t.Helper()
	var p proposalJSON
	require.NoError(t, json.Unmarshal([]byte(mustKit(t, home, "proposal", "show", "1", "--json")), &p))
	return *p.Proposal
}

func client(t *testing.T, home string) string { return shown(t, home).Client }

// shorter takes two pieces off the first line of at least four.
func shorter(t *testing.T, p *reorder.Proposal) (word string, sku string, pieces int) {
	t.Helper()
	for i := range p.Lines {
		if l := &p.Lines[i]; l.Order >= 4 {
			return l.String() + "=" + strconv.Itoa(l.Order-2), l.String(), l.Order - 2
		}
	}
	require.Fail(t, "no line has four pieces")
	return "", "", 0
}

func TestAYesWithChangesIsTriedRecordedAndTakenBack(t *testing.T) {
	home := shopWithProposals(t)
	before := shown(t, home)
	word, sku, pieces := shorter(t, &before)
	out := mustKit(t, home, "proposal", "accept", "1", "--change", word, "--dry-run")
	require.Contains(t, out, "would be accepted")
	require.Contains(t, out, "Price ")
	require.Contains(t, out, "nothing was recorded")
	require.Equal(t, before, shown(t, home))
	require.NoDirExists(t, filepath.Join(home, books.JobsDir))

	mustKit(t, home, "proposal", "accept", "1", "--change", word, "--yes")
	after := shown(t, home)
	require.Equal(t, reorder.Accepted, after.State)
	require.Equal(t, before.Pieces()-2, after.Pieces())
	for i := range after.Lines {
		if after.Lines[i].String() == sku {
			require.Equal(t, pieces, after.Lines[i].Order)
		}
	}
	require.Less(t, after.Price, before.Price)
	mustKit(t, home, "undo", client(t, home))
	require.Equal(t, before, shown(t, home))
}

// What was written to suppliers for a yes goes with it, and what a change had replaced comes back alone:
// else goods would be bought for nobody, or twice.
func TestAYesTakenBackTakesItsOrdersWithIt(t *testing.T) {
	home := shopWithProposals(t)
	before := shown(t, home)
	code := client(t, home)
	mustKit(t, home, "proposal", "accept", "1", "--yes")
	mustKit(t, home, "orders")
	first := mustKit(t, home, "orders", "list")
	out := mustKit(t, home, "undo", code)
	require.Contains(t, out, "Do not send order 1 to ")
	require.Contains(t, out, "what was said to proposal 1 is taken back")
	require.Contains(t, mustKit(t, home, "orders", "list"), "There are no such orders")
	_, _, errs := kit(t, home, "orders", "sent")
	require.Contains(t, errs, "no order is written that was not sent")

	mustKit(t, home, "proposal", "accept", "1", "--yes")
	mustKit(t, home, "orders")
	written := mustKit(t, home, "orders", "list")
	word, _, _ := shorter(t, &before)
	mustKit(t, home, "proposal", "change", "1", word)
	mustKit(t, home, "orders")
	require.NotContains(t, mustKit(t, home, "undo", code), "nothing")
	require.Equal(t, written, mustKit(t, home, "orders", "list"), "as before the change, and each once")
	require.Equal(t, strings.Count(first, "\n"), strings.Count(written, "\n"))

	// One of them is sent: taken back, it is written again beside the others.
	mustKit(t, home, "orders", "sent", strings.Fields(strings.Split(strings.TrimSpace(written), "\n")[2])[0])
	mustKit(t, home, "undo")
	require.Equal(t, written, mustKit(t, home, "orders", "list"))
}

// The owner takes one of the plans that are shown, or the best for a sum of money.
func TestAPlanIsTakenByName(t *testing.T) {
	home := shopWithProposals(t)
	p := shown(t, home)
	must, ok := p.Plan(reorder.MustBe)
	require.True(t, ok)
	require.Less(t, must.Pieces, p.Pieces())
	mustKit(t, home, "proposal", "change", "1", "--plan", "must", "--dry-run")
	said := mustKit(t, home, "proposal", "accept", "1", "--plan", "must", "--on", p.AsOf.String())
	p = shown(t, home)
	require.Equal(t, must.Pieces, p.Pieces())
	day := programme.MonthFirst.Date(p.Lasts()) // as the demo writes dates
	require.Contains(t, said, "They are meant to last until about "+day+"; what was suggested, until ")
	require.Contains(t, strings.Join(strings.Fields(mustKit(t, home, "proposal", "show", "1")), " "),
		"these are meant to last until about "+day)

	mustKit(t, home, "undo", client(t, home))
	p = shown(t, home)
	part := p.Within(p.Cost() / 2)
	sum := fmt.Sprintf("%.2f", (p.Cost() / 2).Float())
	out := mustKit(t, home, "proposal", "curve", "1", "--budget", sum)
	require.Contains(t, out, "For that money: ")
	require.Contains(t, out, "Going without the other ")
	require.NotContains(t, out, "no date")
	mustKit(t, home, "proposal", "change", "1", "--budget", sum)
	p = shown(t, home)
	require.Equal(t, part.Pieces, p.Pieces())

	require.Contains(t, mustKit(t, home, "proposal", "curve", "1", "--budget", "0.01"), "That money buys nothing")
	for want, args := range map[string][]string{
		"has no such plan":                        {"--plan", "little"},
		"is no amount":                            {"--budget", "much"},
		"buys nothing of proposal 1":              {"--budget", "0.01"},
		"say --plan or --budget":                  {"--plan", "must", "--budget", "20"},
		"say a plan or lines, not":                {"--plan", "must", "S=1"},
		"LINE=PIECES or with --only":              {},
		"is no line of proposal 1: its lines are": {"--only", "anorak"},
		"say --only or --list, not":               {"--only", "polo", "--list", "list.csv"},
	} {
		status, _, errs := kit(t, home, append([]string{"proposal", "change", "1"}, args...)...)
		require.Equal(t, exitUsage, status, want)
		require.Contains(t, errs, want)
	}
}

// "Only the polos this time": everything else goes down to nothing, and comes back with one undo.
func TestAYesToOneGarmentAlone(t *testing.T) {
	home := shopWithProposals(t)
	before := shown(t, home)
	garment := before.Lines[len(before.Lines)-1].Garment
	polos, others := 0, 0
	for _, l := range before.Lines {
		if l.Garment == garment {
			polos += l.Order
		} else {
			others += l.Order
		}
	}
	require.Positive(t, others)
	out := mustKit(t, home, "proposal", "accept", "1", "--only", garment, "--yes")
	require.Contains(t, out, ": none instead of ", "a garment that is left out is one line, whatever its sizes")
	after := shown(t, home)
	require.Equal(t, polos, after.Pieces())
	for _, l := range after.Lines {
		require.True(t, l.Garment == garment || l.Order == 0, l.SKU)
	}
	mustKit(t, home, "undo", client(t, home))
	require.Equal(t, before.Pieces(), func() int { p := shown(t, home); return p.Pieces() }())
}

// The list that lies with the draft to the customer comes back with one number
// changed in a spreadsheet.
func TestTheListThatWentOutComesBack(t *testing.T) {
	home := shopWithProposals(t)
	p := shown(t, home)
	list := listOf(&p)
	path := filepath.Join(home, "back.csv")
	require.NoError(t, os.WriteFile(path, []byte(list), 0o600))
	out := mustKit(t, home, "proposal", "change", "1", "--list", path)
	require.NotContains(t, out, "instead of", "the same numbers change nothing")
	require.Equal(t, p.Pieces(), func() int { q := shown(t, home); return q.Pieces() }())

	rows := strings.Split(strings.TrimSpace(list), "\n")
	cells := strings.Split(rows[1], ",")
	cells[5] = "0"
	rows[1] = strings.Join(cells, ",")
	require.NoError(t, os.WriteFile(path, []byte(strings.Join(rows, "\n")), 0o600))
	out = mustKit(t, home, "proposal", "accept", "1", "--list", path, "--yes")
	require.Contains(t, out, "instead of")
	require.Contains(t, out, "goes without")

	other := strings.Replace(list, ",pieces", ",how many", 1)
	require.NoError(t, os.WriteFile(path, []byte(other), 0o600))
	mustKit(t, home, "proposal", "change", "1", "--list", path, "--map", "how many=pieces", "--dry-run")
	status, _, errs := kit(t, home, "proposal", "change", "1", "--list", path)
	require.Equal(t, exitWork, status)
	require.Contains(t, errs, "pieces")

	for _, bad := range []struct{ from, to, says string }{
		{",polo", ",poloo", ""},
		{"1,", "2,", "this list is taken for proposal 1"},
	} {
		text := strings.Replace(list, "\n"+bad.from, "\n"+bad.to, 1)
		if text == list {
			continue
		}
		require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
		status, _, errs := kit(t, home, "proposal", "change", "1", "--list", path)
		require.Equal(t, exitWork, status)
		require.Contains(t, errs, bad.says)
	}
}

// listOf writes a proposal's list as it goes out, with our own headings.
func listOf(p *reorder.Proposal) string {
	var b strings.Builder
	b.WriteString("proposal,staff_id,item,colour,size,pieces\n")
	row := func(staff, garment, colour, size string, n int) {
		b.WriteString(strings.Join([]string{"1", staff, garment, colour, size, strconv.Itoa(n)}, ",") + "\n")
	}
	for _, n := range p.Named {
		row(n.StaffID, n.Garment, n.Colour, n.Size, n.Pieces)
	}
	for _, n := range p.Pool {
		row("", n.Garment, n.Colour, n.Size, n.ForStarters+n.Spare)
	}
	return b.String()
}

func TestGoodsThatArriveInPartsAreIssuedAsTheyCome(t *testing.T) {
	home := shopWithProposals(t)
	p := shown(t, home)
	word, sku, _ := shorter(t, &p)
	mustKit(t, home, "proposal", "accept", "1", "--on", "2026-03-03")
	mustKit(t, home, "proposal", "ordered", "1")
	out := mustKit(t, home, "proposal", "arrived", "1", word, "--back", sku+"=1@2026-12-28")
	require.Contains(t, out, "is part received")
	require.Contains(t, out, "still to come: 1 × ")
	half := shown(t, home)
	require.Equal(t, p.Pieces(), half.Outstanding()+func() (n int) {
		for i := range half.Lines {
			n += half.Lines[i].Pressed
		}
		return n
	}())
	status, _, errs := kit(t, home, "proposal", "arrived", "1", sku+"=100")
	require.Equal(t, exitWork, status)
	require.Contains(t, errs, "are still to come")
	mustKit(t, home, "proposal", "received", "1")
	require.Equal(t, reorder.Received, func() reorder.State { q := shown(t, home); return q.State }())
	mustKit(t, home, "undo", client(t, home))
	require.Equal(t, half, shown(t, home))
}

func TestANotNowIsKeptWithItsDay(t *testing.T) {
	home := shopWithProposals(t)
	status, _, errs := kit(t, home, "proposal", "put-off", "1")
	require.Equal(t, exitUsage, status)
	require.Contains(t, errs, "--until")
	out := mustKit(t, home, "proposal", "put-off", "1", "--until", "2030-01-07")
	require.Contains(t, out, "is put off")
	require.Contains(t, mustKit(t, home, "proposal", "list", "--state", "put off"), "put off")
	require.Contains(t, mustKit(t, home, "proposal", "accept", "1", "--dry-run"), "would be accepted",
		"a yes before the day counts")
}

// A yes that comes after its last day would come to another day than promised:
// it is shown, and counts once the client knows.
func TestALateYesIsShownBeforeItCounts(t *testing.T) {
	home := shopWithProposals(t)
	before := shown(t, home)
	status, out, errs := kit(t, home, "proposal", "accept", "1", "--on", "2026-04-20")
	require.Equal(t, exitWork, status)
	require.Contains(t, out, "would be accepted")
	require.Contains(t, out, "The yes came after")
	require.Contains(t, errs, "nothing is recorded yet: tell them, then say it again with --yes")
	require.Equal(t, before, shown(t, home))
	mustKit(t, home, "proposal", "accept", "1", "--on", "2026-04-20", "--yes")
	require.Greater(t, shown(t, home).Arrives, before.Arrives)
}

// Nobody answers: the proposal keeps its number through the Mondays, and the yes
// to its first form is taken when it comes.
func TestAYesToTheFirstFormIsTaken(t *testing.T) {
	home := shopWithProposals(t)
	first := shown(t, home)
	for _, monday := range []string{"2026-03-09", "2026-03-16", "2026-03-23"} {
		mustKit(t, home, "round", "--as-of", monday)
	}
	now := shown(t, home)
	require.Greater(t, now.Form(), 1, "three weeks change something")
	require.Equal(t, first.AsOf, now.Since())
	require.Equal(t, 1, strings.Count(mustKit(t, home, "proposal", "list"), client(t, home)), "one proposal")
	form := strconv.Itoa(now.Form())
	mails := mustKit(t, home, "mail", "list", "--all")
	require.Contains(t, mails, "(form "+form+")")

	status, _, errs := kit(t, home, "proposal", "accept", "1", "--form", "99")
	require.Equal(t, exitUsage, status)
	require.Contains(t, errs, "proposal 1 has")
	status, out, _ := kit(t, home, "proposal", "accept", "1", "--form", "1", "--on", "2026-03-24")
	require.Equal(t, exitWork, status)
	require.Contains(t, out, "The yes is to form 1 of ")
	mustKit(t, home, "proposal", "accept", "1", "--form", "1", "--on", "2026-03-24", "--yes")
	taken := shown(t, home)
	require.Equal(t, first.Pieces(), taken.Pieces())
	require.ElementsMatch(t, first.List(), taken.List(), "the same pieces for the same people")
}

// The owner's next mail has one line of the no, with its reason and day.
func TestTheOwnersMailTellsOfANo(t *testing.T) {
	home := shopWithProposals(t)
	mustKit(t, home, "proposal", "decline", "1", "--because", "new logo in autumn", "--until", "2026-09-01", "--on",
		"2026-03-04")
	mustKit(t, home, "round", "--as-of", "2026-03-09")
	require.NotContains(t, mustKit(t, home, "proposal", "list"), "drafted")
	mails := strings.Split(mustKit(t, home, "mail", "list", "--all"), "\n")
	at := slices.IndexFunc(mails, func(l string) bool { return strings.Contains(l, "nobody is due") })
	require.GreaterOrEqual(t, at, 0)
	text := mustKit(t, home, "mail", "preview", strings.Fields(mails[at])[0])
	require.Contains(t, strings.Join(strings.Fields(text), " "),
		"because “new logo in autumn”, not proposed again until Tue Sep 1")
}

// From the yes to goods in the shop: each order has its number, is sent, and its
// goods are received against it; one undo each.
func TestOrdersAreWrittenSentAndReceived(t *testing.T) {
	home := shopWithProposals(t)
	mustKit(t, home, "proposal", "accept", "1", "--on", "2026-03-03")
	require.Contains(t, mustKit(t, home, "orders", "--dry-run"), "nothing was written")
	require.Contains(t, mustKit(t, home, "orders", "list"), "There are no such orders")
	require.Contains(t, mustKit(t, home, "orders"), "Then: kitmuster orders sent")
	require.Contains(t, mustKit(t, home, "orders"), "do not send order 1, 2")
	list := mustKit(t, home, "orders", "list")
	require.Contains(t, list, "written")
	require.Contains(t, mustKit(t, home, "orders", "sent", "--dry-run"), "nothing was recorded")
	accepted := shown(t, home)
	status, _, errs := kit(t, home, "orders", "sent", "--on", "2025-03-04")
	require.Equal(t, exitWork, status)
	require.Contains(t, errs, "it cannot have gone out on Mar 4, 2025")
	require.Contains(t, mustKit(t, home, "orders", "sent"), fmt.Sprintf("is ordered: %d pieces on their way",
		accepted.Pieces()))
	require.Contains(t, mustKit(t, home, "orders"), "No accepted proposal waits")

	var orders struct {
		Orders []struct {
			Number int64
			Blanks []struct{ Garment, Colour, Size string }
		}
	}
	require.NoError(t, json.Unmarshal([]byte(mustKit(t, home, "orders", "list", "--json")), &orders))
	require.Greater(t, len(orders.Orders), 1)
	for _, o := range orders.Orders {
		number := strconv.FormatInt(o.Number, 10)
		if len(o.Blanks) > 0 {
			b := o.Blanks[0]
			line := b.Garment + "/" + b.Colour + "/" + b.Size
			require.Contains(t, mustKit(t, home, "orders", "arrived", number, line+"=1", "--back",
				line+"=1@2030-04-15"), "come on ")
			mustKit(t, home, "undo")
			status, _, errs := kit(t, home, "orders", "arrived", number, "shoe=1")
			require.Equal(t, exitUsage, status)
			require.Contains(t, errs, "is no line of order "+number)
			require.Contains(t, errs, line, "the lines that are on it")
			require.Contains(t, errs, "kitmuster receive blank")
		}
		require.Contains(t, mustKit(t, home, "orders", "arrived", "2026-03-03-"+number), "has come whole")
	}
	status, _, errs = kit(t, home, "orders", "arrived", "99")
	require.Equal(t, exitWork, status)
	require.Contains(t, errs, "no such order as number 99")
	mustKit(t, home, "proposal", "arrived", "1")
	require.Contains(t, mustKit(t, home, "orders", "list"), "There are no such orders")
}

// The owner's mail names goods that are overdue at a supplier while asking still helps, and pieces whose day
// is over; a day that the supplier names ends it until then.
func TestTheOwnersMailNamesGoodsThatAreLate(t *testing.T) {
	home := shopWithProposals(t)
	mustKit(t, home, "proposal", "accept", "1", "--on", "2026-03-03")
	mustKit(t, home, "orders", "--on", "2026-03-03")
	mustKit(t, home, "orders", "sent", "--on", "2026-03-03")
	p := shown(t, home)
	tell := func(day programme.Date) string {
		mustKit(t, home, "round", "--as-of", day.String())
		mails := strings.Split(mustKit(t, home, "mail", "list", "--all"), "\n") // newest first
		at := slices.IndexFunc(mails, func(l string) bool { return strings.Contains(l, "odalys@") })
		require.GreaterOrEqual(t, at, 0)
		return strings.Join(strings.Fields(mustKit(t, home, "mail", "preview", strings.Fields(mails[at])[0])), " ")
	}
	early := tell(p.Arrives - 10)
	require.NotContains(t, early, "are not in")
	require.NotContains(t, early, "late by now")
	said := tell(p.Arrives - 1)
	require.Contains(t, said, " are not in. Pieces of them are promised for "+programme.MonthFirst.Date(p.Arrives))
	require.Contains(t, said, "kitmuster orders arrived 1")
	require.NotContains(t, said, "late by now")
	require.Contains(t, tell(p.Arrives+4), programme.NumberOf(p.Pieces(), "piece")+" late by now")

	var listed struct {
		Orders []struct {
			Number int64
			Blanks []struct {
				Garment, Colour, Size string
				Pieces                int
			}
		}
	}
	require.NoError(t, json.Unmarshal([]byte(mustKit(t, home, "orders", "list", "--json")), &listed))
	require.NotEmpty(t, listed.Orders)
	var back []string
	for _, x := range listed.Orders[0].Blanks {
		back = append(back, "--back", fmt.Sprintf("%s/%s/%s=%d@%s", x.Garment, x.Colour, x.Size, x.Pieces,
			p.Arrives+30))
	}
	require.NotEmpty(t, back)
	mustKit(t, home, append([]string{"orders", "arrived", "1", "--on", (p.Arrives + 4).String()}, back...)...)
	require.NotContains(t, tell(p.Arrives+11), "are not in")
}

// What is attached to a mail that waits can be had, to be mended and handed over; nothing is written over.
func TestAttachedFilesOfAMailAreSaved(t *testing.T) {
	home, into := shopWithProposals(t), t.TempDir()
	form, err := filepath.Glob(filepath.Join(home, "drafts", "*.eml"))
	require.NoError(t, err)
	require.NotEmpty(t, form)
	draft, err := os.ReadFile(form[0])
	require.NoError(t, err)
	to := regexp.MustCompile(`(?m)^To: .*`).FindString(strings.ReplaceAll(string(draft), "\r", ""))
	require.NotEmpty(t, to)
	letter := filepath.Join(t.TempDir(), "answer.eml")
	require.NoError(t, os.WriteFile(letter, []byte("From:"+strings.TrimPrefix(to, "To:")+"\r\nSubject: the count\r\nDate: Tue, 3 Mar 2026 09:00:00 +0000\r\nMessage-ID: <1@x.example>\r\nMIME-Version: 1.0\r\n"+
		"Content-Type: multipart/mixed; boundary=b\r\n\r\n--b\r\nContent-Type: text/plain\r\n\r\nHere.\r\n--b\r\nContent-Type: text/csv\r\nContent-Disposition: attachment; filename=\"../Lodge Count.CSV\"\r\n\r\nName\r\n--b--\r\n"), 0o600))
	mustKit(t, home, "mail", "take", letter)
	require.Contains(t, mustKit(t, home, "mail", "answers"), "the count")
	require.NotContains(t, mustKit(t, home, "mail", "read", "1"), "written")
	require.Contains(t, mustKit(t, home, "mail", "read", "1", "--save", into),
		"written  "+filepath.Join(into, "lodge-count.csv"))
	text, err := os.ReadFile(filepath.Join(into, "lodge-count.csv"))
	require.NoError(t, err)
	require.Equal(t, "Name", strings.TrimSpace(string(text)))
	status, _, says := kit(t, home, "mail", "read", "1", "--save", into)
	require.NotZero(t, status)
	require.Contains(t, says, "nothing is written over it")

	status, _, says = kit(t, home, "mail", "done", "1", "7")
	require.NotZero(t, status)
	require.Contains(t, says, "mail 7 does not wait for you")
	require.Contains(t, mustKit(t, home, "mail", "answers"), "the count", "nothing was changed")
	require.Contains(t, mustKit(t, home, "mail", "done", "1"), "Mail 1 is dealt with.")
	require.Contains(t, mustKit(t, home, "mail", "answers"), "No mail that came waits for you.")
	require.Contains(t, mustKit(t, home, "mail", "answers", "--all"), "dealt with by hand")
}
