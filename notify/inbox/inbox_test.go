package inbox_test

import (
	"bytes"
	"crypto"
	"crypto/ed25519"
	"encoding/base64"
	"errors"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/emersion/go-msgauth/dkim"
	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/notify/inbox"
	"github.com/kitmuster/kitmuster/programme"
)

const corpus = "../../testdata/post/"

// body is an honest mail but for its headers, in the order in which they are signed.
const letter = "From: Tom <tom@bakery.example>\r\nTo: answers@shop.example\r\nSubject: Yes [p12.1.abcdefghij234567]\r\nDate: Tue, 03 Mar 2026 09:00:00 +0000\r\nMessage-ID: <1@bakery.example>\r\n\r\nYes please\r\n"

// signer makes signatures for a domain, and finds its key as the DNS would.
type signer struct {
	domain string
	key    ed25519.PrivateKey
}

func newSigner(domain string) signer {
	return signer{domain, ed25519.NewKeyFromSeed(bytes.Repeat([]byte{7}, ed25519.SeedSize))}
}

func (s signer) sign(t *testing.T, raw string, headers ...string) []byte {
	t.Helper()
	var out bytes.Buffer
	require.NoError(t, dkim.Sign(&out, strings.NewReader(raw), &dkim.SignOptions{Domain: s.domain, Selector: "s1",
		Signer: crypto.Signer(s.key), HeaderKeys: headers}))
	return out.Bytes()
}

func (s signer) lookup(name string) ([]string, error) {
	if name != "s1._domainkey."+s.domain {
		return nil, errors.New("no such name")
	}
	return []string{"v=DKIM1; k=ed25519; p=" + base64.StdEncoding.EncodeToString(s.key.Public().(ed25519.PublicKey))},
		nil
}

var all = []string{"From", "To", "Subject", "Date"}

func TestASignatureIsBelievedWhereItCoversWhatCounts(t *testing.T) {
	own, other, mail := newSigner("bakery.example"), newSigner("evil.example"), newSigner("mail.bakery.example")
	for name, c := range map[string]struct {
		raw  []byte
		keys signer
		good bool
	}{
		"all that counts":         {own.sign(t, letter, all...), own, true},
		"a subdomain of the same": {mail.sign(t, letter, all...), mail, true},
		"another domain":          {other.sign(t, letter, all...), other, false},
		"From alone":              {own.sign(t, letter, "From"), own, false},
		"without Subject":         {own.sign(t, letter, "From", "To", "Date"), own, false},
		"without Date":            {own.sign(t, letter, "From", "To", "Subject"), own, false},
		"another body": {bytes.Replace(own.sign(t, letter, all...), []byte("Yes please"),
			[]byte("Yes indeed"), 1), own, false},
		"another subject": {bytes.Replace(own.sign(t, letter, all...), []byte("p12.1"), []byte("p13.1"),
			1), own, false},
		"a second From above": {append([]byte("From: Eve <eve@evil.example>\r\n"),
			own.sign(t, letter, all...)...), own, false},
		"a second Subject above": {append([]byte("Subject: Yes [p13.1.abcdefghij234567]\r\n"),
			own.sign(t, letter, all...)...), own, false},
		"an In-Reply-To that was added": {append([]byte("In-Reply-To: <x@y.example>\r\n"),
			own.sign(t, letter, all...)...), own, true},
		"no signature": {[]byte(letter), own, false},
	} {
		t.Run(name, func(t *testing.T) {
			l, err := inbox.Read(c.raw, inbox.DefaultLimits)
			require.NoError(t, err)
			_, good, err := l.Believe(inbox.Trust{LookupTXT: c.keys.lookup})
			require.NoError(t, err)
			require.Equal(t, c.good, good)
		})
	}
}

type temporary struct{ error }

func (temporary) Temporary() bool { return true }
func (temporary) Timeout() bool   { return true }

// A key that cannot be looked up now is no proof against the mail.
func TestALookupThatFailsIsTriedAgain(t *testing.T) {
	own := newSigner("bakery.example")
	l, err := inbox.Read(own.sign(t, letter, all...), inbox.DefaultLimits)
	require.NoError(t, err)
	_, good, err := l.Believe(inbox.Trust{LookupTXT: func(string) ([]string, error) {
		return nil, temporary{errors.New("no answer")}
	}})
	require.False(t, good)
	require.ErrorContains(t, err, "bakery.example")
}

