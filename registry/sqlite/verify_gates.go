package sqlite

// What mends a gate that was passed without its test: the work itself.
const mendTest = "do not plug it in; hold it with pitman hold TAG, then have the test made again and recorded"

// safety looks for electric machines that stand further on than their tests let them. How old a pass may be is the house's to say and is asked
// at packing; that there is one is not.
func (v *verification) safety() error {
	rows, err := v.query(`SELECT tag, stage, safety_at = '', tested_at = '' FROM machine
		WHERE struck = 0 AND stage IN ('ready', 'reserved', 'packed') AND (drive = 'electric' AND safety_at = '' OR tested_at = '')`)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var tag, stage string
		var unsafe, untested bool
		if err := rows.Scan(&tag, &stage, &unsafe, &untested); err != nil {
			return err
		}
		if untested {
			v.fault(tag, mendTest, "is %s without a function test that stands", stage)
		} else {
			v.fault(tag, mendTest, "is electric and %s without a safety pass", stage)
		}
	}
	return rows.Err()
}

// spares looks for parts that were taken off a machine more often than it had them, and for parts that are half in a machine.
func (v *verification) spares() error {
	rows, err := v.query(`SELECT taken_from, part, count(*) AS taken,
			1 + (SELECT count(*) FROM spare AS f WHERE f.struck = 0 AND f.fitted_to = spare.taken_from AND f.part = spare.part AND f.replaced = 0) AS had
		FROM spare WHERE struck = 0 AND taken_from <> '' GROUP BY taken_from, part HAVING taken > had`)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var tag, part string
		var taken, had int
		if err := rows.Scan(&tag, &part, &taken, &had); err != nil {
			return err
		}
		v.fault(tag, mendField, "its %s was taken off it %d times, and it had %d", part, taken, had)
	}
	if err := rows.Err(); err != nil {
		return err
	}
	half, err := v.strings("SELECT 'S' || id FROM spare WHERE struck = 0 AND ((fitted_to = '') <> (fitted_at = '') " +
		"OR fitted_to <> '' AND fitted_to = taken_from AND fitted_at < taken_at)")
	for _, code := range half {
		v.fault(code, mendField, "is fitted by half: its machine and its day do not agree")
	}
	return err
}
