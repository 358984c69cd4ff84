package programme

// SKU is what is counted and reordered: a garment in a colour and a size.
type SKU struct {
	Garment string `json:"garment"`
	Colour  string `json:"colour"`
	Size    string `json:"size"`
}

// String writes the three with slashes: tee/black/M.
func (k SKU) String() string { return k.Garment + "/" + k.Colour + "/" + k.Size }

// Less orders by garment, colour, size code; people see sizes in the garment's own order.
func (k SKU) Less(o SKU) bool {
	if k.Garment != o.Garment {
		return k.Garment < o.Garment
	}
	if k.Colour != o.Colour {
		return k.Colour < o.Colour
	}
	return k.Size < o.Size
}

// Person is one member of a client's staff.
type Person struct {
	StaffID string
	Name    string
	Role    string
	Site    string
	Start   Date
	End     Date // last day; no date = still there
	// Sizes by size family: top, bottom, head, ...
	Sizes map[string]string
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

// Role returns the role of the person with that staff number; "" for nobody on the roster.
func (r Roster) Role(staffID string) string {
	if p, ok := r.Find(staffID); ok {
		return p.Role
	}
	return ""
}

// MovementKind is what happened to pieces.
type MovementKind string

// Kinds of movement.
const (
	Issued  MovementKind = "issued"
	Ended   MovementKind = "ended"
	Counted MovementKind = "counted"
)

// Movement is one row of the ledger.
type Movement struct {
	Date     Date
	Kind     MovementKind
	StaffID  string
	SKU      SKU
	Pieces   int
	Reason   Reason
	Ref      string
	Washes   float64 // already on the pieces when issued (part-worn reissue, opening stock)
	Assumed  bool    // spread from order history, not written down at the time
	OldKept  bool    // issued beside the pieces held before, which stay in use
	Proposal int64   // the proposal that issued it, 0 = none
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
	Ended       Date
	Reason      Reason
	// From and To bound an ending known only from a count, in washes; in service
	// From is at the last sign of life, an issue or a count. Equal otherwise.
	FromWashes, ToWashes float64
	// UnseenDays are the days since the last sign of life of a piece in service.
	UnseenDays float64
	Assumed    bool
	// Part is the share of a piece that came to this end, where records leave open
	// which of alike pieces it was; 0 = the whole piece.
	Part float64
	// Alike pieces are of one of several batches that records cannot tell apart; their
	// age lies between those of the batches.
	Alike bool
	// Replaced pieces were thrown out for new ones before anybody said that they had ended.
	Replaced bool
	// Reissued pieces had washes on them when they were issued.
	Reissued bool
}
