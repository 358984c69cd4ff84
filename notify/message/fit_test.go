package message_test

import (
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/programme"
)

var sealing = message.Envelope{From: programme.Contact{Name: "Ann, of the shop", Email: "ann@shop.example"},
	Date: time.Date(2026, 3, 9, 6, 30, 0, 0, time.UTC), MessageID: "a.b@shop.example"}

// noise cannot be compressed, as a detailed picture cannot.
func noise(n int) []byte {
	b := make([]byte, n)
	_, _ = rand.NewChaCha8([32]byte{7}).Read(b)
	return b
}

func heavy() message.Mail {
	return message.Mail{ID: "round-1", Subject: "Kit muster: 3 clients are due – order by Friday",
		To:     []programme.Contact{{Name: "Ann", Email: "ann@shop.example"}},
		Text:   "Muster\n\n3 clients are due; café.\n",
		HTML:   "<html><body><p>3 clients are due; café. <img src=\"cid:sheet-1\" width=\"6\" alt=\"Sheet 1 of film\" border=\"0\"></p>\n</td></tr></table>\n</td></tr></table>\n</body>\n</html>\n",
		Inline: []message.Part{{Name: "sheet-1.png", Type: "image/png", CID: "sheet-1", Data: noise(300_000)}},
		Attachments: []message.Part{{Name: "sheets.pdf", Type: "application/pdf", Data: noise(900_000)},
			{Name: "round.csv", Type: "text/csv", Data: []byte("a,b\r\n1,2\r\n")},
			{Name: "orders.pdf", Type: "application/pdf", Data: noise(500_000)}}}
}

func inPapers(p message.Part) string { return "papers/" + p.Name }

func TestWhatDoesNotFitIsTakenOutAndNamed(t *testing.T) {
	for _, c := range []struct {
		most int
		out  []string
	}{
		{10e6, nil},
		{1_300_000, []string{"sheets.pdf"}},
		{500_000, []string{"sheets.pdf", "orders.pdf"}},
		{50_000, []string{"sheets.pdf", "orders.pdf", "round.csv", "sheet-1.png"}},
	} {
		small, out := heavy().Fit(c.most, inPapers)
		var names []string
		for _, p := range out {
			names = append(names, p.Name)
			require.Contains(t, small.Text, "papers/"+p.Name+" (")
			require.Contains(t, small.HTML, "papers/"+p.Name+" (")
			require.Less(t, strings.Index(small.HTML, "papers/"+p.Name), strings.Index(small.HTML, "</table>"),
				"within the page")
		}
		require.Equal(t, c.out, names)
		written, err := small.Bytes(sealing)
		require.NoError(t, err)
		require.LessOrEqual(t, len(written), c.most)
		require.Equal(t, len(heavy().Attachments)+len(heavy().Inline),
			len(out)+len(small.Attachments)+len(small.Inline))
	}
	small, _ := heavy().Fit(50_000, inPapers)
	require.NotContains(t, small.HTML, "cid:", "no hole where a picture was")
	require.Contains(t, small.HTML, "<i>Sheet 1 of film</i>")
	require.Equal(t, heavy().HTML[:20], small.HTML[:20])
}

func TestWhatIsTakenOutNeverLeavesTheMailTooLarge(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := heavy()
		m.Text = rapid.String().Draw(t, "text") + "\n"
		m.HTML = "<body>" + rapid.String().Draw(t, "html") + "</body>"
		m.Attachments[0].Data = noise(rapid.IntRange(0, 2_000_000).Draw(t, "bytes"))
		most := rapid.IntRange(5_000, 4_000_000).Draw(t, "most")
		small, out := m.Fit(most, inPapers)
		written, err := small.Bytes(sealing)
		require.NoError(t, err)
		if len(small.Attachments)+len(small.Inline) > 0 || len(out) == 0 {
			require.LessOrEqual(t, len(written), most)
		}
		again, more := small.Fit(most, inPapers)
		require.Empty(t, more)
		require.Equal(t, small, again)
	})
}

func TestAWrittenMailIsReadAsItWas(t *testing.T) {
	want := heavy()
	want.ID = ""
	want.ReplyTo = programme.Contact{Name: "Bo Müller", Email: "bo@shop.example"}
	written, err := want.Bytes(sealing)
	require.NoError(t, err)
	got, env, err := message.Read(written)
	require.NoError(t, err)
	require.Equal(t, want, got)
	require.Equal(t, sealing.From, env.From)
	require.Equal(t, sealing.MessageID, env.MessageID)
	require.True(t, sealing.Date.Equal(env.Date))
}

func FuzzRead(f *testing.F) {
	m := heavy()
	m.Attachments, m.Inline = m.Attachments[1:2], nil
	written, err := m.Bytes(sealing)
	require.NoError(f, err)
	f.Add(written)
	f.Add([]byte("Subject: x\r\n\r\nHello"))
	f.Fuzz(func(t *testing.T, b []byte) {
		m, env, err := message.Read(b)
		if err != nil {
			return
		}
		written, err := m.Bytes(env)
		if err != nil { // such as an address without a domain
			return
		}
		_, again, err := message.Read(written)
		require.NoError(t, err)
		require.Equal(t, env.From.Email, again.From.Email)
	})
}
