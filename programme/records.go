package programme

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
)

// SKU is the unit that is counted and reordered: a garment in a colour and a size.
type SKU struct {
	Garment string `json:"garment"`
	Colour  string `json:"colour"`
	Size    string `json:"size"`
}

// String writes the three with slashes: tee/black/M.
func (k SKU) String() string { return k.Garment + "/" + k.Colour + "/" + k.Size }

// SplitSKU parts what was written as tee/black/M; what is left out is empty, and a size may
// hold slashes of its own (34/32).
func SplitSKU(s string) (garment, colour, size string) {
	parts := append(strings.SplitN(s, "/", 3), "", "")
	return strings.TrimSpace(parts[0]), strings.TrimSpace(parts[1]), strings.TrimSpace(parts[2])
}

// Compare orders by the codes of garment, colour and size; people see sizes in the garment's own order.
func (k SKU) Compare(o SKU) int {
	return cmp.Or(strings.Compare(k.Garment, o.Garment), strings.Compare(k.Colour, o.Colour),
		strings.Compare(k.Size, o.Size))
}

// Person is one member of a client's staff.
type Person struct {
	StaffID string
	Name    string
	// PrintName is the name on garments where it is not taken from Name;
	// NothingPrinted = none.
	PrintName string `json:",omitempty"`
	Role      string
	Site      string
	Start     Date
	End       Date // last day; no date = still there
	// Sizes by size family: top, bottom, head, ...
	Sizes map[string]string
	// Outgrown are, by size family, the sizes that the person changed from and that
	// fit no more: pieces of them are worn on until they are exchanged.
	Outgrown map[string][]string `json:",omitempty"`
	// Spells are times in which the person wears the kit less than usual, or not at
	// all; by first day, and none overlaps another.
	Spells []Spell `json:",omitempty"`
}

// Spell is a time from From to Until, both included, in which a person wears
// Share of what the kit says: 0 = away. No Until = until further notice.
type Spell struct {
	From, Until Date
	Share       float64
}

// Has reports whether the day lies in the spell.
func (s Spell) Has(d Date) bool { return s.From <= d && (s.Until.IsZero() || d <= s.Until) }

// Away reports that nothing is worn.
func (s Spell) Away() bool { return s.Share <= 0 }

// ShareOn returns how much of what the kit says is worn on a day: 1 as usual, 0 while
// the person is away.
func (p *Person) ShareOn(d Date) float64 {
	for _, s := range p.Spells {
		if s.Has(d) {
			return s.Share
		}
	}
	return 1
}

// BackFrom returns the first day from d on on which the person is not away; no date
// where the absence has no end.
func (p *Person) BackFrom(d Date) Date {
	for _, s := range p.Spells {
		if !s.Away() || !s.Has(d) {
			continue
		}
		if s.Until.IsZero() {
			return 0
		}
		d = s.Until + 1
	}
	return d
}

// NoSize says, in place of a size, that somebody wears nothing of a family any more:
// they have changed to another cut.
const NoSize = "none"

// Resize notes that a person wears another size of a family, or NoSize of it. With kept,
// what the person holds of the family fits whatever its size.
func (p *Person) Resize(family, size string, kept bool) {
	before := p.Sizes[family]
	sizes, outgrown := map[string]string{}, map[string][]string{}
	maps.Copy(sizes, p.Sizes)
	maps.Copy(outgrown, p.Outgrown)
	sizes[family] = size
	if size == NoSize {
		delete(sizes, family)
	}
	list := slices.DeleteFunc(slices.Clone(outgrown[family]), func(s string) bool { return s == size })
	switch {
	case kept:
		list = nil
	case before != "" && before != size && !slices.Contains(list, before):
		list = append(list, before)
	}
	if outgrown[family] = list; len(list) == 0 {
		delete(outgrown, family)
	}
	if p.Sizes, p.Outgrown = sizes, outgrown; len(outgrown) == 0 {
		p.Outgrown = nil
	}
}

// HasOutgrown reports whether pieces of a size of a family fit no more, where what the
// person wears in their place is now of the same family or of another.
func (p *Person) HasOutgrown(family, size, now string) bool {
	return (size != p.Sizes[family] || family != now) && slices.Contains(p.Outgrown[family], size)
}

// ActiveOn reports whether the person is employed on d; the last day counts.
func (p *Person) ActiveOn(d Date) bool {
	return p.Start <= d && (p.End.IsZero() || d <= p.End)
}

// Roster is a client's staff.
type Roster []Person