// Of ten thousand mutations of a signed mail, those that are still believed say what
// the sender said.
func TestMutationsOfASignedMailAreNotBelieved(t *testing.T) {
	own := newSigner("bakery.example")
	raw := own.sign(t, letter, all...)
	want, err := inbox.Read(raw, inbox.DefaultLimits)
	require.NoError(t, err)
	rng := rand.New(rand.NewPCG(3, 5))
	n, believed := 10_000, 0
	if testing.Short() {
		n = 1000
	}
	for range n {
		out := bytes.Clone(raw)
		for range 1 + rng.IntN(3) {
			i, j := rng.IntN(len(out)), rng.IntN(len(out))
			i, j = min(i, j), max(i, j)
			switch rng.IntN(3) {
			case 0:
				out[i] ^= 1 << rng.IntN(8)
			case 1:
				out = append(out[:i:i], out[j:]...)
			default:
				out = append(out[:j:j], out[i:]...)
			}
		}
		l, err := inbox.Read(out, inbox.DefaultLimits)
		if err != nil {
			continue
		}
		if _, good, err := l.Believe(inbox.Trust{LookupTXT: own.lookup}); good {
			require.NoError(t, err)
			believed++
			require.Equal(t, want.Sender(), l.Sender())
			require.Equal(t, want.Tokens, l.Tokens)
			require.Equal(t, strings.Join(strings.Fields(want.Text), " "), strings.Join(strings.Fields(l.Text), " "),
				"%q", out)
		}
	}
	require.Positive(t, believed, "headers that nobody signs may change")
}

func TestTokensAreForOneQuestionAndKey(t *testing.T) {
	a, b := inbox.NewKey(), inbox.NewKey()
	token, q := inbox.Token{Kind: inbox.ToProposal, Number: 12, Form: 3},
		inbox.QuestionOf("bakery", programme.NewDate(2026, 3, 2))
	written, err := inbox.Keys{a}.Write(token, q)
	require.NoError(t, err)
	require.Regexp(t, `^p12\.3\.[a-z2-7]{16}$`, written)
	mark := written[strings.LastIndexByte(written, '.')+1:]
	require.True(t, inbox.Keys{a}.Good(token, q, mark))
	require.True(t, inbox.Keys{b, a}.Good(token, q, strings.ToUpper(mark)), "the key before the newest counts")
	require.False(t, inbox.Keys{b}.Good(token, q, mark))
	require.False(t, inbox.Keys{}.Good(token, q, mark))
	require.False(t, inbox.Keys{a}.Good(inbox.Token{Kind: inbox.ToProposal, Number: 12, Form: 2}, q, mark))
	require.False(t, inbox.Keys{a}.Good(inbox.Token{Kind: inbox.ToProposal, Number: 1, Form: 23}, q, mark))
	require.False(t, inbox.Keys{a}.Good(token, inbox.QuestionOf("bakery2", programme.NewDate(2026, 3, 2)), mark))
	require.False(t, inbox.Keys{a}.Good(token, inbox.QuestionOf("bakery", programme.NewDate(2026, 3, 3)), mark))
	require.False(t, inbox.Keys{a}.Good(token, q, ""))
	_, err = inbox.Keys{}.Write(token, q)
	require.ErrorIs(t, err, inbox.ErrNoKey)
}

func TestKeysAreKeptPrivateAndRenewed(t *testing.T) {
	path := filepath.Join(t.TempDir(), "replies.key")
	first, err := inbox.OpenKeys(path)
	require.NoError(t, err)
	require.Len(t, first, 1)
	same, err := inbox.OpenKeys(path)
	require.NoError(t, err)
	require.Equal(t, first, same)
	for range 2 {
		require.NoError(t, inbox.RenewKeys(path))
	}
	now, err := inbox.OpenKeys(path)
	require.NoError(t, err)
	require.Len(t, now, 2)
	require.NotContains(t, now, first[0], "after two renewals the first is gone")
	require.NoError(t, os.Chmod(path, 0o640))
	_, err = inbox.OpenKeys(path)
	require.ErrorContains(t, err, "may be read by others")
	require.NoError(t, os.Chmod(path, 0o600))
	require.NoError(t, os.WriteFile(path, []byte("abc\n"), 0o600))
	_, err = inbox.OpenKeys(path)
	require.ErrorContains(t, err, "no key of 32 bytes")
}

