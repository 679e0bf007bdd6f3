package verify

// shipments looks for places of orders whose shipment does not know of them, or is not as far as they are;
// for pieces that go with two; and for numbers that would be given again.
func (v *Verification) shipments() error {
	return v.look([]looking{
		{`SELECT tag, group_concat(DISTINCT shipment) FROM (SELECT head AS tag, shipment FROM order_set
			WHERE struck = 0 AND stands = 1 AND shipment <> '' UNION ALL SELECT base, shipment FROM order_set
			WHERE struck = 0 AND stands = 1 AND shipment <> '' AND base <> '')
			GROUP BY tag HAVING count(DISTINCT shipment) > 1`, "goes with more than one shipment: %s",
			MendRestore},
		{`SELECT head, shipment FROM order_set AS o WHERE struck = 0 AND shipment <> '' AND (stands = 0 OR
			NOT EXISTS (SELECT 1 FROM shipment AS s, json_each(s.orders) AS j WHERE s.ident = o.shipment
			AND s.struck = 0 AND j.value ->> '$.order' = o.number))`,
			"goes with %s, which does not know of it", MendRestore},
		{`SELECT head, shipment FROM order_set AS o JOIN shipment AS s ON s.ident = o.shipment
			WHERE o.struck = 0 AND s.struck = 0 AND (o.shipped_at = '') <> (s.state = 'open')`,
			"goes with %s, and only one of them has left", MendRestore},
		{`SELECT ident, value FROM shipment, counter WHERE name = 'shipment'
			AND CAST(substr(ident, 9) AS INTEGER) > value`,
			"its number is above %s, the last one that was given: it would be given again", mendCounter},
	})
}

// looking is a query for what is wrong: a subject in each row, and what it is about.
type looking struct {
	query, what string
	mend        Remedy
}

// look reports what the queries find.
func (v *Verification) look(list []looking) error {
	for _, look := range list {
		rows, err := v.Query(look.query)
		if err != nil {
			return err
		}
		for rows.Next() {
			var subject, about string
			if err := rows.Scan(&subject, &about); err != nil {
				rows.Close()
				return err
			}
			v.Fault(subject, look.mend, look.what, about)
		}
		rows.Close()
		if err := rows.Err(); err != nil {
			return err
		}
	}
	return nil
}
