package message_test

import (
	"bytes"
	"encoding/base64"
	"io"
	"mime"
	"mime/multipart"
	"mime/quotedprintable"
	"net/mail"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/programme"
)

// leaf is a part of a message that holds data.
type leaf struct {
	kind, name, cid string
	data            []byte
}

func leaves(t *testing.T, header map[string][]string, body io.Reader) []leaf {
	t.Helper()
	h := mail.Header(header)
	kind, params, err := mime.ParseMediaType(h.Get("Content-Type"))
	require.NoError(t, err)
	if !strings.HasPrefix(kind, "multipart/") {
		switch strings.ToLower(h.Get("Content-Transfer-Encoding")) {
		case "base64":
			body = base64.NewDecoder(base64.StdEncoding, body)
		case "quoted-printable":
			body = quotedprintable.NewReader(body)
		}
		data, err := io.ReadAll(body)
		require.NoError(t, err)
		_, place, _ := mime.ParseMediaType(h.Get("Content-Disposition"))
		return []leaf{{kind, place["filename"], strings.Trim(h.Get("Content-Id"), "<>"), data}}
	}
	var out []leaf
	r := multipart.NewReader(body, params["boundary"])
	for {
		p, err := r.NextRawPart()
		if err == io.EOF {
			return out
		}
		require.NoError(t, err)
		out = append(out, leaves(t, p.Header, p)...)
	}
}

func TestMessageArrivesWithAllItsParts(t *testing.T) {
	for name, m := range mails(t) {
		raw, err := m.Bytes(envelope)
		require.NoError(t, err, name)
		got, err := mail.ReadMessage(bytes.NewReader(raw))
		require.NoError(t, err, name)
		parts := leaves(t, got.Header, got.Body)
		forwards := 0
		if m.Forward != nil {
			forwards = 1
		}
		require.Len(t, parts, 2+len(m.Inline)+len(m.Attachments)+forwards, name)
		require.Equal(t, "text/plain", parts[0].kind, name)
		require.Equal(t, m.Text, strings.ReplaceAll(string(parts[0].data), "\r\n", "\n"), name)
		require.Equal(t, "text/html", parts[1].kind, name)
		require.Equal(t, m.HTML, strings.ReplaceAll(string(parts[1].data), "\r\n", "\n"), name)
		for i, p := range append(m.Inline, m.Attachments...) {
			require.Equal(t, p.Data, parts[2+i].data, "%s: %s", name, p.Name)
			require.Equal(t, p.Name, parts[2+i].name, name)
			require.Equal(t, p.CID, parts[2+i].cid, name)
			require.Equal(t, p.Type, parts[2+i].kind, name)
		}
		for line := range bytes.Lines(raw) {
			require.LessOrEqual(t, len(line), 1000, "%s: RFC 5322 2.1.1", name)
			require.True(t, bytes.HasSuffix(line, []byte("\r\n")), "%s: RFC 5321 2.3.8", name)
		}
	}
}

var boundary = regexp.MustCompile(`[0-9a-f]{40,}`)

func TestTwoWritingsDifferInBoundariesAlone(t *testing.T) {
	again := mails(t)
	for name, m := range mails(t) {
		one, err := m.Bytes(envelope)
		require.NoError(t, err)
		two, err := again[name].Bytes(envelope)
		require.NoError(t, err)
		require.Equal(t, boundary.ReplaceAllString(string(one), "B"), boundary.ReplaceAllString(string(two), "B"), name)
	}
}

func TestMessageIDComesFromTheProposal(t *testing.T) {
	m, err := message.ComposeReorder(aReorder())
	require.NoError(t, err)
	raw, err := m.Bytes(envelope)
	require.NoError(t, err)
	require.Contains(t, string(raw), "Message-ID: <proposal-17@millbrook.example>\r\n")
	require.Contains(t, string(raw), "Date: Mon, 02 Mar 2026 07:00:00 +0000\r\n")
	require.Contains(t, string(raw), "Auto-Submitted: auto-generated\r\n")
	head, _, _ := strings.Cut(string(raw), "\r\n\r\n")
	require.NotContains(t, head, "X-Unsent")
}

func TestDraftOpensForSending(t *testing.T) {
	r := aReorder()
	m, err := message.ComposeReorder(r)
	require.NoError(t, err)
	raw, err := m.AsDraft().Bytes(message.Envelope{From: r.Shop.Managers[0].Contact, Date: envelope.Date})
	require.NoError(t, err)
	require.Contains(t, string(raw), "X-Unsent: 1\r\n")
	require.Contains(t, string(raw), `From: "Tom Lark" <tom@millbrook.example>`)
	require.Contains(t, string(raw), `To: "Nell Abara" <nell@copperhearth.example>`)
	require.Contains(t, string(raw), "Message-ID: <proposal-17.draft@millbrook.example>")
	require.NotContains(t, string(raw), "Auto-Submitted")
}

