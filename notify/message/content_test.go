package message_test

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/net/html"

	"github.com/kitmuster/kitmuster/notify/document"
	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// What a golden file cannot show: what must and must not be in each mail.

func TestClientReadsNothingThatIsTheShops(t *testing.T) {
	r := aReorder()
	m, err := message.ComposeReorder(r)
	require.NoError(t, err)
	p := r.Proposal
	for _, part := range append([]message.Part{{Name: "text", Data: []byte(m.Text)},
		{Name: "HTML", Data: []byte(textOf(parse(t, m.HTML)))}}, m.Attachments...) {
		words := strings.ToLower(string(part.Data))
		if part.Type == "application/pdf" {
			words = strings.ToLower(pdfText(t, part.Data))
		}
		for _, secret := range []programme.Money{p.Blanks, p.Transfers, p.Pressing, p.Freight, p.Cost(), p.Margin(),
			p.Lines[0].UnitCost} {
			require.NotRegexp(t, `(^|[^0-9.,])`+regexp.QuoteMeta(secret.Decimal())+`($|[^0-9])`, words, part.Name)
		}
		for _, secret := range []string{"margin", "cost", "freight", "pays late", "fernhill", "harbour cloth",
			"fern street", "fill rate", "supplier"} {
			require.NotContains(t, words, secret, part.Name)
		}
	}
}

func TestClientReadsTheWholeOrderAndEverybodyOnce(t *testing.T) {
	r := aReorder()
	m, err := message.ComposeReorder(r)
	require.NoError(t, err)
	for _, p := range r.People {
		require.GreaterOrEqual(t, strings.Count(m.Text, p.Name), 1, "%s in the text: with pieces, or with a question",
			p.Name)
		require.GreaterOrEqual(t, strings.Count(html.UnescapeString(m.HTML), p.Name), 1, "%s in the HTML", p.Name)
	}
	words := strings.Join(strings.Fields(m.Text), " ")
	require.Contains(t, words, "Jo Marsh: size 5XL is on the list, but Crew tee is not made in it. Which fits?")
	require.Contains(t, words, "Kit Nobody-Asked: which size in Crew tee? We know none.")
	require.Contains(t, m.Subject, fmt.Sprintf("%d pieces, %s", r.Proposal.Pieces(), r.Proposal.Price.In("USD")))
	require.Contains(t, m.Text, r.Proposal.Price.In("USD"))
	sum := 0
	for _, row := range csvRows(t, attachment(t, m, "-list.csv"))[1:] {
		sum += atoi(t, row[7])
	}
	require.Equal(t, r.Proposal.Pieces(), sum, "the list adds up to the order")
	form := pdfText(t, attachment(t, m, "-order-form.pdf"))
	require.Contains(t, form, "Signature")
	require.Contains(t, form, r.Proposal.Price.In("USD"))
}

func TestPersonAndPoolTablesAddUpToTheSizeTables(t *testing.T) {
	r := aReorder()
	m, err := message.ComposeReorder(r)
	require.NoError(t, err)
	order := map[string]int{}
	for _, l := range r.Proposal.Lines {
		order[l.Garment+l.Colour+l.Size] += l.Order
	}
	got := map[string]int{}
	names := map[string]string{"Crew tee": "tee", "Bib apron": "apron"}
	for _, row := range csvRows(t, attachment(t, m, "-list.csv"))[1:] {
		got[names[row[4]]+row[5]+row[6]] += atoi(t, row[7])
	}
	require.Equal(t, order, got)
}

func TestMorePiecesNamedThanOrderedIsAnError(t *testing.T) {
	r := aReorder()
	r.Proposal.Named = append(r.Proposal.Named, reorder.Named{StaffID: "b1", SKU: r.Proposal.Lines[0].SKU, Pieces: 100})
	_, err := message.ComposeReorder(r)
	require.ErrorContains(t, err, "more pieces")
}

func TestPricesAreShownOnlyWhereTheProgrammeSaysSo(t *testing.T) {
	r := aReorder()
	r.Client.ShowPrices = false
	m, err := message.ComposeReorder(r)
	require.NoError(t, err)
	require.NotContains(t, m.Text, "$")
	require.NotContains(t, m.HTML, "$")
	require.NotContains(t, pdfText(t, attachment(t, m, "-order-form.pdf")), "$")
	require.Empty(t, m.Warnings[1:], "only the letters that the font lacks")
}

