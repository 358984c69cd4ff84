package programme_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
)

func nameArtwork(rule programme.TextRule) programme.Artwork {
	return programme.Artwork{Code: "names", Client: "harbour", Name: "Name", Kind: "film",
		Width: 90 * programme.Millimetre, Height: 10 * programme.Millimetre, Text: rule, LetterColour: "#ffffff"}
}

func TestTheNameOnAGarmentIsThePersonsOwn(t *testing.T) {
	for _, c := range []struct {
		rule        programme.TextRule
		name, print string
		want, wrong string
	}{
		{rule: programme.FirstName, name: "Ana Lopez", want: "Ana"},
		{rule: programme.LastName, name: "Ana Lopez", want: "Lopez"},
		{rule: programme.FullName, name: "Ana  Lopez", want: "Ana Lopez"},
		{rule: programme.LastName, name: "Anna van der Berg", want: "van der Berg"},
		{rule: programme.LastName, name: "Bo Smith Jr.", want: "Smith"},
		{rule: programme.FirstName, name: "Dr. Bo Smith", want: "Bo"},
		{rule: programme.FirstName, name: "Жанна Иванова", want: "Жанна"},
		{rule: programme.FirstName, name: "Λυδία Παππά", want: "Λυδία"},
		{rule: programme.FirstName, name: "דוד כהן", want: "דוד"},
		{rule: programme.FirstName, name: "Jose\u0301 Pen\u0303a", want: "José"},
		{rule: programme.FirstName, name: "A. Lopez", wrong: "initial"},
		{rule: programme.LastName, name: "Ana L", wrong: "initial"},
		{rule: programme.FirstName, name: "", wrong: "no name is kept"},
		{rule: programme.FirstName, name: "王 伟", print: "Wei", want: "Wei"},
		{rule: programme.FullName, name: "王伟", wrong: "not in the fonts"},
		{rule: programme.FirstName, name: "12345 Lopez", wrong: "has no letter"},
		{rule: programme.FirstName, name: "Wolfeschlegelsteinhausenbergerdorffwelchevoralternwaren B",
			wrong: "too long"},
		{rule: programme.PrintName, name: "Ana Lopez", wrong: "print_name"},
		{rule: programme.PrintName, name: "Ana Lopez", print: "Annie", want: "Annie"},
		{rule: programme.FirstName, name: "Ana Lopez", print: programme.NothingPrinted, want: ""},
	} {
		a := nameArtwork(c.rule)
		got, err := a.NameFor(&programme.Person{Name: c.name, PrintName: c.print})
		if c.wrong != "" {
			require.ErrorContains(t, err, c.wrong, c.name)
			continue
		}
		require.NoError(t, err)
		require.Equal(t, c.want, got)
	}
}

func TestANameIsAsWideAsItsLettersAndNoWiderThanItsPlace(t *testing.T) {
	shop := &programme.Shop{Artworks: []programme.Artwork{nameArtwork(programme.FirstName)}}
	widths := map[string]programme.Length{}
	for _, name := range []string{"Li", "Ana", "Maximilian", strings.Repeat("Mo", 5), strings.Repeat("Mo", 7)} {
		a, ok := shop.Artwork("names=" + name)
		require.True(t, ok, name)
		widths[name] = a.Width
		require.LessOrEqual(t, a.Width, 90*programme.Millimetre)
		require.Equal(t, "Name “"+name+"”", a.Name)
	}
	require.Less(t, widths["Li"], widths["Ana"])
	require.Less(t, widths["Ana"], widths["Maximilian"])
	long, _ := shop.Artwork("names=" + strings.Repeat("Mo", 7))
	require.InDelta(t, 90, long.Width.Millimetres(), 0.01)
	require.Less(t, long.Height, 10*programme.Millimetre, "set smaller to fit")
	high, _ := shop.Artwork("names=Hen")
	require.InDelta(t, 10, high.Height.Millimetres(), 0.35,
		"a capital is as high as the artwork says; round letters reach a little beyond")
	_, ok := shop.Artwork("names=" + strings.Repeat("Mo", 30))
	require.False(t, ok, "too long for any letters")
	_, ok = shop.Artwork("names=王")
	require.False(t, ok)
	require.Empty(t, shop.Transfers(), "no name is printed for nobody")
}

func TestOnlyTheirOwnPiecesCarryAName(t *testing.T) {
	shop := &programme.Shop{Artworks: []programme.Artwork{nameArtwork(programme.FirstName),
		{Code: "logo", Width: programme.Inch, Height: programme.Inch}}}
	k := programme.SKU{Garment: "tee", Colour: "black", Size: "M"}
	c := &programme.Client{Roles: []programme.Role{{Code: "counter",
		Kit: []programme.KitLine{{Garment: "tee", Colour: "black", Each: 3,
			Decorations: []programme.Decoration{{Artwork: "logo", Place: "left-chest"},
				{Artwork: "names", Place: "right-chest"}}}}}}}
	codes := func(p *programme.Person) (out []string) {
		list, _ := c.DecorationsOf(shop, p, k)
		for _, d := range list {
			out = append(out, d.Artwork)
		}
		return out
	}
	require.Equal(t, []string{"logo", "names=Ana"}, codes(&programme.Person{Role: "counter", Name: "Ana Lopez"}))
	require.Equal(t, []string{"logo"}, codes(&programme.Person{Role: "counter", Name: "A. Lopez"}), "not printed wrong")
	require.Equal(t, []string{"logo"}, codes(nil), "spare")
	require.True(t, c.Named(shop, "counter", k))
	people := programme.Roster{{StaffID: "1", Role: "counter", Name: "Ana Lopez"},
		{StaffID: "2", Role: "counter", Name: "B. Lopez"},
		{StaffID: "3", Role: "counter", Name: "王伟", End: programme.NewDate(2026, 1, 1)}}
	asked := c.Unprintable(shop, people, programme.NewDate(2026, 2, 1))
	require.Len(t, asked, 1)
	require.Equal(t, "2", asked[0].Person.StaffID)
}
