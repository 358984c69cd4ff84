package programme

import (
	"cmp"
	"fmt"
)

// ArtworkVersion is one form of an artwork over time.
type ArtworkVersion struct {
	Version string // as its owner calls it: 2, spring logo
	File    string // picture, relative to shop.yaml
	// Approved is the day on which the client said yes to it; no date = not yet.
	Approved Date
}

// InForce returns the version that is printed: the last that the client approved.
// There is none where no version is approved, or the artwork has no versions.
func (a *Artwork) InForce() (v *ArtworkVersion, ok bool) {
	for i := range a.Versions {
		if !a.Versions[i].Approved.IsZero() {
			v, ok = &a.Versions[i], true
		}
	}
	return v, ok
}

// Awaiting returns the newest version where the client has not approved it yet.
func (a *Artwork) Awaiting() (v *ArtworkVersion, ok bool) {
	if n := len(a.Versions); n > 0 && a.Versions[n-1].Approved.IsZero() {
		return &a.Versions[n-1], true
	}
	return nil, false
}

// Printable reports whether the artwork may be printed: it has no versions, or one
// that is approved.
func (a *Artwork) Printable() bool {
	_, ok := a.InForce()
	return ok || len(a.Versions) == 0
}

// Picture is the file of the picture that is printed or, where no version is
// approved yet, of the newest one, for the proof that the client is to approve.
func (a *Artwork) Picture() string {
	if v, ok := a.InForce(); ok {
		return v.File
	}
	if v, ok := a.Awaiting(); ok {
		return v.File
	}
	return a.File
}

// FormerBefore returns the day on which the version in force was approved: transfers made
// before it carry a former version. No date where there was no former version.
func (a *Artwork) FormerBefore() Date {
	v, ok := a.InForce()
	if !ok || v == &a.Versions[0] {
		return 0
	}
	return v.Approved
}

// GoodFrom returns the first day of which transfers that were made then may still be
// pressed, judged by their version alone; no date where all of them may.
func (a *Artwork) GoodFrom() Date {
	if a.UseUpFormer {
		return 0
	}
	return a.FormerBefore()
}

// Called is what people call the artwork: its name, or its code where it has none.
func (a *Artwork) Called() string { return cmp.Or(a.Name, a.Code) }

// Title is what people call the artwork with its version, for papers.
func (a *Artwork) Title() string {
	switch v, ok := a.InForce(); {
	case ok:
		return a.Called() + ", version " + v.Version
	case len(a.Versions) > 0:
		return a.Called() + ", not approved"
	}
	return a.Called()
}

// FormerPieces are finished pieces on the shelf that carry a version of an artwork that
// is printed no more.
type FormerPieces struct {
	SKU
	Pieces  int
	Artwork *Artwork
}

// CarryFormer returns the client's finished pieces that lay on the shelf before the
// version in force was approved, as far as their lines tell: those counted or received
// since may be of either.
func (c *Client) CarryFormer(shop *Shop, stock []StockLine) (out []FormerPieces) {
	for i := range stock {
		l := &stock[i]
		if l.Kind != Finished || l.Client != c.Code || l.Pieces <= 0 || !l.Expected.IsZero() {
			continue
		}
		on, _ := c.Decorations(shop, "", l.SKU())
		for _, d := range on {
			if a, ok := shop.Artwork(d.Artwork); ok && l.AsOf < a.GoodFrom() {
				out = append(out, FormerPieces{SKU: l.SKU(), Pieces: l.Pieces, Artwork: a})
				break
			}
		}
	}
	return out
}

// Words says what lies there: 4 finished polo/navy/M carry Mark as it was before square.
func (f *FormerPieces) Words() string {
	v, _ := f.Artwork.InForce()
	return fmt.Sprintf("%d finished %s lay on the shelf before %s, version %s, was approved, so they carry a former one: hand them out or take them off the stock",
		f.Pieces, f.SKU, f.Artwork.Name, v.Version)
}