func TestReplyLinksCarryTheProposal(t *testing.T) {
	m, err := message.ComposeReorder(aReorder())
	require.NoError(t, err)
	var links []string
	walk(parse(t, m.HTML), func(n *html.Node) {
		if n.Data == "a" {
			links = append(links, attr(n, "href"))
		}
	})
	require.Len(t, links, 3)
	require.True(t, strings.HasPrefix(links[0], "mailto:tom@millbrook.example?subject=Yes%20to%20proposal%2017&body="),
		links[0])
	require.True(t, strings.HasPrefix(links[1],
		"mailto:tom@millbrook.example?subject=Changes%20to%20proposal%2017&body="), links[1])
	require.True(t, strings.HasPrefix(links[2],
		"mailto:tom@millbrook.example?subject=Not%20now%3A%20proposal%2017&body=") ||
		strings.HasPrefix(links[2], "mailto:tom@millbrook.example?subject=Not%20now:%20proposal%2017&body="), links[2])
	require.Equal(t, []programme.Contact{{Name: "Tom Lark", Email: "tom@millbrook.example"}}, m.To)
}

func TestOwnerReadsTotalsThatAreTheSumsOfTheProposals(t *testing.T) {
	r := aRound()
	m, err := message.ComposeRound(r)
	require.NoError(t, err)
	var cost, margin programme.Money
	pieces := 0
	for _, d := range r.Due {
		cost, margin, pieces = cost+d.Proposal.Cost(), margin+d.Proposal.Margin(), pieces+d.Proposal.Pieces()
	}
	text := strings.Join(strings.Fields(m.Text), " ")
	require.Regexp(t, fmt.Sprintf(`Together %d \$788\.00 cost %s, 60 %%`, pieces, regexp.QuoteMeta(cost.In("USD"))),
		text)
	require.Equal(t, programme.Money(46965), margin)
	bought := 0
	rows := csvRows(t, attachment(t, m, ".csv"))
	buy := slices.Index(rows[0], "buy")
	for _, row := range rows[1:] {
		bought += atoi(t, row[buy])
	}
	require.Contains(t, text, fmt.Sprintf("%d blanks", bought))
}

func TestOrdersStandInOrderOfDate(t *testing.T) {
	m, err := message.ComposeRound(aRound())
	require.NoError(t, err)
	_, rest, _ := strings.Cut(m.Text, "Buy, once they say yes")
	rest, _, _ = strings.Cut(rest, "At the press")
	var days []programme.Date
	for _, d := range regexp.MustCompile(`(?m)^\w{3} (\d+) Mar  `).FindAllStringSubmatch(rest, -1) {
		days = append(days, programme.NewDate(2026, 3, atoi(t, d[1])))
	}
	require.Len(t, days, 2)
	require.True(t, slices.IsSorted(days), days)
}

// The owner decides in minutes: why stands in the attached pages, not in the mail.
func TestTheOwnersMailIsShort(t *testing.T) {
	r := aRound()
	r.Troubles, r.Taken, r.Changes, r.NewPrices = nil, nil, nil, nil
	for i := range r.Due {
		r.Due[i].People = bakers()
	}
	m, err := message.ComposeRound(r)
	require.NoError(t, err)
	require.LessOrEqual(t, len(strings.Fields(textOf(parse(t, m.HTML)))), 350)
	for _, word := range []string{"target", "Expected need", "fill"} {
		require.NotContains(t, m.Text, word)
	}
	why := string(attachment(t, m, "why-17-copper-hearth-bakery.html"))
	require.Contains(t, why, "needed until")
	require.Contains(t, why, "Amara Osei")
	require.Contains(t, why, "recorded endings")
}

func TestQuietWeekIsShort(t *testing.T) {
	m, err := message.ComposeRound(quietRound())
	require.NoError(t, err)
	require.Less(t, strings.Count(m.Text, "\n"), 15)
	require.Empty(t, m.Attachments)
	require.Empty(t, m.Inline)
	for _, title := range []string{"Decide", "Due", "What went wrong", "Buy", "press"} {
		require.NotContains(t, m.Text, title)
		require.NotContains(t, textOf(parse(t, m.HTML)), title)
	}
}

