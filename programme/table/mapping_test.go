package table_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme/match"
	"github.com/kitmuster/kitmuster/programme/table"
)

var shades = match.NewChoices("navy", "white")

// inWords is a form whose colours may be left empty and whose kinds leave a row out.
var inWords = &table.Form[[3]string]{Columns: []table.Column[[3]string]{
	{Name: "kind", Required: true, Words: table.OrLeftOut, Read: func(c table.Cell, r *[3]string) { r[0] = c.Word() }},
	{Name: "colour", Words: table.OrEmpty, Read: func(c table.Cell, r *[3]string) {
		if c.Text() != "" {
			r[1] = c.Choose(shades, "colour")
		}
	}},
	{Name: "note", Read: func(c table.Cell, r *[3]string) { r[2] = c.Word() }},
}, Empty: "there is no row"}

func TestWordsOfAFileAreMappedToOurs(t *testing.T) {
	const file = "kind;Farbe;note\npolo;Navy Blue;a\nlocker key;;b\nLocker Key;WHITE;c\npolo;ohne;d\npolo;white;navy blue\n"
	for name, c := range map[string]struct {
		said  map[string]string
		rows  [][3]string
		notes []string
		err   string
	}{
		"by our name of the column or by the file's, whatever the case; nothing empties a cell or leaves a row out": {
			said: map[string]string{"Farbe": "colour", "colour: navy blue": "navy", "Farbe:OHNE": "", "kind:Locker Key": ""},
			rows: [][3]string{{"polo", "navy", "a"}, {"polo", "", "d"}, {"polo", "white", "navy blue"}},
			notes: []string{
				`left out: 2 rows with the kind "Locker Key", which is mapped to nothing`},
		},
		"what is not mapped is asked about, with the mapping to add": {
			said: map[string]string{"Farbe": "colour"},
			err: `l.csv line 2, column Farbe: read "Navy Blue", but there is no such colour; navy comes nearest.
l.csv line 5, column Farbe: read "ohne", but there is no such colour; write one of navy, white.
Where a word of the file means one of ours, add --map "colour:Navy Blue=navy" --map "colour:ohne=COLOUR" with ours in place of the capitals.`,
		},
		"a mapping to nothing of ours shows both words": {
			said: map[string]string{"Farbe": "colour", "colour:navy blue": "nvy", "colour:ohne": ""},
			err:  `l.csv line 2, column Farbe: read "Navy Blue", mapped to "nvy", but there is no such colour; navy comes nearest.`,
		},
		"a word that no row has is noted": {
			said: map[string]string{"Farbe": "colour", "colour:Navy Blue": "navy", "colour:ohne": "white",
				"colour:blau": "navy", "kind:mug": ""},
			rows: [][3]string{{"polo", "navy", "a"}, {"locker key", "", "b"}, {"Locker Key", "white", "c"},
				{"polo", "white", "d"}, {"polo", "white", "navy blue"}},
			notes: []string{`--map "colour:blau=navy" matches nothing: no row has the colour "blau"`,
				`--map "kind:mug=" matches nothing: no row has the kind "mug"`},
		},
		"a column that is read as it stands": {
			said: map[string]string{"Farbe": "colour", "note:a": "b"},
			err:  `l.csv line 1: --map "note:a=b" maps a word of the column note, whose cells are read as they stand.`,
		},
		"a column that is not there": {
			said: map[string]string{"tint:a": "b"},
			err:  `l.csv line 1: --map "tint:a=b" matches nothing: no heading says "tint:a", and none says "tint", whose words could be mapped so; the headings are kind, Farbe, note.`,
		},
	} {
		t.Run(name, func(t *testing.T) {
			list, err := table.Read("l.csv", []byte(file), table.Options{Headings: c.said, Stated: c.said}, inWords)
			if c.err != "" {
				require.EqualError(t, err, c.err)
				return
			}
			require.NoError(t, err)
			require.Equal(t, c.rows, list.Rows)
			require.Equal(t, c.notes, list.Notes)
		})
	}
}

// A heading may have a colon in it; then the heading is meant. What is said of the file comes
// before what is said of all files of the client.
func TestAHeadingWithAColonIsAHeading(t *testing.T) {
	all := map[string]string{"kind: of thing": "kind", "colour:blau": "white", "tint:x": "y"}
	stated := map[string]string{"colour:Blau": "navy"}
	all["colour:Blau"] = "navy"
	list, err := table.Read("l.csv", []byte("Kind: of thing,colour,note\npolo,blau,x\n"),
		table.Options{Headings: all, Stated: stated}, inWords)
	require.NoError(t, err)
	require.Equal(t, [][3]string{{"polo", "navy", "x"}}, list.Rows)
	// All rows may be of no interest: that is no empty list.
	list, err = table.Read("l.csv", []byte("kind,colour,note\nmug,,x\n"),
		table.Options{Headings: map[string]string{"kind:mug": ""}}, inWords)
	require.NoError(t, err)
	require.Empty(t, list.Rows)
}