// A mail is moved once it is kept, and stays where it was else.
func TestAMailFolderLosesNothing(t *testing.T) {
	dir := t.TempDir()
	m := inbox.Maildir{Dir: dir}
	var got []string
	keep := func(name string, raw []byte) error {
		got = append(got, name+"="+string(raw))
		return nil
	}
	require.NoError(t, m.Take(t.Context(), 100, keep))
	for name, text := range map[string]string{"new/2.host": "b", "new/1.host": "a", "by-hand.eml": "c",
		"notes.txt": "d", "tmp/3.host": "e", "new/.hidden": "f", "new/long": strings.Repeat("x", 200)} {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600))
	}
	full := errors.New("the disk is full")
	require.ErrorIs(t, m.Take(t.Context(), 100, func(string, []byte) error { return full }), full)
	require.NoError(t, m.Take(t.Context(), 100, keep))
	require.Equal(t, []string{"1.host=a", "2.host=b", "long=" + strings.Repeat("x", 101), "by-hand.eml=c"}, got)
	got = nil
	require.NoError(t, m.Take(t.Context(), 100, keep))
	require.Empty(t, got)
	for _, name := range []string{"cur/1.host:2,S", "cur/by-hand.eml:2,S", "notes.txt", "tmp/3.host", "new/.hidden"} {
		require.FileExists(t, filepath.Join(dir, name))
	}
}

func TestWhatALineMeans(t *testing.T) {
	about := inbox.About{Proposal: 12, Form: 2, Pieces: 44}
	today := programme.NewDate(2026, 3, 3)
	for text, want := range map[string]inbox.Answer{
		"Yes to proposal 12, form 2: 44 pieces.": {Verdict: inbox.Yes},
		"Yes to proposal 13":                     {Verdict: inbox.Unclear},
		"Order number, if any: 99\nYes":          {Verdict: inbox.Unclear},
		"Yes\nOrder number, if any: PO-7 b":      {Verdict: inbox.Yes, OrderNumber: "PO-7 b"},
		"Yes\nOrder number, if any:\nPO-7":       {Verdict: inbox.Yes, OrderNumber: "PO-7"},
		"Not now.\nPlease ask again about proposal 12 on: 1 May": {Verdict: inbox.NotNow,
			Until: programme.NewDate(2026, 5, 1)},
		"Not now.\nPlease ask again about proposal 12 on: Feb 1": {Verdict: inbox.NotNow,
			Until: programme.NewDate(2027, 2, 1)},
		"No.\nBecause: new logo":                          {Verdict: inbox.No, Because: "new logo"},
		"No thanks, we do not want it.":                   {Verdict: inbox.No},
		"Yes to proposal 12, form 2, with these changes:": {Verdict: inbox.Changes},
		"yes, with some changes":                          {Verdict: inbox.Changes},
		"Please cancel":                                   {Verdict: inbox.No},
		"Yes yes yes":                                     {Verdict: inbox.Yes},
		"Nein":                                            {Verdict: inbox.Unclear},
	} {
		raw := "From: a@b.example\r\n\r\n" + strings.ReplaceAll(text, "\n", "\r\n")
		l, err := inbox.Read([]byte(raw), inbox.DefaultLimits)
		require.NoError(t, err)
		got := l.Judge(about, today)
		if want.Verdict == inbox.Unclear {
			require.NotEmpty(t, got.Doubt, text)
			got.Doubt = ""
		}
		require.Equal(t, want, got, text)
	}
}

func FuzzRead(f *testing.F) {
	files, err := filepath.Glob(corpus + "*.eml")
	require.NoError(f, err)
	require.NotEmpty(f, files)
	for _, name := range files {
		raw, err := os.ReadFile(name)
		require.NoError(f, err)
		f.Add(raw)
	}
	f.Fuzz(func(t *testing.T, raw []byte) {
		l, err := inbox.Read(raw, inbox.DefaultLimits)
		if err != nil {
			var fault *inbox.Fault
			require.ErrorAs(t, err, &fault)
			return
		}
		require.LessOrEqual(t, len(l.Files), inbox.DefaultLimits.Parts)
		a := l.Judge(inbox.About{Proposal: 12, Form: 1, Pieces: 11}, programme.NewDate(2026, 3, 3))
		if a.Verdict == inbox.Yes && a.Doubt == "" {
			require.NotEmpty(t, l.Said)
		}
		_, good, err := l.Believe(inbox.Trust{Server: "mx.example"})
		require.NoError(t, err)
		if good {
			require.NotEmpty(t, l.Sender())
		}
	})
}