// The owner reads in the mail itself why a client who has just ordered is due again.
func TestTheOwnerReadsWhyAnOrderFollowsAnother(t *testing.T) {
	r := aRound()
	r.Due[0].Proposal.Events = []reorder.Occurrence{{Kind: reorder.MoreEnded, Pieces: 9, Expected: 3, Number: 12,
		On: monday.Add(-21)}}
	m, err := message.ComposeRound(r)
	require.NoError(t, err)
	require.Contains(t, strings.Join(strings.Fields(m.Text), " "),
		"ordered again: 9 pieces came to an end since the order of")

	r.Due[0].Proposal.Events = append(r.Due[0].Proposal.Events, reorder.Occurrence{Kind: reorder.MoreEnded, Pieces: 4,
		Expected: 1, Number: 12, On: monday.Add(-21)})
	m, err = message.ComposeRound(r)
	require.NoError(t, err)
	text := strings.Join(strings.Fields(m.Text), " ")
	require.Equal(t, 1, strings.Count(text, "ordered again: "), "said once, whatever the reasons")
	require.Contains(t, text, "; and 4 pieces came to an end since the order of")
}

func TestProtectiveClothingIsHeldAndFlagged(t *testing.T) {
	all := mails(t)
	round, reorder := strings.Join(strings.Fields(all["round"].Text), " "),
		strings.Join(strings.Fields(all["reorder"].Text), " ")
	require.Contains(t, round, "Copper Hearth Bakery: 6 × Road vest (label: 25 washes), not ordered. Label, maker's word and local rules first; then: kitmuster held yes bakery, or held no bakery.")
	require.Contains(t, reorder,
		"Road vest, yellow: 6 pieces (L 6), high-visibility clothing. Its label allows 25 washes and no more.")
	require.Contains(t, reorder, "local safety rules")
	for _, l := range aReorder().Proposal.Lines {
		require.NotEqual(t, "vest", l.Garment)
	}
	_, buy, _ := strings.Cut(all["round"].Text, "Buy, once they say yes")
	require.NotContains(t, buy, "Road vest")
}

// A label's limit is a hard stop (ISO 20471 asks for it to be stated): whoever wears a piece beyond it
// must not read of replacements alone.
func TestWearersBeyondALabelAreCounted(t *testing.T) {
	for spent, want := range map[int]struct{ owner, customer string }{
		0: {"(label: 25 washes), not ordered", "allows 25 washes and no more. "},
		1: {"(label: 25 washes; 1 person wears pieces that have had them all), not ordered",
			"allows 25 washes and no more; by our reckoning 1 person wears pieces that have had them all. "},
		2: {"(label: 25 washes; 2 people wear pieces that have had them all), not ordered",
			"allows 25 washes and no more; by our reckoning 2 people wear pieces that have had them all. "},
	} {
		worn := func(holds []reorder.Hold) {
			for h := range holds {
				holds[h].Named = nil
				for i := range spent {
					holds[h].Named = append(holds[h].Named, reorder.Named{StaffID: fmt.Sprint(i), Washes: 25})
				}
			}
		}
		o, r := aReorder(), aRound()
		worn(o.Proposal.Holds)
		for i := range r.Due {
			worn(r.Due[i].Proposal.Holds)
		}
		mail, err := message.ComposeReorder(o)
		require.NoError(t, err)
		require.Contains(t, strings.Join(strings.Fields(mail.Text), " "), want.customer)
		mail, err = message.ComposeRound(r)
		require.NoError(t, err)
		require.Contains(t, strings.Join(strings.Fields(mail.Text), " "), want.owner)
	}
}

func TestTicketWarnsOfDyeAndFlame(t *testing.T) {
	j := aJob()
	for i := range j.Shop.Garments {
		j.Shop.Garments[i].FabricClass = "performance-polyester"
	}
	j.Shop.Garments[0].Protective = programme.FlameResistant
	m, err := message.ComposeJob(j)
	require.NoError(t, err)
	words := strings.Join(strings.Fields(m.Text), " ")
	require.Contains(t, words, "above 280 °F its dye may move into the print")
	require.Contains(t, words, "no more than 280 °F on this cloth")
	require.NotContains(t, words, "311 °F", "one temperature stands at the press")
	require.Contains(t, words, "Press nothing on it without its maker's word in writing")
	require.Contains(t, words, "The platen burns at a touch")
}