// The manager reads what to do; what goes on to the customer does not hold it.
func TestTheCleanDraftIsAttached(t *testing.T) {
	m, err := message.ComposeReorder(aReorder())
	require.NoError(t, err)
	require.Contains(t, m.Text, "Please send what is below the line to Nell Abara,\nnell@copperhearth.example.")
	raw, err := m.Bytes(envelope)
	require.NoError(t, err)
	got, err := mail.ReadMessage(bytes.NewReader(raw))
	require.NoError(t, err)
	parts := leaves(t, got.Header, got.Body)
	last := parts[len(parts)-1]
	require.Equal(t, "message/rfc822", last.kind)
	draft, err := mail.ReadMessage(bytes.NewReader(last.data))
	require.NoError(t, err)
	require.Equal(t, `"Tom Lark" <tom@millbrook.example>`, draft.Header.Get("From"))
	require.Equal(t, `"Nell Abara" <nell@copperhearth.example>`, draft.Header.Get("To"))
	inner := leaves(t, draft.Header, draft.Body)
	require.NotContains(t, string(inner[0].data), "below the line")
	require.Contains(t, string(inner[0].data), "Dear Nell Abara,")
	require.Len(t, inner, 2+3, "text, HTML, form, list, dates")
}

func TestCountFormAsksForAnswersToTheManager(t *testing.T) {
	m, err := message.ComposeCount(aCount())
	require.NoError(t, err)
	raw, err := m.Bytes(envelope)
	require.NoError(t, err)
	require.Contains(t, string(raw), `Reply-To: "Tom Lark" <tom@millbrook.example>`)
	require.Contains(t, string(raw), `To: "Nell Abara" <nell@copperhearth.example>`)
}

// Who is there fills the form in: each place with a contact of its own has its part.
func TestEachPlaceGetsItsOwnForm(t *testing.T) {
	c := aCount()
	c.Client.Contacts = []programme.SiteContact{{Contact: programme.Contact{Name: "Sia Moro",
		Email: "sia@copperhearth.example"}, Site: "station "}, {Contact: programme.Contact{Name: "Al",
		Email: "al@copperhearth.example"}}}
	rows := 0
	parts := c.Parts()
	require.Len(t, parts, 2)
	for _, part := range parts {
		rows += len(part.Rows)
		m, err := message.ComposeCount(part)
		require.NoError(t, err)
		for _, r := range part.Rows {
			require.Equal(t, part.Site == "Station", r.Person.Site == "Station")
		}
		if part.Site == "High Street" {
			require.Equal(t, "nell@copperhearth.example", m.To[0].Email)
			require.Contains(t, m.Subject, "Copper Hearth Bakery, High Street",
				"the only place that is left to the customer")
			continue
		}
		require.Equal(t, "sia@copperhearth.example", m.To[0].Email)
		require.Contains(t, m.Subject, "Copper Hearth Bakery, Station")
		require.Contains(t, m.Text, "Dear Sia Moro,")
		require.Contains(t, m.Attachments[0].Name, "-station-")
	}
	require.Len(t, c.Rows, rows)
	c.Client.Contacts = nil
	require.Empty(t, c.Parts()[0].Site, "all places on one form")
}

// The customer is not told that a number is on record which past orders only let assume.
func TestACountOfWhatIsAssumedSaysSo(t *testing.T) {
	c := aCount()
	c.Assumed = true
	m, err := message.ComposeCount(c)
	require.NoError(t, err)
	require.NotContains(t, m.Text, "what we have noted")
	require.NotContains(t, m.Text, "not ask for everything")
	require.Contains(t, m.Text, "only assumed")
}

func TestAddressesThatAServerWouldRefuse(t *testing.T) {
	for _, bad := range []string{"", "anna", "anna@localhost", "Anna <anna@example.com>",
		"anna@example.com, bo@example.com", "änna@example.com", "anna@example.com\r\nBcc: x@y.example",
		"anna @example.com", "@example.com", "anna@.com."} {
		require.ErrorIs(t, message.CheckAddress(bad), message.ErrNoAddress, "%q", bad)
	}
	require.NoError(t, message.CheckAddress("anna.b+kit@shop.example.com"))

	m, err := message.ComposeRound(quietRound())
	require.NoError(t, err)
	_, err = m.Bytes(message.Envelope{Date: envelope.Date})
	require.ErrorIs(t, err, message.ErrNoAddress, "no sender")
	m.To = nil
	_, err = m.Bytes(envelope)
	require.ErrorIs(t, err, message.ErrNoAddress, "nobody to send it to")
	_, err = m.Bytes(message.Envelope{From: envelope.From, Date: envelope.Date,
		To: []programme.Contact{{Email: "a@b.example"}}})
	require.NoError(t, err)
}
