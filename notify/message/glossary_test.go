package message_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// One word for one thing: causes, states and units are told by the tables of
// programme (causes, Units) and reorder (states), and by no word beside them.
func TestMailsTellCausesStatesAndUnitsFromTheirTables(t *testing.T) {
	words := func(s string) string { return strings.Join(strings.Fields(s), " ") }
	for _, cause := range []programme.Cause{programme.CauseWorn, programme.CausePrint, programme.CauseMishap,
		programme.CauseHires, programme.CauseOwed} {
		r := aReorder()
		for i := range r.Proposal.Named {
			r.Proposal.Named[i].Why, r.Proposal.Named[i].PEnd = cause, 0.9
		}
		m, err := message.ComposeReorder(r)
		require.NoError(t, err)
		require.NotEmpty(t, cause.Word())
		require.Contains(t, words(m.Text), cause.Word())
		require.Contains(t, string(attachment(t, m, "-list.csv")), cause.Word())
		require.Contains(t, words(pdfText(t, attachment(t, m, "-order-form.pdf"))), cause.Word())
	}
	for _, state := range reorder.States() {
		require.NotEmpty(t, state.Word(), "%s has words", state)
		r := aRound()
		p := bakeryProposal()
		p.State = state
		r.Waiting = []message.Waiting{{Client: bakery(), Proposal: p}}
		m, err := message.ComposeRound(r)
		require.NoError(t, err)
		require.Contains(t, words(m.Text), state.Word())
	}
	for _, u := range programme.AllUnits() {
		j := aJob()
		j.Shop.Units = u
		m, err := message.ComposeJob(j)
		require.NoError(t, err)
		require.Contains(t, words(m.Text), " "+u.Suffix()+" wide")
		require.Contains(t, pdfText(t, attachment(t, m, "-ticket.pdf")), " "+u.Suffix()+" wide")
	}
	for name, m := range mails(t) {
		for _, old := range []string{"print gone", "wearing off", "wearing out", "shipped figure", "pinball",
			"strength_person_years", "regime", " overs"} {
			require.NotContains(t, words(m.Text), old, name)
		}
	}
}

// What was told once stays told: a second mail in the same state of things has its
// tables and no sentence of the first.
func TestNothingIsToldAgainWordForWord(t *testing.T) {
	first, err := message.ComposeRound(aRound())
	require.NoError(t, err)
	again := aRound()
	again.Told, again.Taken = first.Told, nil
	second, err := message.ComposeRound(again)
	require.NoError(t, err)
	require.Equal(t, first.Told, second.Told, "what stays as it is stays told in the third week")
	for _, title := range []string{"Half of them last", "What went wrong", "Counts", "Next", "Decide today"} {
		require.Contains(t, first.Text, title)
		require.NotContains(t, second.Text, title)
	}
	require.Contains(t, second.Text, "as told before: kitmuster proposal list, kitmuster held.")
	require.Contains(t, second.Text, "Due")
	again.Learnt[0].Median = 29
	third, err := message.ComposeRound(again)
	require.NoError(t, err)
	require.Contains(t, third.Text, "Half of them last", "what has changed is told")
	for _, m := range []message.Mail{first, second} {
		for _, mark := range m.Told {
			require.Regexp(t, "^[0-9a-f]{16}$", mark, "no words are kept")
		}
	}
}