// Every word of the HTML stands in the text too: nobody loses by reading plain mail. Only what a link does and a
// picture shows needs no words where there is none.
func TestTextSaysWhatTheHTMLSays(t *testing.T) {
	const drawn = "Each opens a filled-in mail to Tom Lark. Opens a mail to tom@millbrook.example attach the file form to it. against what is there without and with these orders"
	for name, m := range mails(t) {
		have := map[string]bool{}
		for _, w := range tokens(m.Text + " " + drawn + " " + m.Subject) {
			have[w] = true
		}
		for _, w := range tokens(textOf(parse(t, m.HTML))) {
			require.True(t, have[w], "%s: %q of the HTML is not in the text", name, w)
		}
	}
}

// A plain mail has no links to open and no pictures to describe.
func TestATextSpeaksOfNoLinksAndNoPictures(t *testing.T) {
	for name, m := range mails(t) {
		text := strings.Join(strings.Fields(m.Text), " ")
		for _, words := range []string{"filled-in", "Opens a mail", "Each opens", "against what is there",
			"Layout A, "} {
			require.NotContains(t, text, words, name)
		}
	}
}

func tokens(s string) []string {
	return strings.FieldsFunc(s, func(r rune) bool { return strings.ContainsRune(" \u00a0\n\t,.;:()“”*-", r) })
}

func TestHTMLAsksForNothingFromOutside(t *testing.T) {
	for name, m := range mails(t) {
		cids := map[string]bool{}
		for _, p := range m.Inline {
			cids["cid:"+p.CID] = true
		}
		seen := 0
		walk(parse(t, m.HTML), func(n *html.Node) {
			require.NotContains(t, []string{"script", "link", "iframe", "form", "object", "embed", "base"},
				n.Data, name)
			for _, a := range n.Attr {
				require.False(t, strings.HasPrefix(a.Key, "on"), "%s: %s", name, a.Key)
				require.NotContains(t, strings.ToLower(a.Val), "http", name)
			}
			if n.Data == "img" {
				seen++
				require.True(t, cids[attr(n, "src")], "%s: %s", name, attr(n, "src"))
				require.NotEmpty(t, attr(n, "alt"), name)
				require.NotEmpty(t, attr(n, "width"), name)
			}
			if n.Data == "a" {
				require.True(t, strings.HasPrefix(attr(n, "href"), "mailto:"), name)
			}
		})
		require.Len(t, m.Inline, seen, "%s: every picture is shown once", name)
		require.NotContains(t, m.HTML, "url(", name)
		require.NotContains(t, m.HTML, "@import", name)
	}
}

func TestFortyClientsStayBelowTheLimit(t *testing.T) {
	m, err := message.ComposeRound(bigRound(40))
	require.NoError(t, err)
	require.Less(t, len(m.HTML), 100_000, "some mail programs cut what is longer")
	require.Contains(t, m.Text, "Client 40")
	b, err := m.Bytes(envelope)
	require.NoError(t, err)
	require.Less(t, len(b), 500_000)
}

func TestManyHundredClientsAreCountedInTheMailAndListedInTheAttachment(t *testing.T) {
	for _, n := range []int{120, 250} {
		m, err := message.ComposeRound(bigRound(n))
		require.NoError(t, err)
		require.Less(t, len(m.HTML), 100_000, "%d clients", n)
		require.Contains(t, strings.Join(strings.Fields(m.Text), " "),
			fmt.Sprintf("And %d more clients: the attached list has all.", n-60))
		require.Len(t, csvRows(t, attachment(t, m, ".csv")), 1+5*n)
	}
}

// bigRound is a round in which n clients are due at once.
func bigRound(n int) message.Round {
	r := aRound()
	one := r.Due[1]
	r.Due = nil
	for i := range n {
		c, p := *one.Client, *one.Proposal
		c.Name = fmt.Sprintf("Client %d of the Long Street", i+1)
		p.Number = int64(100 + i)
		r.Due = append(r.Due, message.Due{Client: &c, Proposal: &p, Ahead: one.Ahead, Evidence: endings(30 + i)})
	}
	return r
}

func TestNumbersFollowTheShop(t *testing.T) {
	r := aRound()
	r.Shop.Currency, r.Shop.DateStyle, r.Shop.Units = "EUR", programme.ISODate, programme.Millimetres
	m, err := message.ComposeRound(r)
	require.NoError(t, err)
	require.NotContains(t, m.Text, "$")
	require.Contains(t, m.Text, "€")
	require.Contains(t, m.Text, r.Due[0].Proposal.OrderBy.String())
	o := aSheetOrder()
	o.Shop.Units = programme.Millimetres
	m, err = message.ComposeSupplierOrder(o)
	require.NoError(t, err)
	words := strings.Join(strings.Fields(m.Text), " ")
	require.Contains(t, words, "304.8 mm × 457.2 mm")
	require.NotContains(t, words, " in ×")
}

