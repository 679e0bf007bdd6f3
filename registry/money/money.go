// Package money is the form of currencies and amounts. It knows no rate. Pure.
package money

import (
	"math"
	"math/big"
	"regexp"
	"slices"
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

// Shares parts an amount by weights, so that the shares add up to it to the hundredth: each gets what it
// comes to rounded down, and the hundredths that are left go to the largest remainders, the first of equal
// ones first. Weights are nought or more, and not all nought.
func Shares(whole Amount, weights []int64) []Amount {
	var sum big.Int
	for _, w := range weights {
		sum.Add(&sum, big.NewInt(w))
	}
	shares := make([]Amount, len(weights))
	if sum.Sign() == 0 {
		return shares
	}
	rest := make([]*big.Int, len(weights))
	order := make([]int, len(weights))
	left := whole
	for i, w := range weights {
		part, over := new(big.Int).Mul(big.NewInt(int64(whole)), big.NewInt(w)), new(big.Int)
		part.QuoRem(part, &sum, over)
		shares[i], rest[i], order[i] = Amount(part.Int64()), over, i
		left -= shares[i]
	}
	slices.SortStableFunc(order, func(a, b int) int { return rest[b].Cmp(rest[a]) })
	for _, i := range order[:left] {
		shares[i]++
	}
	return shares
}

// MarshalJSON writes units with two digits behind the point.
func (a Amount) MarshalJSON() ([]byte, error) { return []byte(a.String()), nil }

// ParseWith reads an amount, and the currency behind it where one is given.
func ParseWith(field, s string, most int64) (a Amount, currency string, err error) {
	amount, currency, _ := strings.Cut(strings.TrimSpace(s), " ")
	if a, err = Parse(field, amount, most); err == nil && strings.TrimSpace(currency) != "" {
		currency, err = ParseCurrency(currency)
	}
	return a, currency, err
}

var (
	amountForm = regexp.MustCompile(`^([0-9]+[.,]?[0-9]{0,2}|[.,][0-9]{1,2})$`)
	// a comma or point that may part thousands, or be followed by more than hundredths
	doubtful = regexp.MustCompile(`^[0-9]+[.,][0-9]{3,}$`)
)

// Doubt refuses a number whose comma or point stands before three figures or more: it may part thousands or
// what is less than one.
func Doubt(field, s string) error {
	if s = strings.TrimSpace(s); doubtful.MatchString(s) {
		return registry.Errorf(registry.Invalid,
			"%s %q has more than two figures behind its comma or point: type thousands without one, and at most "+
				"two figures behind it, such as 2400.50", field, s).On(field)
	}
	return nil
}

// Parse reads an amount of at most so many units; a comma may stand for the point.
func Parse(field, s string, most int64) (Amount, error) {
	s = strings.TrimSpace(s)
	if err := Doubt(field, s); err != nil {
		return 0, err
	}
	units, err := strconv.ParseFloat(strings.Replace(s, ",", ".", 1), 64)
	if err != nil || !amountForm.MatchString(s) || units > float64(most) {
		return 0, registry.Errorf(registry.Invalid,
			"%s %q is no amount: type a number from 0 to %d, such as 2400.50", field, s, most).On(field)
	}
	return Of(units), nil
}
