package folder_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/notify/folder"
	"github.com/kitmuster/kitmuster/notify/outbox"
	"github.com/kitmuster/kitmuster/notify/outbox/outboxtest"
)

func TestAFolderIsAWayOut(t *testing.T) {
	outboxtest.Run(t, func(t *testing.T) outboxtest.Harness {
		dir := filepath.Join(t.TempDir(), "mail")
		return outboxtest.Harness{
			Sender: folder.New(dir),
			Received: func(t *testing.T, to string) [][]byte {
				names, err := filepath.Glob(filepath.Join(dir, "*--"+strings.ReplaceAll(to, "@", "_")+".eml"))
				require.NoError(t, err)
				var all [][]byte
				for _, n := range names {
					b, err := os.ReadFile(n)
					require.NoError(t, err)
					all = append(all, b)
				}
				return all
			},
			Break: func(t *testing.T) { require.NoError(t, os.WriteFile(dir, nil, 0o600)) },
		}
	})
}

func TestFilesAreForTheOwnerAlone(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "mail")
	require.NoError(t, folder.New(dir).Send(t.Context(), letter(t, dir), "anna@example.com"))
	files, err := os.ReadDir(dir)
	require.NoError(t, err)
	require.Len(t, files, 2, "the message and its page, and nothing half written")
	for _, f := range files {
		info, err := f.Info()
		require.NoError(t, err)
		require.Equal(t, os.FileMode(0o600), info.Mode().Perm(), f.Name())
	}
}

func letter(t *testing.T, dir string) *outbox.Letter {
	t.Helper()
	require.NoError(t, os.MkdirAll(dir, 0o700))
	return &outbox.Letter{ID: 7, MessageID: "round-1@shop.example", Bytes: []byte(strings.ReplaceAll(`From: owner@shop.example
Subject: x
MIME-Version: 1.0
Content-Type: multipart/mixed; boundary=a

--a
Content-Type: multipart/related; boundary=b

--b
Content-Type: multipart/alternative; boundary=c

--c
Content-Type: text/plain; charset=utf-8
Content-Transfer-Encoding: quoted-printable

caf=C3=A9
--c
Content-Type: text/html; charset=utf-8
Content-Transfer-Encoding: quoted-printable

<p>caf=C3=A9 <img src=3D"cid:ahead-1" alt=3D"x"></p>
--c--
--b
Content-Type: image/png
Content-Transfer-Encoding: base64
Content-ID: <ahead-1>
Content-Disposition: inline; filename=a.png

AAEC
--b--
--a
Content-Type: text/html
Content-Disposition: attachment; filename="list.html"

<p>an attachment is no page</p>
--a--
`, "\n", "\r\n"))}
}

func TestPreviewCarriesItsPictures(t *testing.T) {
	page, err := folder.Preview(letter(t, t.TempDir()).Bytes)
	require.NoError(t, err)
	require.Equal(t, `<p>café <img src="data:image/png;base64,AAEC" alt="x"></p>`, strings.TrimSpace(string(page)))
}

func TestAMessageWithoutHTMLShowsItsTextHarmless(t *testing.T) {
	page, err := folder.Preview([]byte("Subject: x\r\n\r\n<script>alert(1)</script>"))
	require.NoError(t, err)
	require.Contains(t, string(page), "&lt;script&gt;")
}

func FuzzNamesStayInTheirFolder(f *testing.F) {
	for _, s := range []string{"../../etc/passwd", "a/b", "..", ".", "", "con", "a\x00b", "\u202egpj.exe",
		strings.Repeat("x", 500), "round-2026-03-09-1"} {
		f.Add(s, s+"@example.com")
	}
	f.Fuzz(func(t *testing.T, id, to string) {
		name := folder.FileName(&outbox.Letter{ID: 1, MessageID: id}, to)
		require.Equal(t, name, filepath.Base(name))
		require.True(t, filepath.IsLocal(name), name)
		require.NotContains(t, name, "..")
		require.LessOrEqual(t, len(name), 200)
	})
}

func FuzzPreview(f *testing.F) {
	f.Add([]byte("Subject: x\r\n\r\nHello"))
	f.Add([]byte("Content-Type: multipart/mixed; boundary=a\r\n\r\n--a\r\nContent-Type: text/html\r\n\r\n<p>x</p>\r\n--a--\r\n"))
	f.Add([]byte("Content-Type: multipart/mixed\r\n\r\n----\r\n"))
	f.Fuzz(func(t *testing.T, message []byte) {
		if page, err := folder.Preview(message); err == nil {
			require.NotEmpty(t, page)
		}
	})
}

// A draft that was put away is found where it lies when names are to be forgotten.
func TestADraftIsPutAwayTakenBackAndRemoved(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "drafts")
	drafts, l := folder.Drafts(dir), letter(t, dir)
	l.To = []string{"anna@example.com"}
	require.NoError(t, drafts.Send(t.Context(), l, l.To[0]))
	name := folder.DraftName(l)
	over := map[string]bool{name: true, "never-there.eml": true}
	require.NoError(t, drafts.Settle(over))
	require.NoError(t, drafts.Settle(over), "it lies there already")
	require.NoFileExists(t, filepath.Join(dir, name))
	require.FileExists(t, filepath.Join(dir, folder.SettledDir, name))
	require.NoError(t, drafts.Settle(map[string]bool{name: false}))
	require.FileExists(t, filepath.Join(dir, name))
	require.NoError(t, drafts.Settle(over))
	n, err := drafts.Remove(l)
	require.NoError(t, err)
	require.Equal(t, 1, n)
	require.NoFileExists(t, filepath.Join(dir, folder.SettledDir, name))
}