// Where the currency has no smaller unit, neither mails nor the lists in them have one.
func TestYenHaveNoDecimals(t *testing.T) {
	r, o := aRound(), aSupplierOrder()
	r.Shop.Currency, o.Shop.Currency = "JPY", "JPY"
	round, err := message.ComposeRound(r)
	require.NoError(t, err)
	order, err := message.ComposeSupplierOrder(o)
	require.NoError(t, err)
	money := 0
	for _, m := range []message.Mail{round, order} {
		require.NotRegexp(t, `JPY [0-9,]+\.[0-9]`, m.Text+textOf(parse(t, m.HTML)))
		rows := csvRows(t, attachment(t, m, ".csv"))
		for i, heading := range rows[0] {
			if !strings.HasSuffix(heading, "cost") && !strings.HasSuffix(heading, "price") {
				continue
			}
			money++
			for _, row := range rows[1:] {
				require.Regexp(t, `^[0-9]*$`, row[i], heading)
			}
		}
	}
	require.Equal(t, 3, money, "columns of money")
}

func TestPiecesToHandOutAreOneSentence(t *testing.T) {
	r := aRound()
	p := r.Due[0].Proposal
	tee := func(size string) programme.SKU { return programme.SKU{Garment: "tee", Colour: "black", Size: size} }
	apron := programme.SKU{Garment: "apron", Colour: "black", Size: "one"}
	p.Reasons = []reorder.Reason{
		{Kind: reorder.HandOut, SKU: tee("L"), Pieces: 2}, {Kind: reorder.HandOut, SKU: tee("S"), Pieces: 1},
		{Kind: reorder.HandOut, SKU: apron, Pieces: 4},
		{Kind: reorder.OwedNow, SKU: tee("2XL"), Pieces: 1}, {Kind: reorder.ShortestLine, SKU: tee("M"), Pieces: 1.4},
	}
	m, err := message.ComposeRound(r)
	require.NoError(t, err)
	text := strings.Join(strings.Fields(m.Text), " ")
	require.Contains(t, text, "hand out now from the shelf Crew tee, black: S 1, L 2 and Bib apron, black: 4;")
	require.Contains(t, text, "late; in a week more about Crew tee, black: M 1 short;")

	p.LateWeek = 1234
	m, err = message.ComposeRound(r)
	require.NoError(t, err)
	require.Contains(t, strings.Join(strings.Fields(m.Text), " "),
		"late; each week more costs about $12 in missing pieces;")
}

func TestArtworksOfOneNameAreToldApart(t *testing.T) {
	r := aSheetOrder()
	for i := range r.Shop.Artworks {
		r.Shop.Artworks[i].Name = "Lettering"
	}
	m, err := message.ComposeSupplierOrder(r)
	require.NoError(t, err)
	require.Regexp(t, `\d+ × Lettering \(\w+\)`, m.Text)
	require.NotRegexp(t, `Lettering[,.]`, m.Text)
}

// Pieces asked for by name are for people who start, on one day or on several.
func TestWhoStillNeedsPieces(t *testing.T) {
	tee := programme.SKU{Garment: "tee", Colour: "black", Size: "M"}
	words := func(starts ...programme.Date) string {
		r := aReorder()
		p := &reorder.Proposal{Number: 17, Client: "bakery", AsOf: monday, OrderBy: monday + 2, Arrives: monday + 10,
			State: reorder.Drafted, Lines: []reorder.Line{{SKU: tee, Order: len(starts), UnitPrice: 1400}}}
		r.Proposal, r.People = p, nil
		for i, day := range starts {
			staff := string(rune('a' + i))
			r.People = append(r.People, programme.Person{StaffID: staff,
				Name: []string{"Ana Brill", "Bo Castellan", "Cy Dunmore"}[i], Role: "counter", Start: day,
				Sizes: map[string]string{"top": "M"}})
			p.Named = append(p.Named, reorder.Named{StaffID: staff, SKU: tee, Pieces: 1, Why: programme.CauseHires})
		}
		m, err := message.ComposeReorder(r)
		require.NoError(t, err)
		return strings.Join(strings.Fields(m.Text), " ")
	}
	require.Contains(t, words(monday+7), "here is what Ana Brill, who starts Mon 9 Mar, still needs.")
	require.Contains(t, words(monday+7, monday+7, monday+7),
		"here is what Ana Brill, Bo Castellan and Cy Dunmore, who start Mon 9 Mar, still need.")
	require.Contains(t, words(monday+7, monday-7),
		"here is what Ana Brill (from Mon 9 Mar) and Bo Castellan still need.")
	require.Contains(t, words(monday-7, monday-7), "here is what Ana Brill and Bo Castellan still need.")
}

