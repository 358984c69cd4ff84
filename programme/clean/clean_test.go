package clean_test

import (
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/kitmuster/kitmuster/programme/clean"
)

func TestTextBecomesOneHarmlessLine(t *testing.T) {
	for in, want := range map[string]string{
		"Anna\r\nBcc: x": "Anna Bcc: x", "a\u202eb": "a b", "  x \t y ": "x y", "\x00": "", "\xff": "\uFFFD",
		"Дарья 박은지 שלום": "Дарья 박은지 שלום", "👩🏽‍🔧": "👩🏽‍🔧", "a\u2028b": "a b",
		"Schoko\u00adladen \u200bGmbH": "Schokoladen GmbH",
	} {
		require.Equal(t, want, clean.Line(in), "%q", in)
	}
	require.Equal(t, clean.LongestText, utf8.RuneCountInString(clean.Short(strings.Repeat("é", 300))))
	require.Equal(t, "etc-passwd-exe", clean.FileName("../../etc/passwd\x00.exe"))
	require.Equal(t, "unnamed", clean.FileName("漢字"))
	require.Equal(t, "cafe-morgenrot", clean.FileName("Café Morgenrot"))
	require.Equal(t, "cafe-morgenrot", clean.FileName("Cafe\u0301 Morgenrot"))
	require.Equal(t, "baeckerei-mueller-groesse-lodz", clean.FileName("Bäckerei Müller, Größe Łódź"))
	require.Equal(t, "'=1", clean.Guard(clean.Line(" =1")))
	require.Equal(t, "read\uFFFD x…", clean.Shown("read\x1b\nx and more", 8))
}

func TestCleaningTwiceChangesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.String().Draw(t, "s")
		for _, f := range []func(string) string{clean.Line, clean.Short, clean.FileName} {
			once := f(s)
			require.True(t, utf8.ValidString(once))
			require.Equal(t, once, f(once))
		}
	})
}