// Find returns the person with that staff number.
func (r Roster) Find(staffID string) (*Person, bool) {
	return find(r, func(p *Person) bool { return p.StaffID == staffID })
}

// On returns the people who are there on a day.
func (r Roster) On(d Date) (there Roster) {
	for i := range r {
		if r[i].ActiveOn(d) {
			there = append(there, r[i])
		}
	}
	return there
}

// Called returns what to call the person with that staff number: the name, with the number where two have the same
// name, and the number alone where no name is kept.
func (r Roster) Called(staffID string) string {
	p, ok := r.Find(staffID)
	if !ok || p.Name == "" {
		return staffID
	}
	for i := range r {
		if r[i].Name == p.Name && r[i].StaffID != staffID {
			return p.Name + " (" + staffID + ")"
		}
	}
	return p.Name
}

// Role returns the role of the person with that staff number; "" for nobody on the roster.
func (r Roster) Role(staffID string) string {
	if p, ok := r.Find(staffID); ok {
		return p.Role
	}
	return ""
}

// Lot is some pieces alike; Washes are whole ones that they have behind them.
type Lot struct {
	SKU
	Pieces int `json:"pieces"`
	Washes int `json:"washes,omitempty"`
}

// Words writes a lot of goods that people call what: 2 × Crew tee (12 washes).
func (l *Lot) Words(what string) string {
	words := strconv.Itoa(l.Pieces) + " × " + what
	if l.Washes > 0 {
		words += fmt.Sprintf(" (%d washes)", l.Washes)
	}
	return words
}

// PiecesOf returns how many pieces the lots have together.
func PiecesOf(lots ...Lot) (n int) {
	for _, l := range lots {
		n += l.Pieces
	}
	return n
}

// MovementKind says what happened to pieces.
type MovementKind string

// Kinds of movement.
const (
	Issued  MovementKind = "issued"
	Ended   MovementKind = "ended"
	Counted MovementKind = "counted"
)

// Movement is one row of the ledger.
type Movement struct {
	Date Date
	// Entered is the day on which it came into the books; 0 = not known.
	Entered Date
	Kind    MovementKind
	StaffID string
	SKU     SKU
	Pieces  int
	Reason  Reason
	Ref     string
	// Washes are those already on the pieces when issued (part-worn reissue, opening
	// stock) or, of an ending, when they went back to the shelf.
	Washes   float64
	Assumed  bool  // spread from order history, not written down at the time
	OldKept  bool  // issued beside the pieces held before, which stay in use
	Proposal int64 // the proposal that issued it, 0 = none
}

// Piece is one garment in somebody's hands, or one that was.
type Piece struct {
	StaffID string
	SKU     SKU
	Issued  Date
	// Washes at the end or, in service, at the date of the muster.
	Washes float64
	// EntryWashes is the age at which records begin for it (left truncation).
	EntryWashes float64
	// Since is the day from which it is observed; no date = from its issue or the
	// start of records.
	Since  Date
	Ended  Date
	Reason Reason
	// From and To bound an ending known only from a count, in washes; in service
	// From is at the last sign of life, an issue or a count. Equal otherwise.
	FromWashes, ToWashes float64
	// UnseenDays are the days since the last sign of life of a piece in service.
	UnseenDays float64
	// LateWashes is the age from which on an ending may have happened that is still to
	// be entered, LateDays the days since then.
	LateWashes, LateDays float64
	// AwayDays are the days of its time in service, as far as records go back, on
	// which its holder was away; UnseenDays are without them.
	AwayDays float64
	// Assumed pieces are only taken to be there, or to be of that age: from past
	// orders that no count has confirmed, or found at a count with no hand-over.
	Assumed bool
	// Part is the share of a piece that came to this end, where records leave open
	// which of alike pieces it was; 0 = the whole piece.
	Part float64
	// Alike pieces are of one of several batches that records cannot tell apart; their
	// age lies between those of the batches.
	Alike bool
	// Replaced pieces were thrown out for new ones before anybody said that they had ended.
	Replaced bool
	// Shelved pieces went back to the shop's shelf when they ended; Kept ones left
	// with their holder, for all the records say.
	Shelved, Kept bool
	// Implied endings were read from pieces handed out beyond the kit.
	Implied bool
	// Reissued pieces had washes on them when they were issued.
	Reissued bool
}

// Share returns the share of a piece that came to this end: 1 where it is the whole piece.
func (p *Piece) Share() float64 {
	if p.Part > 0 {
		return p.Part
	}
	return 1
}
