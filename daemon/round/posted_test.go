package round_test

import (
	"path"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/round"
	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/notify/outbox"
)

// posted returns the letters of a message as they lie in the outbox.
func posted(t *testing.T, b *books.Books, m round.Message) (out []outbox.Letter) {
	t.Helper()
	all, err := b.Store.Postings(t.Context(), false, 1000)
	require.NoError(t, err)
	for i := range m.Letters {
		for _, p := range all {
			if p.MessageID == m.Letters[i].MessageID && len(out) == i {
				l, ok, err := b.Store.Letter(t.Context(), p.ID)
				require.NoError(t, err)
				require.True(t, ok)
				out = append(out, l)
			}
		}
	}
	require.Len(t, out, len(m.Letters))
	return out
}

// whole returns a message with the pictures and attachments of its first letter; the
// mail to forward among them is made of the same ones.
func whole(t *testing.T, b *books.Books, m round.Message) round.Message {
	t.Helper()
	read, _, err := message.Read(posted(t, b, m)[0].Bytes)
	require.NoError(t, err)
	require.Equal(t, m.Subject, read.Subject)
	m.HTML, m.Inline = read.HTML, read.Inline
	m.Attachments = slices.DeleteFunc(read.Attachments, func(p message.Part) bool { return path.Ext(p.Name) == ".eml" })
	return m
}
