package wear_test

import (
	"math/rand/v2"
	"reflect"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// Every field of a piece comes back, those that somebody adds to it among them; only
// why it ended is not there to come back while it is in service.
func TestPackedPiecesComeBackAsTheyWere(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		days := rapid.Int32Range(0, 30000)
		washes := rapid.OneOf(rapid.SampledFrom([]float64{0, 1, 21}), rapid.Float64Range(0, 500))
		words := rapid.SampledFrom([]string{"", "a", "b"})
		pieces := make([]programme.Piece, rapid.IntRange(0, 12).Draw(t, "pieces"))
		for i := range pieces {
			if i > 0 && rapid.Bool().Draw(t, "as the one before") {
				pieces[i] = pieces[i-1]
				continue
			}
			fill(reflect.ValueOf(&pieces[i]).Elem(), func(v reflect.Value) {
				switch v.Kind() {
				case reflect.Int32:
					v.SetInt(int64(days.Draw(t, "day")))
				case reflect.Float64:
					v.SetFloat(washes.Draw(t, "washes"))
				case reflect.Bool:
					v.SetBool(rapid.Bool().Draw(t, "flag"))
				case reflect.String:
					v.SetString(words.Draw(t, "word"))
				default:
					t.Fatalf("pieces have a field of a kind that is not packed: %s", v.Type())
				}
			})
			pieces[i].Reason = ""
		}
		h := wear.History{InService: append([]programme.Piece{}, pieces...),
			Ended: []programme.Piece{{StaffID: "gone"}}}
		keep := rapid.Bool().Draw(t, "keep those that ended")
		h.Pack(keep)
		require.Empty(t, h.InService)
		h.Unpack(nil)
		h.Unpack(nil) // once more does nothing
		require.Equal(t, pieces, h.InService)
		require.Equal(t, keep, len(h.Ended) == 1)
	})
}

// fill calls set for every field of a struct, those of structs inside included.
func fill(v reflect.Value, set func(reflect.Value)) {
	for _, f := range v.Fields() {
		if f.Kind() == reflect.Struct {
			fill(f, set)
		} else {
			set(f)
		}
	}
}

// What is packed of the evidence teaches what it taught.
func TestTrimmedRecordsTeachTheSame(t *testing.T) {
	moves := invented(rand.New(rand.NewPCG(4, 2)), wear.FromMedian(48, 2.5), wear.FromMedian(52, 3), 0.4, 150, 0.3)
	shop, client := smallShop()
	records := func() wear.Records {
		b, err := wear.NewBook(shop, client, nil)
		require.NoError(t, err)
		return wear.Records{Book: b, Learnt: b.Learn(b.Trace(nil, moves, monday.Add(900)), monday.Add(900))}
	}
	whole, trimmed := records(), records()
	trimmed.Trim()
	before, after := wear.Gather([]wear.Records{whole}), wear.Gather([]wear.Records{trimmed})
	require.Equal(t, before, after)
	for class, k := range whole.Book.Relearn(whole.Learnt) {
		again := trimmed.Book.Relearn(trimmed.Learnt)[class]
		require.Equal(t, k.Cloth, again.Cloth)
		require.Equal(t, k.Prints, again.Prints)
		require.Equal(t, k.Mishap, again.Mishap)
		require.Equal(t, k.Evidence, again.Evidence)
	}
}
