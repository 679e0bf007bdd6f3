package intake

import (
	"hash/maphash"

	"pitman/registry/stock"
)

// ManyTwins finds twins for machine after machine, in the house as it was before the first of them.
type ManyTwins struct {
	rows int
	seed maphash.Seed
	sums map[uint64]struct{} // of the numbers in the house, so that most rows have not to be looked up
}

// fewRows are looked up one by one: for them, all numbers of a large house are not worth reading.
const fewRows = 1000

// Find finds machines of the same maker and serial number.
func (t *ManyTwins) Find(house stock.Reader, m *stock.Machine) ([]stock.Machine, error) {
	if t.rows++; t.rows == fewRows {
		t.seed, t.sums = maphash.MakeSeed(), map[uint64]struct{}{}
		err := house.Serials(func(maker, serial string) { t.sums[t.sum(maker, serial)] = struct{}{} })
		if err != nil {
			return nil, err
		}
	}
	if t.sums != nil {
		if _, may := t.sums[t.sum(m.MakerKey, m.SerialKey)]; !may {
			return nil, nil
		}
	}
	return Twins(house, m)
}

func (t *ManyTwins) sum(maker, serial string) uint64 {
	return maphash.Comparable(t.seed, [2]string{maker, serial})
}
