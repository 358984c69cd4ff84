package ledger

import (
	"github.com/kitmuster/kitmuster/programme/table"
)

// Columns of a ledger, in the order of columns.
const (
	colDate = iota
	colMovement
	colStaff
	colGarment
	colColour
	colSize
	colPieces
	colReason
	colRef
	colWashes
	colAssumed
	colOldKept
)

func columns() []table.Column {
	return []table.Column{
		colDate:     {Name: "date", Required: true, Date: true, Also: []string{"day", "when", "issue date", "date issued", "order date", "posted"}},
		colMovement: {Name: "movement", Required: true, Also: []string{"type", "kind", "action", "event", "transaction", "what"}},
		colStaff:    {Name: "staff_id", Required: true, Also: []string{"staff", "staff no", "staff number", "employee", "employee id", "employee no", "emp no", "emp id", "wearer", "person", "badge"}},
		colGarment:  {Name: "garment", Required: true, Also: []string{"item", "product", "article", "style", "description", "code"}},
		colColour:   {Name: "colour", Also: []string{"color", "shade"}},
		colSize:     {Name: "size", Also: []string{"sizes"}},
		colPieces:   {Name: "pieces", Required: true, Also: []string{"qty", "quantity", "count", "number", "units", "pcs", "amount"}},
		colReason:   {Name: "reason", Also: []string{"why", "cause", "reason code"}},
		colRef:      {Name: "ref", Also: []string{"reference", "id", "document", "order", "order no", "po", "invoice"}},
		colWashes:   {Name: "washes", Also: []string{"washes before", "wash count"}},
		colAssumed:  {Name: "assumed"},
		colOldKept:  {Name: "old_kept"},
	}
}
