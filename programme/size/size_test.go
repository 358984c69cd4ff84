package size_test

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/kitmuster/kitmuster/programme/size"
)

func TestCanonicalReadsOneSizeHoweverItIsWritten(t *testing.T) {
	for want, ways := range map[string][]string{
		"S":     {"s", "S", "Small", "sm", "Sm.", " small "},
		"M":     {"m", "Med", "MEDIUM", "md"},
		"L":     {"L", "Lg", "large", "LRG", "lge"},
		"XS":    {"xs", "X-Small", "extra small", "XSmall"},
		"XL":    {"xl", "x-large", "X Large", "Extra Large", "XLG", "x-lg"},
		"2XL":   {"XXL", "2XL", "2X", "2-XL", "xx-large", "2 XL", "XXLarge", "xxl", "2XL / XXL", "XXL (2X-Large)"},
		"3XL":   {"XXXL", "3X", "3xl", "xxx-large"},
		"2XS":   {"XXS", "2xs"},
		"LT":    {"LT", "Large Tall", "L-Tall", "l t"},
		"2XLT":  {"2XLT", "XXLT", "2XL Tall"},
		"42/32": {"42/32", "42x32", "42 X 32", "W42 L32", "42W 32L", "42W/32L", "42-32", "w42/l32", `42" x 32"`},
		"34":    {"34", "34.0", "034"},
		"7 1/4": {"7 1/4", "7-1/4", "7.25"},
		"7 1/2": {"7.5", "7 1/2"},
		"ONE":   {"one size", "OSFA", "One-Size", "os", "one size fits all"},
	} {
		for _, way := range ways {
			got, ok := size.Canonical(way)
			require.True(t, ok, "%q", way)
			require.Equal(t, want, got, "%q", way)
		}
	}
}

func TestCanonicalDoesNotSettleADoubt(t *testing.T) {
	for _, doubt := range []string{"X", "XX", "1X", "1XL", "M/L", "L/XL", "2XL / 3XL", "L (42)", "L or XL", "Women's M",
		"Oct-12", "?", "n/a", "", "0", "4232", "medium-ish", "7.3"} {
		_, ok := size.Canonical(doubt)
		require.False(t, ok, "%q", doubt)
	}
}

func TestChartKeepsItsOwnCodes(t *testing.T) {
	women := size.NewChart("00", "0", "2", "4")
	for raw, want := range map[string]string{"0": "0", "00": "00", "04": "4", "2.0": "2"} {
		got, why := women.Find(raw)
		require.Empty(t, why, raw)
		require.Equal(t, want, got, raw)
	}
	_, why := women.Find("000")
	require.NotEmpty(t, why)
	c := size.NewChart("XS", "S", "S/M", "1X", "XXL", "W-M", "32x30")
	for raw, want := range map[string]string{"small": "S", "s/m": "S/M", "1x": "1X", "2X": "XXL", "w m": "W-M",
		"32/30": "32x30"} {
		got, why := c.Find(raw)
		require.Empty(t, why, raw)
		require.Equal(t, want, got)
	}
	_, why = c.Find("M")
	require.Equal(t, "but the sizes are XS, S, S/M, 1X, XXL, W-M, 32x30", why)
}

// A size that the program writes is read as itself.
func TestCanonicalIsAFixedPoint(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		raw := rapid.StringMatching(`[ WX0-9]{0,3}[ \-/]?(S|M|L|XL|Large|Tall|[0-9]{2}|1/4)?`).Draw(t, "raw")
		once, ok := size.Canonical(raw)
		if !ok {
			return
		}
		twice, again := size.Canonical(once)
		require.True(t, again, "%q -> %q", raw, once)
		require.Equal(t, once, twice, "%q", raw)
	})
}

func FuzzCanonical(f *testing.F) {
	for _, s := range []string{"x-large", "42/32", "7 1/4", "2XLT", "W42 L32", "\x00", "½"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, raw string) {
		once, ok := size.Canonical(raw)
		if twice, again := size.Canonical(once); ok && (!again || once != twice) {
			t.Fatalf("%q is read as %q, which is read as %q", raw, once, twice)
		}
	})
}

func TestASizeWithALengthWhereThereIsNoneSaysWhatToDo(t *testing.T) {
	waists := size.NewChart("36", "38")
	_, want := waists.Find("W38 L32")
	require.Equal(t, "but the sizes are 36, 38; write 38, or put sizes with a length, such as 38/32, into shop.yaml",
		want)
	_, want = waists.Find("40/32")
	require.Equal(t, "but the sizes are 36, 38", want, "that waist is not made at all")
}
