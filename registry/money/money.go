// Package money is the form of currencies and amounts. It knows no rate. Pure.
package money

import (
	"math"
	"regexp"
	"strconv"
	"strings"

	"pitman/registry"
)

// Amount is so many hundredths of a currency, so that sums are exact.
type Amount int64

var currencyCode = regexp.MustCompile(`^[A-Z]{3}$`)

// ParseCurrency reads an ISO 4217 code by its form.
func ParseCurrency(s string) (string, error) {
	code := strings.ToUpper(strings.TrimSpace(s))
	if !currencyCode.MatchString(code) {
		return "", registry.Errorf(registry.Invalid,
			"currency %q is not a code: type its three letters, such as EUR", s).On("currency")
	}
	return code, nil
}

// Of is an amount of so many units and parts of one.
func Of(units float64) Amount { return Amount(math.Round(units * 100)) }

// Units is the amount as a number.
func (a Amount) Units() float64 { return float64(a) / 100 }

func (a Amount) String() string { return strconv.FormatFloat(a.Units(), 'f', 2, 64) }