// Spare pieces can be left out as well, at a price and with what it means; those that only fill a pack cannot, and
// those that the shop keeps cost the customer nothing yet.
func TestTheCustomerMayLeaveOutSparePieces(t *testing.T) {
	words := func(change func(*message.Reorder)) string {
		r := aReorder()
		for i := range r.Proposal.Pool {
			x := &r.Proposal.Pool[i]
			x.Spare, x.ForStarters = x.Spare+x.ForStarters, 0
		}
		change(&r)
		m, err := message.ComposeReorder(r)
		require.NoError(t, err)
		return strings.Join(strings.Fields(m.Text), " ")
	}
	all := words(func(*message.Reorder) {})
	require.Contains(t, all, "Want fewer? ----------- Without the 4 spare pieces (−$56.00), whoever needs more waits.")
	require.Contains(t, all, "5 are for starters and spares ($78.00)")
	require.Contains(t, all, "4 spare in case more are needed and 1 only because Bib apron comes in packs of 6")
	require.NotContains(t, words(func(r *message.Reorder) { r.Client.PoolBelongsTo = programme.OwnedByShop }),
		"spare pieces")
}

// A piece that is likelier to last than not must not be called worn out to the
// customer who pays for its successor.
func TestTheCustomerIsNotToldThatALastingPieceIsGoing(t *testing.T) {
	r := aReorder()
	for i := range r.Proposal.Named {
		n := &r.Proposal.Named[i]
		n.Why, n.PEnd, n.Washes = programme.CauseWorn, 0.3, 2
	}
	m, err := message.ComposeReorder(r)
	require.NoError(t, err)
	require.NotContains(t, m.Text, "worn out")
	require.NotContains(t, m.Text, "washed")
	require.NotContains(t, m.Text, "High Street")
	text := strings.Join(strings.Fields(m.Text), " ")
	require.Contains(t, text, "28 pieces are for people whose old one more likely lasts beyond Mon 11 May than not; some may not, and nobody can say whose (−$438.00).")
	require.Contains(t, text,
		"Want fewer? ----------- If nobody starts until Mon 11 May, leave out the 4 pieces for starters (−$64.00)")
	require.Contains(t, text, "and those of 7 more, marked in the list")
	require.Contains(t, string(attachment(t, m, "-list.csv")), "old one may last")
}

func TestPressTimesAddUpAsTheyStand(t *testing.T) {
	r := aRound()
	r.Due[0].Proposal.PressHours, r.Due[1].Proposal.PressHours = 17.0/60, 33.0/60
	m, err := message.ComposeRound(r)
	require.NoError(t, err)
	require.Contains(t, m.Text, "At the press: 55 min")
}

// The way of a printer's sheets is paid once, however many kinds of them there
// are, and not at all when they come with the blanks of the same house.
func TestTheFreightOfSheetsIsToldAsOftenAsItIsPaid(t *testing.T) {
	r := aRound()
	r.Sheets = append(r.Sheets, r.Sheets[0])
	s, _ := r.Shop.Supplier(r.Sheets[0].Printer)
	s.Freight, s.FreeFreightFrom = 1234, 0
	m, err := message.ComposeRound(r)
	require.NoError(t, err)
	require.Equal(t, 1, strings.Count(m.Text, "freight $12.34"))
	require.Equal(t, 1, strings.Count(strings.Join(strings.Fields(m.Text), " "),
		"in one delivery with the other sheets"))

	for i := range r.Shop.Garments {
		r.Shop.Garments[i].Supplier = s.Code
	}
	m, err = message.ComposeRound(r)
	require.NoError(t, err)
	require.Equal(t, 1, strings.Count(m.Text, "freight $12.34"), "for the blanks alone")
	require.Equal(t, 2, strings.Count(strings.Join(strings.Fields(m.Text), " "), "in one delivery with the blanks"))
}

