package programme_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
)

// Of several prices the newest that has begun holds, on its first day already; a
// size's own goes before the garment's.
func TestAPriceHoldsFromItsDayOn(t *testing.T) {
	spring, autumn := programme.NewDate(2026, 4, 1), programme.NewDate(2026, 10, 1)
	c := programme.Client{Prices: []programme.Price{
		{Garment: "tee", Price: 1500, From: autumn},
		{Garment: "tee", Price: 1200},
		{Garment: "tee", Price: 1300, From: spring},
		{Garment: "tee", Size: "2XL", Price: 1600, From: spring},
		{Garment: "cap", Price: 900, From: spring},
	}}
	for _, x := range []struct {
		garment, size string
		on            programme.Date
		want          programme.Money
	}{
		{"tee", "M", spring - 1, 1200}, {"tee", "M", spring, 1300}, {"tee", "M", autumn - 1, 1300},
		{"tee", "M", autumn, 1500},
		{"tee", "2XL", spring - 1, 1200}, {"tee", "2XL", autumn, 1600},
		{"cap", "one", spring - 1, 0}, {"cap", "one", spring, 900}, {"apron", "one", autumn, 0},
	} {
		price, ok := c.PriceOf(x.garment, x.size, x.on)
		require.Equal(t, x.want, price, "%s %s on %s", x.garment, x.size, x.on)
		require.Equal(t, x.want > 0, ok)
	}
	require.Equal(t, []programme.Price{c.Prices[2], c.Prices[3], c.Prices[4]}, c.NewPrices(spring-1, autumn-1))
	require.Empty(t, c.NewPrices(autumn, autumn+900))
}
