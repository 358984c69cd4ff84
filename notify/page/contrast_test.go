package page_test

import (
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/notify/page"
)

// luminance and contrast are those of WCAG 2.1, section 1.4.3 and its definitions.
func luminance(t *testing.T, hex string) float64 {
	t.Helper()
	v, err := strconv.ParseUint(strings.TrimPrefix(hex, "#"), 16, 32)
	require.NoError(t, err, hex)
	part := func(shift uint) float64 {
		c := float64(v>>shift&0xff) / 255
		if c <= 0.03928 {
			return c / 12.92
		}
		return math.Pow((c+0.055)/1.055, 2.4)
	}
	return 0.2126*part(16) + 0.7152*part(8) + 0.0722*part(0)
}

func contrast(t *testing.T, a, b string) float64 {
	t.Helper()
	x, y := luminance(t, a), luminance(t, b)
	return (max(x, y) + 0.05) / (min(x, y) + 0.05)
}

// What is no text but has to be seen (lines of tables, the ground of a button, the
// bar of a caution) has 3:1 to its ground, WCAG 2.1, 1.4.11; text 4.5:1, 1.4.3.
func TestColoursCanBeToldApartInLightAndDark(t *testing.T) {
	require.InDelta(t, 21, contrast(t, "#000000", "#ffffff"), 1e-9, "WCAG 2.1: black on white")
	html, err := page.HTML(every())
	require.NoError(t, err)
	style, body, ok := strings.Cut(html, "</style>")
	require.True(t, ok)
	_, dark, ok := strings.Cut(style, "prefers-color-scheme:dark")
	require.True(t, ok)
	colour := func(text, pattern string) string {
		m := regexp.MustCompile(pattern + `(#[0-9a-f]{6})`).FindStringSubmatch(text)
		require.NotNil(t, m, pattern)
		return m[1]
	}
	for name, x := range map[string]struct {
		seen, ground string
		least        float64
	}{
		"text": {colour(body, `class="page"[^>]*[^-]color:`),
			colour(body, `class="page"[^>]*background-color:`), 4.5},
		"small text": {colour(body, `class="q"[^>]*color:`),
			colour(body, `class="page"[^>]*background-color:`), 4.5},
		"table lines": {colour(body, `border-bottom:1px solid `),
			colour(body, `class="page"[^>]*background-color:`), 3},
		"caution": {colour(body, `border-left:4px solid `),
			colour(body, `class="page"[^>]*background-color:`), 3},
		"button": {colour(body, `inline-block[^"]*background-color:`),
			colour(body, `class="page"[^>]*background-color:`), 3},
		"button's words": {"#ffffff", colour(body, `inline-block[^"]*background-color:`), 4.5},
		"dark: text": {colour(dark, `\.page\{[^}]*[^-]color:`), colour(dark, `\.page\{background-color:`),
			4.5},
		"dark: small text":  {colour(dark, `\.q\{color:`), colour(dark, `\.page\{background-color:`), 4.5},
		"dark: links":       {colour(dark, `\na\{color:`), colour(dark, `\.page\{background-color:`), 4.5},
		"dark: table lines": {colour(dark, `border-bottom-color:`), colour(dark, `\.page\{background-color:`), 3},
		"dark: caution": {colour(dark, `\.box\{border-left-color:`), colour(dark, `\.page\{background-color:`),
			3},
		"dark: button": {colour(dark, `\.b a\{background-color:`), colour(dark, `\.page\{background-color:`),
			3},
		"dark: button's words": {colour(dark, `\.b a\{[^}]*[^-]color:`), colour(dark, `\.b a\{background-color:`), 4.5},
	} {
		require.GreaterOrEqual(t, contrast(t, x.seen, x.ground), x.least, "%s: %s on %s", name, x.seen, x.ground)
	}
}
