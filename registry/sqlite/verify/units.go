package verify

import (
	"pitman/registry"
	"pitman/registry/stock"
)

// units hands each head and base, with what its records show, to the rules.
func (v *Verification) units() error {
	tell := func(s *stock.Standing) error {
		for _, f := range s.Faults(v.Needed) {
			v.told(f)
		}
		return nil
	}
	if v.Only == nil {
		return v.Standings("", tell)
	}
	for _, subject := range v.Only {
		if err := v.Standings(registry.Tag(subject), tell); err != nil {
			return err
		}
	}
	return nil
}

// promises looks for places of orders whose head or base is not in the house.
func (v *Verification) promises() error {
	rows, err := v.Query(`SELECT tag, number FROM (SELECT head AS tag, number FROM order_set WHERE stands = 1
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
		v.Fault(tag, MendRestore, "is promised to %s, and is not in the house", number)
	}
	return rows.Err()
}

// soldParts looks for parts that left the house by half, or that are in a machine besides.
func (v *Verification) soldParts() error {
	half, err := Strings(v, "SELECT 'S' || id FROM spare WHERE struck = 0 AND ((left_at = '') <> "+
		"(left_by = '') OR left_at <> '' AND fitted_to <> '')")
	for _, code := range half {
		v.Fault(code, mendField, "has left the house, and its records do not agree with that")
	}
	return err
}

// spares looks for parts that are half in a machine: the two columns that link them do not agree.
func (v *Verification) spares() error {
	half, err := Strings(v, "SELECT 'S' || id FROM spare WHERE struck = 0 AND ((fitted_to = '') <> "+
		"(fitted_at = '') OR fitted_to <> '' AND fitted_to = taken_from AND fitted_at < taken_at)")
	for _, code := range half {
		v.Fault(code, mendField, "is fitted by half: its machine and its day do not agree")
	}
	return err
}
