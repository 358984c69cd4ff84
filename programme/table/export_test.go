package table

import (
	"github.com/kitmuster/kitmuster/programme"
)

// ReadDate reads one date as it is read among others of that order; without an
// order it must need none.
func ReadDate(raw string, order DateOrder) (programme.Date, string) {
	d := dates{stated: order, order: order}
	p := d.split(raw)
	return d.read(&p)
}