func TestTheFreightOfSheetsIsForTheOwnerAlone(t *testing.T) {
	r := aRound()
	s, _ := r.Shop.Supplier(r.Sheets[0].Printer)
	s.Freight, s.FreeFreightFrom = 1234, 0
	m, err := message.ComposeRound(r)
	require.NoError(t, err)
	require.Contains(t, m.Text, "freight $12.34")
	o, err := message.ComposeSupplierOrder(message.SupplierOrder{Shop: r.Shop, Supplier: s.Code, AsOf: r.AsOf,
		Number: 1, Sheets: r.Sheets})
	require.NoError(t, err)
	require.NotContains(t, o.Text, "12.34")
	require.Contains(t, o.Text, "without freight")
}

// A garment of which no old piece has likely ended by then still says what it is for.
func TestNoRowOfAnOrderStandsWithoutAReason(t *testing.T) {
	r := aReorder()
	p := *r.Proposal
	p.Named = append([]reorder.Named(nil), p.Named...)
	for i := range p.Named {
		p.Named[i].Why, p.Named[i].PEnd = programme.CauseWorn, 0.2
	}
	r.Proposal = &p
	m, err := message.ComposeReorder(r)
	require.NoError(t, err)
	require.Contains(t, strings.Join(strings.Fields(m.Text), " "), "whose old one may last; ")
}

// What costs more to bring than to buy is explained, and what waits for that is named.
func TestDearWaysAreExplained(t *testing.T) {
	r := aRound()
	p := r.Due[0].Proposal
	read := func() string {
		m, err := message.ComposeRound(r)
		require.NoError(t, err)
		return strings.Join(strings.Fields(m.Text), " ")
	}
	p.Suppliers = append(p.Suppliers, reorder.SupplierOrder{Supplier: "film", Value: 102, Freight: 900, Pieces: 3,
		Saves: 7533})
	p.Waits = []reorder.Waiting{{Supplier: "film",
		Lines:  []reorder.Choose{{SKU: programme.SKU{Garment: "tee", Colour: "black", Size: "S"}, Pieces: 2}},
		Charge: 900, Missing: 650}}
	text := read()
	require.Contains(t, text, "$9.00 freight for $1.02 of goods from film: still worth it: the 3 pieces made with them would be missing until the next order, about $75 by the shares under missing: in shop.yaml.")
	require.Contains(t, text, "Left for a later order: Crew tee, black: S 2. film would charge $9.00 to bring what they need now; missing them until then costs about $7.")
	p.Suppliers[len(p.Suppliers)-1].Saves = 0
	require.Contains(t, read(),
		"$9.00 freight for $1.02 of goods from film: people wait for the 3 pieces made with them.")
	p.Suppliers[len(p.Suppliers)-1].Value = 900
	require.NotContains(t, read(), "freight for")
}

// Papers and mails carry the wearer's name where the kit has it, and ask where none can
// be printed.
func TestNamesStandOnEveryPaper(t *testing.T) {
	shop, client, people := aShop(), bakery(), bakers()
	shop.Artworks = append(shop.Artworks, programme.Artwork{Code: "names", Client: "bakery", Name: "Name", Kind: "film",
		Width: 3 * programme.Inch, Height: programme.Inch / 2, Text: programme.FirstName, LetterColour: "#ffffff"})
	client.Roles[0].Kit[0].Decorations = append(client.Roles[0].Kit[0].Decorations,
		programme.Decoration{Artwork: "names", Place: "right-chest"})
	for i := range people {
		if people[i].StaffID == "b4" {
			people[i].Name = "李娜"
		}
	}
	p := bakeryProposal()
	job, err := message.ComposeJob(message.Job{Shop: shop, Client: client, Proposal: p, People: people})
	require.NoError(t, err)
	texts := map[string]string{}
	for _, a := range job.Attachments {
		texts[a.Name] = string(a.Data)
	}
	list := texts[fmt.Sprintf("job-%d-packing-list.csv", p.Number)]
	require.Contains(t, list, "print_name")
	named := 0
	for _, n := range p.Named {
		if n.Garment == "tee" && n.StaffID == "b1" {
			named += n.Pieces
		}
	}
	require.Positive(t, named)
	require.Regexp(t, `b1,Amara Osei,.*Crew tee.*,Amara`, list)
	require.Contains(t, job.Text, "Name on Crew tee, right chest")
	require.Contains(t, job.Text, "Measure to the top of the capital letters")

	mail, err := message.ComposeReorder(message.Reorder{Shop: shop, Client: client, Proposal: p, People: people})
	require.NoError(t, err)
	require.Contains(t, mail.Text, "Crew tee, black, M, “Amara”")
	require.Contains(t, mail.Text, "李娜: which name goes on Crew tee? We cannot print one")
}

