package programme_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/text/currency"

	"github.com/kitmuster/kitmuster/programme"
)

func TestMoneyIsWrittenAsItsCurrencyIs(t *testing.T) {
	for _, c := range []struct {
		amount   programme.Money
		currency string
		want     string
	}{
		{123450, "USD", "$1,234.50"}, {1200, "EUR", "€12.00"}, {800, "CHF", "CHF 8.00"}, {-5, "GBP", "−£0.05"},
		{123400, "JPY", "JPY 1,234"}, {123450, "JPY", "JPY 1,235"}, {-123450, "JPY", "−JPY 1,235"},
		{-49, "KRW", "KRW 0"}, {0, "ISK", "ISK 0"},
	} {
		require.Equal(t, c.want, c.amount.In(c.currency))
	}
	for _, c := range []struct {
		amount   programme.Money
		currency string
		want     string
	}{
		{123450, "USD", "1234.50"}, {-5, "GBP", "-0.05"}, {123400, "JPY", "1234"}, {123450, "JPY", "1235"},
		{-123450, "JPY", "-1235"}, {-49, "KRW", "0"},
	} {
		require.Equal(t, c.want, c.amount.Plain(c.currency))
	}
}

func TestAnExpectedAmountHasTwoDigitsAndNoSmallerUnit(t *testing.T) {
	for _, c := range []struct {
		amount   programme.Money
		currency string
		want     string
	}{
		{5714, "USD", "about $57"}, {949, "GBP", "about £9"}, {950, "GBP", "about £10"}, {9949, "EUR", "about €99"},
		{9999, "EUR", "about €100"}, {123450, "USD", "about $1,200"},
		{12500, "CHF", "about CHF 130"}, {99, "USD", "less than $1"}, {0, "USD", "less than $1"},
		{123400, "JPY", "about JPY 1,200"}, {700, "JPY", "about JPY 7"},
	} {
		require.Equal(t, c.want, c.amount.About(c.currency), c.amount)
	}
}

// Reference: golang.org/x/text/currency, from the Unicode CLDR's table of ISO 4217.
// CLDR also drops units that ISO has and nobody uses, so it can only be asked
// whether those that we write without a smaller unit have none.
func TestCurrenciesWithoutASmallerUnit(t *testing.T) {
	whole := 0
	for it := currency.Query(); it.Next(); {
		unit := it.Unit()
		digits, _ := currency.Standard.Rounding(unit)
		got := programme.Money(150).In(unit.String())
		if !strings.Contains(got, ".") {
			whole++
			require.Zero(t, digits, unit.String())
		}
	}
	require.GreaterOrEqual(t, whole, 10)
}
