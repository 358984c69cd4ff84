package main

import (
	"bytes"
	"encoding/base64"
	"encoding/csv"
	"io"
	"mime"
	"mime/multipart"
	"mime/quotedprintable"
	"net/mail"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

const pastOrders = "date,garment,colour,size,pieces,ref\n" +
	"2024-05-06,polo,navy,M,10,A1\n2024-05-06,polo,navy,L,6,A1\n2024-05-06,apron,black,one,12,A1\n" +
	"2025-02-03,polo,navy,M,6,A2\n2025-09-01,apron,black,one,4,A3\n2025-09-01,polo,white,S,6,A3\n"

// claims are words that would tell of something that past orders do not say.
var claims = regexp.MustCompile(`(?i)\d+ (recorded )?endings?\b|records say|your records|washed \d|ended\b.*worn|half last, by`)

// Past orders say when pieces were bought. From their import on, whatever is
// printed, mailed or written speaks of no ending and of nothing learnt, says
// "assumed", and asks for a count before anything is ordered.
func TestPastOrdersTeachNothingAndTheFirstThingIsACount(t *testing.T) {
	home := bakeryHome(t)
	orders := write(t, home, "orders.csv", pastOrders)
	said := map[string]string{"import": mustKit(t, home, "ledger", "import", "harbour", orders, "--orders",
		"--as-of", day)}
	require.Contains(t, said["import"], "assumed")
	require.Contains(t, mustKit(t, home, "log", "harbour"), "past orders from orders.csv")
	said["wear"] = mustKit(t, home, "wear", "harbour", "--as-of", day)
	said["muster"] = mustKit(t, home, "muster", "harbour", "--as-of", day)
	said["show"] = mustKit(t, home, "log", "harbour", "0001")
	for _, at := range []string{"wear", "muster", "show"} {
		require.Contains(t, said[at], "assumed", at)
	}
	said["replay"] = mustKit(t, home, "replay", "harbour", "--until", day)
	require.Contains(t, said["replay"], "assumed")
	said["choose"] = mustKit(t, home, "choose", "harbour")
	said["status"] = mustKit(t, home, "status")
	said["check"] = mustKit(t, home, "check")
	require.Contains(t, said["check"], "assumed")
	require.NotContains(t, said["check"], "All is well")
	status, out, errs := kit(t, home, "round", "--as-of", day)
	require.Equal(t, exitDone, status, errs)
	require.Contains(t, errs, "1 mail written to ")
	require.NotContains(t, errs, "draft", "there is none yet")
	said["round"] = out
	require.Contains(t, said["round"], "0 of 1 client is due", "a count comes first")
	owner := mailsIn(t, home, "mail")
	require.Contains(t, owner, "only assumed")
	require.NotRegexp(t, `about \d+ pieces`, owner, "what rests on assumptions is no number to plan by")
	require.Contains(t, owner, "go out Mon", "the owner reads of it before anybody is asked")
	require.Empty(t, mailsIn(t, home, "drafts"))

	_, _, errs = kit(t, home, "round", "--as-of", "2026-03-16")
	require.Regexp(t, `^1 mail written to \S+, 1 draft for customers to \S+\.\n$`, errs)
	form := attachmentIn(t, home, "drafts", ".csv")
	said["mails"], said["drafts"] = mailsIn(t, home, "mail"), mailsIn(t, home, "drafts")
	require.Contains(t, said["drafts"], "A count of ")
	require.Contains(t, said["drafts"], "only assumed")
	require.Contains(t, mustKit(t, home, "counts", "list", "--as-of", "2026-03-17"), "out")
	for name, text := range said {
		require.NotRegexp(t, claims, text, name)
	}
	for _, m := range export(t, home, "harbour") {
		require.NotEqual(t, "ended", m[1])
	}

	// The form comes back with what is really there; only then are there records. The
	// order does not go out by the first of its rows.
	filled := filledForm(t, form)
	rows := strings.SplitAfter(filled, "\n")
	mustKit(t, home, "ledger", "import", "harbour", write(t, home, "first-rows.csv", strings.Join(rows[:6], "")),
		"--as-of", "2026-03-17")
	require.Contains(t, mustKit(t, home, "counts", "list", "--as-of", "2026-03-17"), "2 of ")
	require.Contains(t, mustKit(t, home, "round", "--as-of", "2026-03-18"), "0 of 1 client is due")
	require.Contains(t, mailsIn(t, home, "mail"), "2 rows came")
	took := mustKit(t, home, "ledger", "import", "harbour", write(t, home, "count-back.csv", filled), "--as-of",
		"2026-03-20")
	require.Contains(t, took, "no day stands on the form, so it is taken as counted on 2026-03-20")
	after := mustKit(t, home, "muster", "harbour", "--as-of", "2026-03-20")
	require.NotContains(t, after, "all pieces in service are only assumed")
	require.Contains(t, after, "(assumed)", "a count shows that pieces are there, not how old they are")
	require.Contains(t, mustKit(t, home, "counts", "list", "--as-of", "2026-03-20"), "came back")
	require.Contains(t, mustKit(t, home, "round", "--as-of", "2026-03-27"), "1 of 1 client is due")
	asked := strings.Join(strings.Fields(mailsIn(t, home, "drafts")), " ")
	require.Contains(t, asked, "by ages assumed from past orders")
	require.NotContains(t, asked, "not yet counted", "they are, and their ages are not known by that")
}

// A count that the owner does not want is never sent, and nothing waits for it.
func TestACountThatIsStoppedGoesToNobody(t *testing.T) {
	home := bakeryHome(t)
	mustKit(t, home, "ledger", "import", "harbour", write(t, home, "orders.csv", pastOrders), "--orders",
		"--as-of", day)
	mustKit(t, home, "round", "--as-of", day)
	require.Contains(t, mustKit(t, home, "counts", "drop", "harbour", "--as-of", day), "is stopped")
	require.Contains(t, mustKit(t, home, "round", "--as-of", "2026-03-16"), "1 of 1 client")
	require.NotContains(t, mailsIn(t, home, "drafts"), "A count of")
	status, _, errs := kit(t, home, "counts", "drop", "harbour", "--as-of", day)
	require.Equal(t, exitWork, status)
	require.Contains(t, errs, "no count is announced")
}

func export(t *testing.T, home, client string) [][]string {
	t.Helper()
	rows, err := csv.NewReader(strings.NewReader(mustKit(t, home, "ledger", "export", client))).ReadAll()
	require.NoError(t, err)
	return rows[1:]
}

// filledForm writes into the form that each person has what is on record, and one fewer of the first.
func filledForm(t *testing.T, form string) string {
	t.Helper()
	r := csv.NewReader(strings.NewReader(strings.TrimPrefix(form, "\ufeff")))
	rows, err := r.ReadAll()
	require.NoError(t, err)
	at := slices.Index(rows[3], "Presentable")
	require.Positive(t, at, "%q", rows[3])
	for i := range rows[4:] {
		rows[4+i][at] = rows[4+i][at-1]
	}
	rows[4][at] = "none"
	var b bytes.Buffer
	require.NoError(t, csv.NewWriter(&b).WriteAll(rows))
	return b.String()
}

// mailsIn is the text of all letters of a folder; what lies there as HTML is left out.
func mailsIn(t *testing.T, home, dir string) string {
	t.Helper()
	var b strings.Builder
	eachPart(t, home, dir, func(name, kind string, data []byte) {
		if name == "" && strings.HasPrefix(kind, "text/plain") || strings.HasSuffix(name, ".csv") {
			b.Write(data)
		}
	})
	return b.String()
}

func attachmentIn(t *testing.T, home, dir, suffix string) string {
	t.Helper()
	var found string
	eachPart(t, home, dir, func(name, _ string, data []byte) {
		if strings.HasSuffix(name, suffix) {
			found = string(data)
		}
	})
	require.NotEmpty(t, found)
	return found
}

func eachPart(t *testing.T, home, dir string, f func(name, kind string, data []byte)) {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(home, dir, "*.eml"))
	require.NoError(t, err)
	for _, file := range files {
		raw, err := os.ReadFile(file)
		require.NoError(t, err)
		m, err := mail.ReadMessage(bytes.NewReader(raw))
		require.NoError(t, err)
		subject, err := new(mime.WordDecoder).DecodeHeader(m.Header.Get("Subject"))
		require.NoError(t, err)
		f("", "text/plain", []byte(subject+"\n"))
		walk(t, m.Header.Get("Content-Type"), "", m.Header.Get("Content-Transfer-Encoding"), m.Body, f)
	}
}

func walk(t *testing.T, kind, name, encoding string, body io.Reader, f func(name, kind string, data []byte)) {
	t.Helper()
	media, params, err := mime.ParseMediaType(kind)
	require.NoError(t, err)
	if !strings.HasPrefix(media, "multipart/") {
		data, err := io.ReadAll(decoded(encoding, body))
		require.NoError(t, err)
		f(name, kind, data)
		return
	}
	parts := multipart.NewReader(body, params["boundary"])
	for {
		p, err := parts.NextRawPart()
		if err == io.EOF {
			return
		}
		require.NoError(t, err)
		walk(t, p.Header.Get("Content-Type"), p.FileName(), p.Header.Get("Content-Transfer-Encoding"), p, f)
	}
}

func decoded(encoding string, body io.Reader) io.Reader {
	switch strings.ToLower(encoding) {
	case "base64":
		return base64.NewDecoder(base64.StdEncoding, body)
	case "quoted-printable":
		return quotedprintable.NewReader(body)
	}
	return body
}
