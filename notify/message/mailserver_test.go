//go:build mailserver

package message_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"maps"
	"net"
	"net/http"
	"net/smtp"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Each mail through a real mail server, which returns it byte for byte and
// judges how many mail programs support its HTML.
//
//	go test -tags mailserver ./notify/message
//
// needs mailpit (go install github.com/axllent/mailpit@v1.27.11) on the PATH.

// lowestScore is the least share of what a mail uses that mail programs support
// wholly or partly, in per cent.
const lowestScore = 97

// lowestWhole is the least share supported wholly of the two mails that most read.
const lowestWhole = 95

// named are the faults that we know of and why they do no harm.
var named = map[string]string{
	"css-at-media":         "a program without it shows the desk's layout, which wraps by itself",
	"css-max-width":        "without it the page is as wide as the window",
	"css-word-break":       "a little of the look is lost, no word",
	"css-overflow-wrap":    "where it is not known, a very long word makes the mail wider and nothing else",
	"html-hr":              "a rule between what is forwarded and what is not; where it is not drawn, a line of words says the same",
	"css-white-space":      "without it a date may break over two lines",
	"css-display":          "without it figures stand one below the other",
	"css-line-height":      "without it lines are a little closer",
	"css-padding":          "without it the page is tighter",
	"css-margin":           "a little of the look is lost, no word",
	"css-height":           "pictures have their height as an attribute too",
	"css-background-color": "a little of the look is lost, no word",
	"css-text-align":       "numbers then stand to the left",
	"css-width":            "tables have their width as an attribute too",
	"css-filter":           "a chart then stays light on a dark page",
	"css-font-weight":      "bold is bold everywhere; only finer weights are not",
	"css-text-decoration":  "a button may then be underlined",
	"css-border":           "rules between rows may be missing",
	"html-style":           "a program without style sheets shows plain tables, which have their cell padding as attributes",
	"html-body":            "its colours are set on the table as well",
}

func freePort(t *testing.T) string {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	defer l.Close()
	return l.Addr().String()
}

// mailpit starts a mail server on this machine and returns its two addresses.
func mailpit(t *testing.T) (mail, web string) {
	t.Helper()
	mail, web = freePort(t), freePort(t)
	cmd := exec.Command("mailpit", "--smtp", mail, "--listen", web, "--database", filepath.Join(t.TempDir(), "mail.db"),
		"--disable-version-check", "--quiet")
	require.NoError(t, cmd.Start(), "this test needs mailpit on the PATH")
	t.Cleanup(func() { _ = cmd.Process.Kill(); _ = cmd.Wait() })
	require.Eventually(t, func() bool {
		r, err := http.Get("http://" + web + "/readyz")
		if err != nil {
			return false
		}
		r.Body.Close()
		return r.StatusCode == http.StatusOK
	}, 20*time.Second, 50*time.Millisecond)
	return mail, web
}

func get(t *testing.T, url string) []byte {
	t.Helper()
	r, err := http.Get(url)
	require.NoError(t, err)
	defer r.Body.Close()
	data, err := io.ReadAll(r.Body)
	require.NoError(t, err)
	require.Equal(t, http.StatusOK, r.StatusCode, string(data))
	return data
}

type check struct {
	Total    struct{ Supported, Partial, Unsupported float64 }
	Warnings []struct {
		Slug, Title string
		Score       struct{ Found, Supported, Partial, Unsupported float64 }
	}
}

func TestMailProgramsSupportOurHTML(t *testing.T) {
	server, web := mailpit(t)
	for name, m := range mails(t) {
		raw, err := m.Bytes(envelope)
		require.NoError(t, err)
		require.NoError(t, smtp.SendMail(server, nil, "kit@millbrook.example", []string{"you@example.com"}, raw))
		var list struct {
			Messages []struct{ ID, MessageID string }
		}
		require.NoError(t, json.Unmarshal(get(t, "http://"+web+"/api/v1/messages?limit=1"), &list))
		require.Equal(t, m.MessageID(envelope.From, ""), list.Messages[0].MessageID)
		id := list.Messages[0].ID
		require.True(t, bytes.HasSuffix(get(t, "http://"+web+"/api/v1/message/"+id+"/raw"), raw),
			"%s: the bytes that were sent", name)

		var got check
		require.NoError(t, json.Unmarshal(get(t, "http://"+web+"/api/v1/message/"+id+"/html-check"), &got))
		t.Logf("%s: supported %.1f, partly %.1f, not %.1f of 100", name, got.Total.Supported, got.Total.Partial,
			got.Total.Unsupported)
		assert.Greater(t, got.Total.Supported+got.Total.Partial, float64(lowestScore), name)
		if name == "round" || name == "reorder" {
			assert.GreaterOrEqual(t, got.Total.Supported, float64(lowestWhole), name)
		}
		for _, w := range got.Warnings {
			if os.Getenv("KITMUSTER_FULL") != "" {
				t.Log(name, w.Slug, w.Title, fmt.Sprintf("%.0f not, %.0f partly", w.Score.Unsupported, w.Score.Partial))
			}
			assert.Contains(t, slices.Collect(maps.Keys(named)), w.Slug, "%s: %s: a fault that nobody has judged",
				name, w.Title)
		}
	}
}
