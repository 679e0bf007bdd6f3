package sqlite

// What the house keeps to itself stands beside its key: in backups, and in no history, bundle or export.

// Secrets reads by name what is kept under names that begin so.
func (r *reader) Secrets(begin string) (map[string]string, error) {
	rows, err := r.query("SELECT name, value FROM identity WHERE substr(name, 1, length(?1)) = ?1", begin)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	found := map[string]string{}
	for rows.Next() {
		var name, value string
		if err := rows.Scan(&name, &value); err != nil {
			return nil, err
		}
		found[name] = value
	}
	return found, rows.Err()
}

// KeepSecret keeps a value under its name.
func (t *tx) KeepSecret(name, value string) error {
	_, err := t.exec(
		"INSERT INTO identity VALUES (?, ?) ON CONFLICT (name) DO UPDATE SET value = excluded.value",
		name, value)
	return err
}
