package record

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"github.com/kitmuster/kitmuster/daemon/answer"
	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/ledger"
	"github.com/kitmuster/kitmuster/programme/match"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// Move is a movement of pieces of one person.
type Move struct {
	Client string
	Person string // staff number or name
	Kind   programme.MovementKind
	// Garment is a code or name; Colour and Size may be empty where the
	// person's kit and sizes, or what they hold, leave one answer.
	Garment, Colour, Size string
	Pieces                int
	Reason                programme.Reason // endings only
	On                    programme.Date
	Washes                float64 // issues only: washes the pieces have behind them
	OldKept               bool    // issues only: the pieces held before stay in use
	// FromShelf takes issued pieces off the client's finished stock, as far as there is any.
	FromShelf bool
}

// Enter enters a movement.
func Enter(ctx context.Context, b *books.Books, m Move) (Done, error) {
	return enter(ctx, b, m.Client, func(e *entry) error { return e.move(&m) })
}

func (e *entry) move(m *Move) error {
	person, people, err := e.person(m.Person)
	if err != nil {
		return err
	}
	held, err := e.held(people, person.StaffID, m.On)
	if err != nil {
		return err
	}
	row, err := e.row(m, person, held)
	if err != nil {
		return err
	}
	if err := e.add(&row); err != nil {
		return err
	}
	e.done.Text = e.moveText(&row, who(person))
	if m.Kind == programme.Counted && m.Pieces > held[row.SKU] {
		e.note("the ledger knew of %d; if more were issued, enter those too", held[row.SKU])
	}
	if m.Kind == programme.Issued && !m.OldKept {
		if err := e.noteThrownOut(people, &row, held); err != nil {
			return err
		}
	}
	if m.Kind == programme.Issued && m.FromShelf {
		if err := e.takeFromShelf(row.SKU, m.Pieces, m.Washes); err != nil {
			return err
		}
	}
	e.about = e.moveText(&row, row.StaffID)
	return nil
}

// noteThrownOut notes how many of the pieces that somebody held are read as thrown out
// because the row brings new ones.
func (e *entry) noteThrownOut(people []programme.Person, row *programme.Movement, held map[programme.SKU]int) error {
	now, err := e.held(people, row.StaffID, row.Date)
	if err != nil {
		return err
	}
	gone := row.Pieces
	for _, n := range held {
		gone += n
	}
	for _, n := range now {
		gone -= n
	}
	const keep = "take this back and enter it with the old pieces kept"
	switch {
	case gone == 1:
		e.note("that is more than the kit: 1 piece held before counts as thrown out; if it stays in use, %s", keep)
	case gone > 1:
		e.note("that is more than the kit: %d pieces held before count as thrown out; if they stay in use, %s", gone,
			keep)
	}
	return nil
}

// row is the row of the ledger that a movement makes, without its ref, of a person who
// holds so many pieces on its day.
func (e *entry) row(m *Move, person *programme.Person, held map[programme.SKU]int) (programme.Movement, error) {
	if m.Kind == programme.Issued && !person.End.IsZero() && person.End < m.On {
		return programme.Movement{}, fmt.Errorf("%s left on %s; nothing can be issued after that", who(person),
			e.day(person.End))
	}
	sku, err := e.sku(m, person, held)
	if err != nil {
		return programme.Movement{}, err
	}
	if m.Kind == programme.Ended && held[sku] < m.Pieces {
		return programme.Movement{}, fmt.Errorf("%s holds %d of %s on %s, so %d cannot end; %s", who(person), held[sku],
			sku, e.day(m.On), m.Pieces, heldText(held))
	}
	return programme.Movement{Date: m.On, Kind: m.Kind, StaffID: person.StaffID, SKU: sku, Pieces: m.Pieces,
		Reason: m.Reason, Washes: m.Washes, OldKept: m.OldKept}, nil
}

// add puts a row into the ledger under a ref of its own. A ledger that was
// exported and taken into new books may have brought the refs of old entries.
func (e *entry) add(row *programme.Movement) error {
	for n := 1; ; n++ {
		row.Ref = fmt.Sprintf("by-hand-%d", e.id)
		if n > 1 {
			row.Ref = fmt.Sprintf("by-hand-%d-%d", e.id, n)
		}
		added, _, err := e.tx.AddMovements(e.code, []programme.Movement{*row}, e.id)
		if err != nil || added > 0 {
			return err
		}
	}
}

func (e *entry) moveText(m *programme.Movement, person string) string {
	what := fmt.Sprintf("%d × %s", m.Pieces, answer.Name(e.books.Shop, m.SKU))
	switch m.Kind {
	case programme.Issued:
		return fmt.Sprintf("issued %s to %s on %s", what, person, e.day(m.Date))
	case programme.Ended:
		return fmt.Sprintf("ended %s of %s on %s (%s)", what, person, e.day(m.Date), m.Reason.Words())
	default:
		return fmt.Sprintf("counted %s with %s on %s", what, person, e.day(m.Date))
	}
}

// held returns what a person holds on a day, as the ledger says.
func (e *entry) held(people []programme.Person, staff string, on programme.Date) (map[programme.SKU]int, error) {
	moves, err := e.tx.Movements(e.code)
	if err != nil {
		return nil, err
	}
	return Held(e.books.Shop, e.client, people, moves, staff, on)
}

