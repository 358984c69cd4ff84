package programme_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"maps"
	"reflect"
	"slices"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/goldentest"
)

// What each reason and cause says and means stands in one file to read: a new one shows there
// as a line, and one with another cause, or learnt with another, as a line that changes.
func TestWhatReasonsAndCausesMean(t *testing.T) {
	var b bytes.Buffer
	for _, r := range programme.Reasons() {
		cause, known := r.Cause()
		fmt.Fprintf(&b, "reason %q: %s (%s)", r, r.Words(), r.Told())
		switch {
		case known:
			fmt.Fprintf(&b, "; ended, cause %s\n", cause)
		case r.StillGood():
			b.WriteString("; still good\n")
		default:
			b.WriteString("; ended, by any cause\n")
		}
	}
	for _, c := range allCauses() {
		w := c.Words()
		fmt.Fprintf(&b, "cause %q: %s", c, w.Word)
		if int(c) < programme.EndingCauses {
			fmt.Fprintf(&b, "; ends pieces, brought on by washes: %s, learnt with %s",
				programme.YesNo(w.Washed), w.With)
			require.Equal(t, w.With, w.With.Words().With, "%s is learnt with a cause that is learnt by itself", c)
		}
		if w.Advice != "" {
			fmt.Fprintf(&b, "; advice: %s", w.Advice)
		}
		b.WriteByte('\n')
	}
	goldentest.Equal(t, "reasons.txt", b.Bytes())
}

// A reason that is a constant and no row of the table could be used in the code, and no
// ledger could state it.
func TestEveryReasonIsARowOfTheTable(t *testing.T) {
	file, err := parser.ParseFile(token.NewFileSet(), "reasons.go", nil, 0)
	require.NoError(t, err)
	var stated []programme.Reason
	ast.Inspect(file, func(n ast.Node) bool {
		v, ok := n.(*ast.ValueSpec)
		if !ok {
			return true
		}
		if typ, ok := v.Type.(*ast.Ident); ok && typ.Name == "Reason" {
			text, err := strconv.Unquote(v.Values[0].(*ast.BasicLit).Value)
			require.NoError(t, err)
			stated = append(stated, programme.Reason(text))
		}
		return true
	})
	require.ElementsMatch(t, stated, append(programme.Reasons(), programme.Unexplained))
}

// allCauses walks the constants until the table ends.
func allCauses() (all []programme.Cause) {
	for c := programme.CauseWorn; c <= programme.CauseOwed; c++ {
		all = append(all, c)
	}
	return all
}

func TestEveryCauseHasItsWords(t *testing.T) {
	codes, words := map[string]bool{}, map[string]bool{}
	for _, c := range allCauses() {
		w := c.Words()
		require.NotEmpty(t, w.Code)
		require.False(t, codes[w.Code], "%s stands twice", w.Code)
		codes[w.Code] = true
		require.NotEmpty(t, w.Word, "the word of %s", c)
		require.False(t, words[w.Word], "%s is called as another cause", c)
		words[w.Word] = true

		text, err := json.Marshal(c)
		require.NoError(t, err)
		var again programme.Cause
		require.NoError(t, json.Unmarshal(text, &again))
		require.Equal(t, c, again)
	}
	var c programme.Cause
	require.ErrorContains(t, json.Unmarshal([]byte(`"rust"`), &c), "rust")
}

// A cause that had no number of its own would vanish from every sum, and one
// under another name from the files.
func TestEveryCauseIsCountedUnderItsCode(t *testing.T) {
	var split programme.Causes
	fields := reflect.VisibleFields(reflect.TypeFor[programme.Causes]())
	numbers := 0
	for _, f := range fields {
		if f.Type.Kind() == reflect.Float64 {
			numbers++
		}
	}
	n := 0
	want := 0.0
	for c := range split.Each() {
		n++
		*split.At(c) = float64(n)
		want += float64(n)
	}
	require.Equal(t, numbers, n, "as many causes as fields")
	require.InDelta(t, want, split.Sum(), 0)
	require.InDelta(t, 2*want, split.Plus(split).Sum(), 0)
	require.InDelta(t, 3*want, split.Times(3).Sum(), 0)
	require.InDelta(t, want, split.Sum(), 0, "neither changes what it was asked of")

	text, err := json.Marshal(split)
	require.NoError(t, err)
	var written map[string]float64
	require.NoError(t, json.Unmarshal(text, &written))
	require.Len(t, written, n)
	for c, x := range split.Each() {
		require.InDelta(t, x, written[c.String()], 0, "%s", c)
	}
	require.Nil(t, split.At(programme.CauseOwed))
}

func TestMostIsTheFirstOfTheGreatest(t *testing.T) {
	require.Equal(t, programme.CauseWorn, programme.Endings[int]{}.Most())
	require.Equal(t, programme.CausePrint, programme.Endings[int]{Worn: 1, Print: 2, Mishap: 2}.Most())
	require.Equal(t, programme.CauseMishap, programme.Endings[float64]{Worn: 1, Print: 2, Mishap: 2.5}.Most())
}

func TestReasonsSayWhatEndedAPiece(t *testing.T) {
	for reason, want := range map[programme.Reason]programme.Cause{
		programme.Worn: programme.CauseWorn, programme.Print: programme.CausePrint,
		programme.Damaged: programme.CauseMishap, programme.Lost: programme.CauseMishap,
	} {
		c, known := reason.Cause()
		require.True(t, known, "%s", reason)
		require.Equal(t, want, c, "%s", reason)
		require.False(t, reason.StillGood(), "%s", reason)
	}
	for _, reason := range []programme.Reason{programme.NoReason, programme.Unexplained, programme.SizeChange,
		programme.LeftReason} {
		_, known := reason.Cause()
		require.False(t, known, "%q", reason)
	}
	good := map[programme.Reason]bool{programme.SizeChange: true, programme.LeftReason: true}
	for _, reason := range programme.Reasons() {
		require.Equal(t, good[reason], reason.StillGood(), "%q", reason)
		require.NotEmpty(t, reason.Words(), "%q", reason)
	}
	require.NotContains(t, programme.WrittenReasons(), "")
}

// A database keeps a reason as its place in the list: a place that changed
// would give every ending on record another reason.
func TestReasonsKeepTheirPlaces(t *testing.T) {
	places := map[programme.Reason]int{
		programme.NoReason: 0, programme.Worn: 1, programme.Print: 2, programme.Damaged: 3,
		programme.Lost: 4, programme.SizeChange: 5, programme.LeftReason: 6,
	}
	list := programme.Reasons()
	require.NotContains(t, list, programme.Unexplained)
	for _, reason := range slices.Sorted(maps.Keys(places)) {
		require.Equal(t, reason, list[places[reason]])
	}
}

func TestEveryReasonSaysWhenToWriteIt(t *testing.T) {
	for _, r := range programme.Reasons() {
		require.NotEmpty(t, r.Words())
		require.NotEmpty(t, r.Told(), "%q", r)
	}
}
