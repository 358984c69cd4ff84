//go:build browser

package main

import (
	"bytes"
	"image"
	"image/color"
	"image/png"
	"io"
	"maps"
	"mime"
	"mime/multipart"
	"net/mail"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"encoding/base64"

	"github.com/stretchr/testify/require"
)

// pictures are those of the README, drawn from the demo:
//
//	go test -tags browser ./cmd/kitmuster -run Pictures
//
// compares them with what the demo draws, and with UPDATE_GOLDEN=1 draws them anew.
const pictures = "../../testdata/pictures"

// otherDots is the share of dots by which a picture may differ: browsers of
// other days smooth letters a little otherwise.
const otherDots = 0.005

func TestPicturesOfTheReadmeShowWhatTheDemoDraws(t *testing.T) {
	dir, _, _ := demoShop(t)
	mustKit(t, dir, "proposal", "accept", "3", "--on", "2026-03-03")
	one := func(pattern string) string {
		found, err := filepath.Glob(filepath.Join(dir, filepath.FromSlash(pattern)))
		require.NoError(t, err)
		require.NotEmpty(t, found, pattern)
		return found[0]
	}
	round, client := one("mail/*-round-*.html"), one("mail/*-proposal-1--*.html")
	parts := attached(t, strings.TrimSuffix(round, ".html")+".eml")
	maps.Copy(parts, attached(t, strings.TrimSuffix(client, ".html")+".eml"))
	paper := func(name string) string {
		for n, data := range parts {
			if strings.HasPrefix(n, name) && strings.HasSuffix(n, ".pdf") {
				file := filepath.Join(t.TempDir(), n)
				require.NoError(t, os.WriteFile(file, data, 0o600))
				return file
			}
		}
		require.Fail(t, "no paper "+name)
		return ""
	}
	for name, draw := range map[string]func(file string){
		"owner-round":            func(f string) { shoot(t, round, f, 700, false) },
		"owner-round-phone-dark": func(f string) { shoot(t, round, f, 390, true) },
		"client-reorder":         func(f string) { shoot(t, client, f, 700, false) },
		"order-form":             func(f string) { dots(t, paper("proposal-1-order-form"), f, 1, 75, 0, 0) },
		"gang-sheet":             func(f string) { dots(t, paper("sheets-screen"), f, 1, 60, 777, 1170) },
		"film-roll":              func(f string) { dots(t, paper("sheets-film"), f, 1, 34, 780, 1174) },
		"job-ticket":             func(f string) { dots(t, one("jobs/*/*ticket.pdf"), f, 2, 75, 0, 0) },
	} {
		t.Run(name, func(t *testing.T) {
			file := filepath.Join(t.TempDir(), name+".png")
			draw(file)
			kept := filepath.Join(pictures, name+".png")
			if os.Getenv("UPDATE_GOLDEN") == "1" {
				data, err := os.ReadFile(file)
				require.NoError(t, err)
				require.NoError(t, os.WriteFile(kept, data, 0o600))
				return
			}
			a, b := pngAt(t, kept), pngAt(t, file)
			require.Equal(t, a.Bounds(), b.Bounds())
			other := 0
			for y := range a.Bounds().Dy() {
				for x := range a.Bounds().Dx() {
					if unlike(a.At(x, y), b.At(x, y)) {
						other++
					}
				}
			}
			require.LessOrEqual(t, float64(other), otherDots*float64(a.Bounds().Dx()*a.Bounds().Dy()),
				"renew it with UPDATE_GOLDEN=1 and look at it")
		})
	}
	kept, err := filepath.Glob(filepath.Join(pictures, "*.png"))
	require.NoError(t, err)
	require.LessOrEqual(t, len(kept), 10)
	readme, err := os.ReadFile("../../README.md")
	require.NoError(t, err)
	for _, f := range kept {
		require.Contains(t, string(readme), "testdata/pictures/"+filepath.Base(f))
	}
}

// shoot takes a picture of the top of a page.
func shoot(t *testing.T, page, file string, width int, dark bool) {
	t.Helper()
	args := []string{
		"--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
		"--disable-background-networking", "--disable-component-update",
		"--disable-sync", "--hide-scrollbars", "--user-data-dir=" + t.TempDir(),
		"--window-size=" + strconv.Itoa(width) + ",1000", "--screenshot=" + file,
	}
	if dark {
		args = append(args, "--blink-settings=preferredColorScheme=0")
	}
	require.NoError(t, exec.Command("chromium", append(args, "file://"+page)...).Run(),
		"this test needs a Chromium browser (Debian package chromium)")
}

// dots draws a page of a paper with so many dots an inch, or its upper left part.
func dots(t *testing.T, paper, file string, page, dpi, width, height int) {
	t.Helper()
	args := []string{"-png", "-singlefile", "-r", strconv.Itoa(dpi), "-f", strconv.Itoa(page), "-l", strconv.Itoa(page)}
	if width > 0 {
		args = append(args, "-x", "0", "-y", "0", "-W", strconv.Itoa(width), "-H", strconv.Itoa(height))
	}
	require.NoError(t, exec.Command("pdftoppm", append(args, paper, strings.TrimSuffix(file, ".png"))...).Run(),
		"this test needs pdftoppm (Debian package poppler-utils)")
}

func pngAt(t *testing.T, file string) image.Image {
	t.Helper()
	data, err := os.ReadFile(file)
	require.NoError(t, err)
	img, err := png.Decode(bytes.NewReader(data))
	require.NoError(t, err, file)
	return img
}

// unlike reports whether the eye tells two dots apart.
func unlike(a, b color.Color) bool {
	r, g, bl, _ := a.RGBA()
	r2, g2, bl2, _ := b.RGBA()
	far := func(x, y uint32) bool { return max(x, y)-min(x, y) > 0x4000 }
	return far(r, r2) || far(g, g2) || far(bl, bl2)
}

// attached are the files of a mail by name.
func attached(t *testing.T, file string) map[string][]byte {
	t.Helper()
	f, err := os.Open(file)
	require.NoError(t, err)
	defer f.Close()
	m, err := mail.ReadMessage(f)
	require.NoError(t, err)
	out := map[string][]byte{}
	var walk func(kind string, body io.Reader)
	walk = func(kind string, body io.Reader) {
		media, params, err := mime.ParseMediaType(kind)
		require.NoError(t, err)
		if !strings.HasPrefix(media, "multipart/") {
			return
		}
		for r := multipart.NewReader(body, params["boundary"]); ; {
			p, err := r.NextPart()
			if err == io.EOF {
				return
			}
			require.NoError(t, err)
			if p.FileName() != "" && p.Header.Get("Content-Transfer-Encoding") == "base64" {
				data, err := io.ReadAll(base64.NewDecoder(base64.StdEncoding, p))
				require.NoError(t, err)
				out[p.FileName()] = data
				continue
			}
			walk(p.Header.Get("Content-Type"), p)
		}
	}
	walk(m.Header.Get("Content-Type"), m.Body)
	return out
}
