// Package money keeps an amount together with its currency, so that no amount is ever read as one of another,
// and parts amounts to the last cent. It knows no rate but those that people enter. Pure.
package money

import (
	"math"
	"regexp"
	"strconv"
	"strings"

	"pitman/registry"
)

// Amount is so many hundredths of a currency, so that shares add up exactly.
type Amount int64

// largest is above any amount that a workshop has to do with.
const largest = 1e9

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

var typedAmount = regexp.MustCompile(`^[0-9]{1,10}([.,][0-9]{1,2})?$`)

// Parse reads an amount of no currency yet: "1840" or "1840.50".
func Parse(field, s string) (Amount, error) {
	text := strings.TrimSpace(s)
	if typedAmount.MatchString(text) {
		value, err := strconv.ParseFloat(strings.Replace(text, ",", ".", 1), 64)
		if err == nil && value < largest {
			return Of(value), nil
		}
	}
	return 0, registry.Errorf(registry.Invalid,
		"%s %q is no amount: type a number such as 120 or 89.50, without blanks", field, s).On(field)
}

// Of is an amount of so many units and parts of one.
func Of(units float64) Amount { return Amount(math.Round(units * 100)) }

// Units is the amount as a number.
func (a Amount) Units() float64 { return float64(a) / 100 }

func (a Amount) String() string { return strconv.FormatFloat(a.Units(), 'f', 2, 64) }

// Share parts a sum by weights, so that the parts add up to it exactly: each gets what is its due, cut to the
// cent, and the cents that are left go to those whose cut was the largest, the first among equals (largest
// remainder, as seats are shared out). Where no weight is above nought, all parts are alike.
func Share(sum Amount, weights []float64) []Amount {
	parts := make([]Amount, len(weights))
	if len(weights) == 0 {
		return parts
	}
	total := 0.0
	for _, w := range weights {
		total += max(w, 0)
	}
	weigh := func(i int) float64 {
		if total > 0 {
			return max(weights[i], 0) / total
		}
		return 1 / float64(len(weights))
	}
	left := sum
	cut := make([]float64, len(weights))
	for i := range weights {
		due := float64(sum) * weigh(i)
		parts[i] = Amount(math.Floor(due))
		cut[i] = due - math.Floor(due)
		left -= parts[i]
	}
	for ; left > 0; left-- {
		most := 0
		for i := range cut {
			if cut[i] > cut[most] {
				most = i
			}
		}
		parts[most]++
		cut[most] = -1
	}
	return parts
}
