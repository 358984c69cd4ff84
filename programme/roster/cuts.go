package roster

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"unicode"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/size"
	"github.com/kitmuster/kitmuster/programme/table"
)

// cutFamilies are the families that are cuts of one thing, by its word and the cut: top has
// the ladies' cut in ladies-top. What has no other cut is not among them.
type cutFamilies map[string]map[size.Cut]string

func cutFamiliesOf(charts map[string]*size.Chart) cutFamilies {
	out := cutFamilies{}
	for _, family := range slices.Sorted(maps.Keys(charts)) {
		cut, of := size.PartCut(family)
		if out[of] == nil {
			out[of] = map[size.Cut]string{}
		}
		out[of][cut] = family
	}
	for of, families := range out {
		if plain, ok := families[""]; ok && families[size.Mens] == "" {
			families[size.Mens] = plain // who wears nothing else wears that
		}
		if families[size.Ladies] == "" {
			delete(out, of)
		}
	}
	return out
}

// readCut reads the column that says which cut somebody wears.
func readCut(c table.Cell, _ *Row) {
	if _, ok := size.ReadCut(c.Text()); c.Text() != "" && !ok {
		c.Unknown("write ladies or mens, or leave it empty", "")
	}
}

// cutWords maps headings of a size family to the headings of another family that is a cut of it.
func cutWords(family string) []string {
	cut, of := size.PartCut(family)
	if cut != size.Ladies {
		return nil
	}
	out := []string{"ladies " + of, "womens " + of}
	for _, w := range sizeWords[of] {
		out = append(out, "ladies "+w, "ladies' "+w, "womens "+w, "women's "+w)
	}
	return out
}

// withoutCuts reads a size that names a cut where the family has one cut: men's is that
// one, ladies' is no size of it.
func (r *reader) withoutCuts(family string, cut size.Cut, rest, want string) (string, string) {
	if cut == size.Mens {
		if code, no := r.opt.Sizes[family].Find(rest); no == "" {
			return code, ""
		}
		return "", want
	}
	if _, no := r.opt.Sizes[family].Find(rest); no == "" || !strings.ContainsFunc(rest, unicode.IsLetter) {
		return "", "but the programme has no ladies' cut of this; add it ('kitmuster help changes' shows how), or write the size that they wear of the one cut"
	}
	return "", want
}

// sizeOfCut reads a size that says, by itself or by the column of cuts, which cut it is of;
// done is false where it says none, or the clothes come in one.
func (r *reader) sizeOfCut(c table.Cell, raw, family string, x *Row) (done bool) {
	_, of := size.PartCut(family)
	families := r.cuts[of]
	if families == nil {
		return false
	}
	chart := r.opt.Sizes[family]
	cut, rest := size.PartCut(raw)
	code, want := chart.Find(raw)
	switch {
	case want == "" && cut != "": // a code that looks like a cut with a size
		cut = ""
	case cut != "":
	case size.Unsure(raw) && want != "":
		c.Wrong("which may be a cut with a size, or a size between two; write it out, such as ladies " +
			rest[strings.LastIndexAny(rest, " /-")+1:])
		return true
	case !r.own[families[size.Ladies]]: // one column for all
		cut, _ = size.ReadCut(c.Row.Text(r.cutAt))
	}
	if cut == "" && want == "" {
		x.Person.Sizes[family] = code
		return true
	}
	to := ""
	if cut != "" {
		to = families[cut]
	} else { // a size of the other cut alone says which is meant
		for _, other := range families {
			if code, want := r.opt.Sizes[other].Find(raw); want == "" && other != family {
				cut, to, rest = size.Ladies, other, code
			}
		}
	}
	if to == "" || r.opt.Sizes[to] == nil {
		c.Wrong(fmt.Sprintf("%s; in the ladies' cut %s", want,
			strings.Join(r.opt.Sizes[families[size.Ladies]].Codes(), ", ")))
		return true
	}
	if code, want = r.opt.Sizes[to].Find(rest); want != "" {
		c.Wrong(strings.Replace(want, "the sizes are", fmt.Sprintf("the sizes of %s are", to), 1))
		return true
	}
	x.Person.Sizes[to] = code
	if cut == size.Mens && to != families[size.Ladies] {
		x.Person.Sizes[families[size.Ladies]] = programme.NoSize
	}
	return true
}