// Held counts the pieces a person holds on a day.
func Held(shop *programme.Shop, client *programme.Client, people []programme.Person, moves []programme.Movement,
	staff string, on programme.Date) (map[programme.SKU]int, error) {
	pieces, err := InHand(shop, client, people, moves, staff, on)
	held := map[programme.SKU]int{}
	for i := range pieces {
		held[pieces[i].SKU]++
	}
	return held, err
}

// InHand returns the pieces a person holds on a day, with their wear.
func InHand(shop *programme.Shop, client *programme.Client, people []programme.Person, moves []programme.Movement,
	staff string, on programme.Date) ([]programme.Piece, error) {
	book, err := wear.NewBook(shop, client, nil)
	if err != nil {
		return nil, err
	}
	own := slices.DeleteFunc(slices.Clone(moves), func(m programme.Movement) bool { return m.StaffID != staff })
	return book.Trace(people, own, on).InService, nil
}

// sku finds the garment, colour and size: what an issue leaves open is taken
// from the person's kit and sizes, what an ending or count leaves open from
// what the person holds.
func (e *entry) sku(m *Move, p *programme.Person, held map[programme.SKU]int) (programme.SKU, error) {
	garment := garmentNamed(e.books.Shop, m.Garment)
	if garment == nil {
		_, wrong := ledger.NewCatalogue(e.books.Shop.Garments).Find(m.Garment, m.Colour, m.Size)
		return programme.SKU{}, fmt.Errorf("read %q, %s", m.Garment, wrong.Want)
	}
	colour, size := m.Colour, m.Size
	if m.Kind == programme.Issued {
		colour, size = cmp.Or(colour, kitColour(e.client, p.Role, garment.Code)),
			cmp.Or(size, p.Sizes[garment.SizeFamily])
	} else if one, ok := onlyHeld(held, garment.Code, colour, size); ok {
		return one, nil
	}
	sku, wrong := ledger.NewCatalogue([]programme.Garment{*garment}).Find(garment.Code, colour, size)
	if wrong == nil {
		return sku, nil
	}
	if m.Kind != programme.Issued {
		return sku, fmt.Errorf("say which colour and size of %s, as %s/COLOUR/SIZE; %s %s", garment.Code, garment.Code,
			who(p), heldText(held))
	}
	value := []string{m.Garment, colour, size}[wrong.Part]
	if value == "" {
		return sku, fmt.Errorf("%s; give it as %s/COLOUR/SIZE", wrong.Want, garment.Code)
	}
	return sku, fmt.Errorf("read %q, %s", value, wrong.Want)
}

func garmentNamed(shop *programme.Shop, word string) *programme.Garment {
	codes := match.ChoicesOf(shop.Garments, func(x *programme.Garment) (string, string) { return x.Code, x.Name })
	code, ok := codes.Find(word)
	if !ok {
		return nil
	}
	g, _ := shop.Garment(code)
	return g
}

// kitColour returns the colour in which a role wears a garment, if there is only one.
func kitColour(client *programme.Client, role, garment string) string {
	r, ok := client.Role(role)
	if !ok {
		return ""
	}
	colour := ""
	for _, k := range r.Kit {
		if k.Garment != garment {
			continue
		}
		if colour != "" && colour != k.Colour {
			return ""
		}
		colour = k.Colour
	}
	return colour
}

// onlyHeld returns the one thing a person holds that fits what was said.
func onlyHeld(held map[programme.SKU]int, garment, colour, size string) (programme.SKU, bool) {
	var found []programme.SKU
	for sku, n := range held {
		if n > 0 && sku.Garment == garment && (colour == "" || strings.EqualFold(sku.Colour, colour)) &&
			(size == "" || strings.EqualFold(sku.Size, size)) {
			found = append(found, sku)
		}
	}
	if len(found) != 1 {
		return programme.SKU{}, false
	}
	return found[0], true
}

func heldText(held map[programme.SKU]int) string {
	if len(held) == 0 {
		return "holds nothing that the ledger knows of"
	}
	words := make([]string, 0, len(held))
	for _, sku := range slices.SortedFunc(maps.Keys(held), programme.SKU.Compare) {
		words = append(words, fmt.Sprintf("%d %s", held[sku], sku))
	}
	return "holds " + strings.Join(words, ", ")
}

// takeFromShelf takes finished pieces of the client off the shelf: new ones, or
// such as were worn so often before.
func (e *entry) takeFromShelf(sku programme.SKU, n int, washes float64) error {
	goods := programme.FinishedGoods(e.code, sku)
	before, err := linesOf(e.tx, goods)
	if err != nil {
		return err
	}
	taken, err := e.offShelf(goods, n, washes)
	if err != nil || taken == 0 {
		return err
	}
	after, err := linesOf(e.tx, goods)
	if err != nil {
		return err
	}
	e.undo.Shelf = &shelfChange{Thing: goods, Before: before, After: after}
	e.note("%s taken off the shelf of finished stock", programme.NumberOf(taken, "piece"))
	return nil
}

func (e *entry) offShelf(goods programme.Goods, n int, washes float64) (taken int, err error) {
	lines, err := e.tx.TakeWorn(goods, n,
		func(l programme.StockLine) bool { return l.Washes == 0 || l.Washes == int(math.Round(washes)) })
	for i := range lines {
		taken += lines[i].Pieces
	}
	return taken, err
}
