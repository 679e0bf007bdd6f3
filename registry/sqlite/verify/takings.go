package verify

// takings looks for what something brought that is not in the house, and for numbers that would be given
// again.
func (v *Verification) takings() error {
	return v.look([]looking{
		{`SELECT tag, way FROM taking AS t WHERE struck = 0 AND tag <> ''
			AND NOT EXISTS (SELECT 1 FROM machine AS m WHERE m.tag = t.tag AND m.struck = 0)
			AND NOT EXISTS (SELECT 1 FROM base AS b WHERE b.tag = t.tag AND b.struck = 0)`,
			"brought something by %s, and is not in the house", MendRestore},
		{`SELECT ident, value FROM taking, counter WHERE name = 'taking'
			AND CAST(substr(ident, 7) AS INTEGER) > value`,
			"its number is above %s, the last one that was given: it would be given again", mendCounter},
	})
}
