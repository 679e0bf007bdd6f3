package neighbours

import (
	"math/bits"
	"slices"
)

// Fewest is the first smallest choice that is enough, by trying them all.
func Fewest(houses []House, enough func([]House) (bool, error)) ([]House, error) {
	for n := range len(houses) {
		for choice := range 1 << len(houses) {
			if bits.OnesCount(uint(choice)) != n {
				continue
			}
			var some []House
			for i := range houses {
				if choice>>i&1 == 1 {
					some = append(some, houses[i])
				}
			}
			if ok, err := enough(some); ok || err != nil {
				return some, err
			}
		}
	}
	return houses, nil
}

// Fewer leaves out one after the other, the last one first, as long as the rest is enough.
func Fewer(houses []House, enough func([]House) (bool, error)) ([]House, error) {
	left := slices.Clone(houses)
	for i := len(left) - 1; i >= 0; i-- {
		fewer := slices.Delete(slices.Clone(left), i, i+1)
		ok, err := enough(fewer)
		if err != nil {
			return nil, err
		}
		if ok {
			left = fewer
		}
	}
	return left, nil
}
