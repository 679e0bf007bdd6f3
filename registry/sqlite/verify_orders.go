package sqlite

const mendOrder = "see where it stands, then take it off the order with pitman order release ORDER TAG, or match it again"

// promised lists each unit that fills a place of an order, with the order.
const promised = `(SELECT head AS tag, number FROM order_set WHERE stands = 1 AND struck = 0
	UNION ALL SELECT base, number FROM order_set WHERE stands = 1 AND struck = 0 AND base <> '')`

// units lists heads and bases with where they are.
const units = `(SELECT tag, stage, held_from FROM machine WHERE struck = 0 UNION ALL SELECT tag, stage, held_from FROM base WHERE struck = 0)`

// reservations looks for units that are promised twice, and for those whose stage and whose order do not agree.
func (v *verification) reservations() error {
	for _, search := range []struct{ text, what string }{
		{"SELECT tag, group_concat(number, ' and ') FROM " + promised + " GROUP BY tag HAVING count(*) > 1", "is promised twice: to %s"},
		{"SELECT tag, number || ', but is ' || stage FROM " + promised + " JOIN " + units + ` USING (tag)
			WHERE NOT (stage IN ('reserved', 'packed', 'shipped') OR stage = 'held' AND held_from = 'reserved')`, "is promised to %s"},
		{"SELECT tag, stage FROM " + units + " WHERE stage IN ('reserved', 'packed') AND tag NOT IN (SELECT tag FROM " + promised + ")",
			"is %s, and no order has it"},
		{"SELECT tag, number FROM " + promised + " WHERE tag NOT IN (SELECT tag FROM " + units + ")", "is promised to %s, and is not in the house"},
	} {
		rows, err := v.query(search.text)
		if err != nil {
			return err
		}
		defer rows.Close()
		for rows.Next() {
			var tag, detail string
			if err := rows.Scan(&tag, &detail); err != nil {
				return err
			}
			v.fault(tag, mendOrder, search.what, detail)
		}
		if err := rows.Err(); err != nil {
			return err
		}
	}
	return nil
}
