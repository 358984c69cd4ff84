package message_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

func TestEachSiteGetsAParcelWithItsAddressAndList(t *testing.T) {
	j := aJob()
	lists := func() string {
		m, err := message.ComposeJob(j)
		require.NoError(t, err)
		return pdfText(t, attachment(t, m, "-packing-lists.pdf"))
	}
	text := lists()
	for _, want := range []string{
		"Packing list, parcel 1 of 3", "Copper Hearth Bakery, High Street", "4 High Street, Millbrook", "Nell Abara",
		"parcel 2 of 3", "Platform 2, Millbrook Station", "Pia Sandoval", "parcel 3 of 3", "Starters and spares",
		"Packed and counted by",
	} {
		require.Contains(t, text, want)
	}
	for i := range j.Proposal.Named {
		p, _ := programme.Roster(j.People).Find(j.Proposal.Named[i].StaffID)
		name, _, _ := strings.Cut(p.Name, " (")
		require.Contains(t, text, name, "nobody is left out")
	}
	j.Client.PoolBelongsTo = programme.OwnedByShop
	kept := lists()
	require.NotContains(t, kept, "Starters and spares", "what the shop keeps is in no parcel")
	require.Contains(t, kept, "parcel 2 of 2")
	for i := range j.People {
		j.People[i].Site = ""
	}
	j.Client.Address = ""
	one := lists()
	require.NotContains(t, one, "parcel 1 of")
	require.Contains(t, one, "Address", "a line to write it on")
}

// A form takes the calendar entries of the form before along, and those of a
// proposal whose pieces it takes over out.
func TestALaterFormChangesTheCalendarAndWithdrawsWhatItReplaces(t *testing.T) {
	first := aReorder()
	m, err := message.ComposeReorder(first)
	require.NoError(t, err)
	require.Contains(t, string(attachment(t, m, "-dates.ics")), "SEQUENCE:0\r\n")

	second := aReorder()
	second.Proposal.Revision = 2
	second.Before = first.Proposal
	second.Replaces = []*reorder.Proposal{{Number: 21, AsOf: monday.Add(-3), OrderBy: monday.Add(2),
		Arrives: monday.Add(9)}}
	m, err = message.ComposeReorder(second)
	require.NoError(t, err)
	changed, withdrawn := string(attachment(t, m, "-dates.ics")), string(attachment(t, m, "-withdrawn.ics"))
	require.Contains(t, changed, "SEQUENCE:1\r\n")
	require.Contains(t, changed, "UID:proposal-17-answer@")
	require.Contains(t, withdrawn, "METHOD:CANCEL\r\n")
	require.Contains(t, withdrawn, "SEQUENCE:1\r\n")
	require.Contains(t, withdrawn, "UID:proposal-21-answer@")
	require.NotContains(t, withdrawn, "proposal-17")
	require.Contains(t, strings.Join(strings.Fields(m.Text), " "),
		"This form takes its place and that of proposal 21 of Fri 27 Feb, whose dates the file marked withdrawn takes out of your calendar.")
}

// Who changed size waits for an exchange: nothing of theirs is missing.
func TestAnExchangeIsNotSaidToBeMissing(t *testing.T) {
	r := aReorder()
	for i := range r.Proposal.Named {
		r.Proposal.Named[i].Why = programme.CauseOwed
	}
	for i := range r.People {
		r.People[i].Outgrown = map[string][]string{"top": {"XS"}, "one": {"x"}}
	}
	m, err := message.ComposeReorder(r)
	require.NoError(t, err)
	require.NotContains(t, m.Text, programme.CauseOwed.Word())
	require.Contains(t, strings.Join(strings.Fields(m.Text), " "),
		"are for another size: what fits no more comes back.")
	require.Contains(t, string(attachment(t, m, "-list.csv")), programme.NewSize.Word())
}

// Who changed from one cut to another keeps the size they had in no list: what they are
// owed is said to be for another cut.
func TestAnExchangeOfACutIsSaidToBeOne(t *testing.T) {
	r := aReorder()
	ladies := r.Shop.Garments[0]
	ladies.Code, ladies.SizeFamily = "tee-ladies", "ladies-top"
	r.Shop.Garments = append(r.Shop.Garments, ladies)
	for i := range r.Client.Roles {
		kit := &r.Client.Roles[i].Kit
		for _, l := range *kit {
			if l.Garment == "tee" {
				l.Garment, l.CutOf = "tee-ladies", l.Former()
				*kit = append(*kit, l)
			}
		}
	}
	for i := range r.Proposal.Named {
		r.Proposal.Named[i].Why = programme.CauseOwed
	}
	for i := range r.People {
		p := &r.People[i]
		p.Sizes = map[string]string{"ladies-top": "M"}
		p.Outgrown = map[string][]string{"top": {"L"}}
	}
	m, err := message.ComposeReorder(r)
	require.NoError(t, err)
	text := strings.Join(strings.Fields(m.Text), " ")
	require.Contains(t, text, "are for another cut: what fits no more comes back.")
	require.NotContains(t, text, programme.NewSize.Word())
	require.Contains(t, string(attachment(t, m, "-list.csv")), programme.NewCut.Word())
}

// The mail names a dozen people and counts the rest; where some are left out since their
// old pieces may last, the number of all is said to hold them.
func TestTheNumberOfPeopleInAMailSaysWhomItCounts(t *testing.T) {
	r := aReorder()
	kind := r.Proposal.Named[0]
	r.Proposal.Named, r.People = nil, nil
	for i := range 17 {
		p := programme.Person{StaffID: fmt.Sprintf("n%02d", i), Name: fmt.Sprintf("Ada Quill%c", 'a'+i),
			Role: r.Client.Roles[0].Code, Start: monday - 400, Sizes: map[string]string{"top": kind.Size}}
		n := kind
		n.StaffID, n.Pieces, n.Why, n.PEnd = p.StaffID, 1, programme.CauseWorn, 0.9
		if i >= 14 {
			n.PEnd = 0.2
		}
		r.People, r.Proposal.Named = append(r.People, p), append(r.Proposal.Named, n)
	}
	for i := range r.Proposal.Lines {
		if r.Proposal.Lines[i].SKU == kind.SKU {
			r.Proposal.Lines[i].Order = 17
		}
	}
	words := func() string {
		m, err := message.ComposeReorder(r)
		require.NoError(t, err)
		return strings.Join(strings.Fields(m.Text), " ")
	}
	require.Contains(t, words(),
		"And 2 more; the form and the list name everybody, 17 people with those whose old pieces may last.")
	for i := range r.Proposal.Named {
		r.Proposal.Named[i].PEnd = 0.9
	}
	require.Contains(t, words(), "And 5 more; the form and the list name everybody.")
}