// In a first order nothing is worn out, and sizes that are numbers stand behind the pieces.
func TestAFirstOrderIsWhatIsMissing(t *testing.T) {
	r := aReorder()
	r.Shop = aShop()
	r.Shop.Garments = append(r.Shop.Garments, programme.Garment{Code: "trousers", Name: "Work trousers",
		FabricClass: r.Shop.Garments[0].FabricClass, SizeFamily: "bottom",
		Supplier: r.Shop.Garments[0].Supplier, Colours: []string{"black"},
		Sizes: []programme.GarmentSize{{Code: "30"}, {Code: "32"}}})
	client := *r.Client
	client.Roles = slices.Clone(client.Roles)
	client.Roles[0].Kit = append(slices.Clone(client.Roles[0].Kit),
		programme.KitLine{Garment: "trousers", Colour: "black", Each: 5})
	r.Client = &client
	var named []reorder.Named
	for i, size := range []string{"30", "32", "32"} {
		named = append(named, reorder.Named{StaffID: r.People[i].StaffID,
			SKU: programme.SKU{Garment: "trousers", Colour: "black", Size: size}, Pieces: 5,
			Why: programme.CauseOwed, PEnd: 1})
	}
	p, err := reorder.Direct(r.Shop, r.Client, monday, named, nil)
	require.NoError(t, err)
	for i := range p.Lines {
		p.Lines[i].AtTarget = p.Lines[i].Order // as a round finds it
	}
	r.Proposal = p
	m, err := message.ComposeReorder(r)
	require.NoError(t, err)
	words := strings.Join(strings.Fields(m.Text), " ")
	require.Contains(t, words, "here is what is missing from your people's kits.")
	require.NotContains(t, words, "swap one for one")
	require.Contains(t, words, "5 × 30, 10 × 32")
}

// A metric shop's ticket has whole millimetres; spares that two garments share are not
// taken twice; and a ladies' polo is drawn as a polo.
func TestATicketIsReadAtThePress(t *testing.T) {
	j := aJob()
	shop := *j.Shop
	shop.Units = programme.Millimetres
	j.Shop = &shop
	client := *j.Client
	client.Roles = slices.Clone(client.Roles)
	for i := range client.Roles {
		kit := slices.Clone(client.Roles[i].Kit)
		for n := range kit {
			for _, of := range kit {
				if of.Garment == "tee" && kit[n].Garment == "apron" {
					kit[n].Decorations = of.Decorations
				}
			}
		}
		client.Roles[i].Kit = kit
	}
	j.Client = &client
	m, err := message.ComposeJob(j)
	require.NoError(t, err)
	text := strings.Join(strings.Fields(m.Text), " ")
	require.Contains(t, text, "Within 6 mm and 1° of straight")
	require.Contains(t, text, "for all garments that carry it")
	for family, want := range map[string]document.Silhouette{"top": document.Polo, "ladies-top": document.Polo,
		"mens top": document.Polo, "bottom": document.Trousers, "ladies-bottom": document.Trousers,
		"head": document.NoSilhouette} {
		require.Equal(t, want, message.Silhouette(&programme.Garment{Code: "polo-x", FabricClass: "blend-polo",
			SizeFamily: family}), family)
	}
}

// A form that goes out for its day alone still says that its numbers and its price are other than on the one before.
func TestANewFormSaysWhatIsTooLittleToBeListed(t *testing.T) {
	r := aSecondForm()
	r.Differs = []reorder.Difference{{Kind: reorder.OtherArrival, WasDay: r.Before.Arrives, IsDay: r.Proposal.Arrives}}
	m, err := message.ComposeReorder(r)
	require.NoError(t, err)
	require.Contains(t, m.Forward.Text, "- together 33 pieces instead of 30, $516.00 instead of $474.00\n- in hands on ")
	r.Client.ShowPrices = false
	m, err = message.ComposeReorder(r)
	require.NoError(t, err)
	require.Contains(t, m.Forward.Text, "- together 33 pieces instead of 30\n- in hands on ")
}
