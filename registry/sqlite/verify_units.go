package sqlite

import (
	"slices"

	"pitman/registry"
	"pitman/registry/stock"
)

// units hands each head and base, with what its records show, to the rules.
func (v *verification) units() error {
	tell := func(s *stock.Standing) error {
		for _, f := range s.Faults(v.needed) {
			v.told(f)
		}
		return nil
	}
	if v.only == nil {
		return v.Standings("", tell)
	}
	for _, subject := range v.only {
		if err := v.Standings(registry.Tag(subject), tell); err != nil {
			return err
		}
	}
	return nil
}

// promises looks for places of orders whose head or base is not in the house.
func (v *verification) promises() error {
	rows, err := v.query(`SELECT tag, number FROM (SELECT head AS tag, number FROM order_set WHERE stands = 1
		AND struck = 0
			UNION ALL SELECT base, number FROM order_set WHERE stands = 1 AND struck = 0 AND base <> '')
		WHERE tag NOT IN (SELECT tag FROM machine WHERE struck = 0 UNION ALL SELECT tag FROM base
		WHERE struck = 0)`)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var tag, number string
		if err := rows.Scan(&tag, &number); err != nil {
			return err
		}
		v.fault(tag, mendRestore, "is promised to %s, and is not in the house", number)
	}
	return rows.Err()
}

// spares looks for parts that are half in a machine: the two columns that link them do not agree.
func (v *verification) spares() error {
	half, err := v.strings("SELECT 'S' || id FROM spare WHERE struck = 0 AND ((fitted_to = '') <> " +
		"(fitted_at = '') " +
		"OR fitted_to <> '' AND fitted_to = taken_from AND fitted_at < taken_at)")
	for _, code := range half {
		v.fault(code, mendField, "is fitted by half: its machine and its day do not agree")
	}
	return err
}

// leftOut are the checks that cannot tell anything of a transaction that is not committed: those of the
// file's pages and of the chain, which gets its link last, and of the index of texts, which holds nothing of
// its own.
var leftOut = []string{"file", "chain", "texts"}

// Faults looks for whatever the rules of a registry rule out, as this transaction would leave it. The history
// is replayed for these subjects alone: a transaction changes no other.
func (t *tx) Faults(letters string, needed []stock.BasePart, subjects []string) ([]registry.Fault, error) {
	v := &verification{reader: t.reader, letters: letters, needed: needed, found: map[string]int{},
		only: slices.Clone(subjects)}
	if v.only == nil {
		v.only = []string{}
	}
	err := v.all(func(name string) bool { return slices.Contains(leftOut, name) })
	return v.faults, err
}
