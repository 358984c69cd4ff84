package setup_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/setup"
)

func TestMonthsAreReadAsPeopleWriteThem(t *testing.T) {
	shop, text := cornerPress(t), string(file(t, "client.yaml"))
	months := func(m ...int) (out programme.Months) {
		for _, i := range m {
			out[i-1] = true
		}
		return out
	}
	for _, c := range []struct {
		read, written string
		want          programme.Months
	}{
		{"april-september", "april-september", months(4, 5, 6, 7, 8, 9)},
		{"[apr-sep]", "april-september", months(4, 5, 6, 7, 8, 9)},
		{"Oct - Mar", "october-march", months(10, 11, 12, 1, 2, 3)},
		{"[may, jul-aug, december]", "may, july-august, december", months(5, 7, 8, 12)},
		{"jan, nov-dec", "november-january", months(11, 12, 1)},
		{"january-december", "", programme.Months{}},
		{"june-may", "", programme.Months{}},
	} {
		got, err := setup.ReadClient("bunshop.yaml", []byte(text+"        months: "+c.read+"\n"), shop)
		require.NoError(t, err, c.read)
		require.Equal(t, c.want, got.Roles[0].Kit[0].Months, c.read)
		written := string(setup.WriteClient(got))
		if c.written == "" {
			require.NotContains(t, written, "months:")
			continue
		}
		require.Contains(t, written, "months: ", c.read)
		require.Contains(t, strings.ReplaceAll(written, `"`, ""), "months: "+c.written+" ", c.read)
	}
}

func TestAKitLineTakesThePlaceOfAnother(t *testing.T) {
	shop, text := cornerPress(t), string(file(t, "client.yaml"))
	add := "      - {garment: tee, colour: white, each: 5, wears_a_week: 5, from: 2027-03-01, instead_of: tee black, change: run out}\n"
	c, err := setup.ReadClient("bunshop.yaml", []byte(text+add), shop)
	require.NoError(t, err)
	line := c.Roles[0].Kit[1]
	require.Equal(t, programme.Former{Garment: "tee", Colour: "black"}, line.InsteadOf)
	require.Equal(t, programme.RunOut, line.Change)
	require.Equal(t, programme.NewDate(2027, 3, 1), line.From)
	require.Contains(t, string(setup.WriteClient(c)), "instead_of: tee/black")
}

func TestALineIsAnotherCutOfOne(t *testing.T) {
	shop, text := cornerPress(t), string(file(t, "client.yaml"))
	tee, _ := shop.Garment("tee")
	ladies, plain, single := *tee, *tee, *tee
	ladies.Code, ladies.SizeFamily = "tee-ladies", "ladies-top"
	plain.Code = "tee-slim"
	single.Code, single.SizeFamily, single.Sizes = "tee-wrap", "wrap", tee.Sizes[:1]
	shop.Garments = append(shop.Garments, ladies, plain, single)
	line := func(garment, of string) string {
		return "      - {garment: " + garment + ", colour: black, each: 5, wears_a_week: 5, cut_of: " + of + "}\n"
	}
	c, err := setup.ReadClient("bunshop.yaml", []byte(text+line("tee-ladies", "tee/black")), shop)
	require.NoError(t, err)
	require.Equal(t, programme.Former{Garment: "tee", Colour: "black"}, c.Roles[0].Kit[1].CutOf)
	require.Contains(t, string(setup.WriteClient(c)), "cut_of: tee/black")
	for add, want := range map[string]string{
		line("tee-ladies", "tee/white"):        "roles.counter.kit.tee-ladies.cut_of: the kit has no line tee/white: it has tee/black; where tee/white was given another garment or colour, write that here too",
		line("tee-ladies", "tee-ladies/black"): "a line cannot be a cut of itself; name the line for everybody else",
		line("tee-slim", "tee/black"):          "tee-slim and tee both take a person's size of top, so nobody could tell who wears which; give tee-slim a size_family of its own in shop.yaml, such as ladies-top",
		line("tee-wrap", "tee/black"):          "tee-wrap comes in one size, so no size says who wears it",
		line("tee-ladies", "tee/black") + line("tee-wrap",
			"tee-ladies/black"): "tee-ladies/black is a cut of tee/black itself; name that one",
	} {
		_, err := setup.ReadClient("bunshop.yaml", []byte(text+add), shop)
		require.ErrorContains(t, err, want)
	}
}
