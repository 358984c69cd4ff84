package message_test

import (
	"maps"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/goldentest"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// The full mails hold what the others do not.

func fullRound() message.Round {
	r := aRound()
	r.Due[1].People = bakers()
	r.Next[0].Remark = "Ordered only when somebody is short"
	r.Held = []message.Held{{Client: bakery(),
		Holds: []reorder.Hold{{SKU: programme.SKU{Garment: "vest", Colour: "yellow", Size: "L"}, Pieces: 2}}}}
	r.Told = []string{"told before"}
	return r
}

func fullReorder() message.Reorder {
	r := aSecondForm()
	other := bakeryProposal()
	other.Number = 15
	r.Replaces = []*reorder.Proposal{other}
	r.ReturnTo = message.ReturnTo{Address: "answers@millbrook.example", Mark: "p17.1.20260309.abcdefghij234567"}
	return r
}

func fullCount() message.CountForm {
	c := aCount()
	c.Site, c.To = "Station", bakery().Contacts[0].Contact
	c.Assumed = true
	c.ReturnTo = message.ReturnTo{Address: "answers@millbrook.example", Mark: "c3.20260309.abcdefghij234567"}
	return c
}

func fullSheetOrder() message.SupplierOrder {
	o := aSheetOrder()
	o.Sheets[0].Unprinted = []string{"No print file for “Screen-printed, hot peel”: there is no picture of loaf."}
	return o
}

func fullJob() message.Job {
	j := aJob()
	j.Pictures = map[string][]byte{"loaf": []byte(`<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 7 6"><path d="M0 0h7v6h-7z" fill="#806040"/></svg>`)}
	return j
}

func fullPick() message.Pick {
	p := aPick()
	lot := programme.Lot{SKU: programme.SKU{Garment: "tee", Colour: "black", Size: "L"}, Pieces: 2}
	p.Bags[1].Waiting = []programme.Lot{lot}
	p.Bags[1].Awaited = []message.AwaitedLot{{Lot: lot, Proposal: 17, OnItsWay: true, Unnamed: true}}
	return p
}

func TestTheFullMailsAreAsTheirGoldenFiles(t *testing.T) {
	golden := func(name string, m message.Mail, err error) {
		require.NoError(t, err)
		goldentest.Equal(t, "full-"+name+".txt", []byte("Subject: "+m.Subject+"\n\n"+m.Text))
	}
	m, err := message.ComposeRound(fullRound())
	golden("round", m, err)
	m, err = message.ComposeReorder(fullReorder())
	golden("reorder", m, err)
	m, err = message.ComposeCount(fullCount())
	golden("count", m, err)
	m, err = message.ComposePick(fullPick())
	golden("pick", m, err)
	m, err = message.ComposeSupplierOrder(fullSheetOrder())
	require.NoError(t, err)
	require.Equal(t, fullSheetOrder().Sheets[0].Unprinted, m.Warnings)
	_, err = message.ComposeJob(fullJob())
	require.NoError(t, err)
}

// setIn notes every exported field of a struct of this package below v, and whether it is ever set.
func setIn(v reflect.Value, set map[string]bool) {
	switch v.Kind() {
	case reflect.Pointer:
		if !v.IsNil() {
			setIn(v.Elem(), set)
		}
	case reflect.Struct:
		for i := range v.NumField() {
			if f := v.Type().Field(i); f.IsExported() {
				if name := v.Type().String() + "." + f.Name; strings.HasPrefix(name, "message.") {
					set[name] = set[name] || !v.Field(i).IsZero()
				}
				setIn(v.Field(i), set)
			}
		}
	case reflect.Slice, reflect.Array:
		for i := range v.Len() {
			setIn(v.Index(i), set)
		}
	case reflect.Map:
		for _, x := range v.Seq2() {
			setIn(x, set)
		}
	default:
	}
}

// What a mail is made from has a fixture that holds it, so that the goldens show it: whoever adds a field sets it
// in one of them.
func TestFixturesHoldEveryFieldThatAMailIsMadeFrom(t *testing.T) {
	set := map[string]bool{}
	for _, x := range []any{
		aRound(), unansweredRound(), fullRound(), aReorder(), aSecondForm(), fullReorder(), aCount(), fullCount(),
		aDaySheet(),
		aSupplierOrder(), fullSheetOrder(), aJob(), fullJob(), aPick(), fullPick(),
	} {
		setIn(reflect.ValueOf(x), set)
	}
	delete(set, "message.Part.CID") // the composer's own, of pictures within a page
	maps.DeleteFunc(set, func(_ string, ever bool) bool { return ever })
	require.Empty(t, slices.Sorted(maps.Keys(set)))
}
