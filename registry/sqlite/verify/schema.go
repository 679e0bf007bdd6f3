package verify

import "pitman/registry/sqlite/schema"

// schema compares tables, indexes and triggers with those that this program makes.
func (v *Verification) schema() error {
	var version int
	if err := Row(v, "PRAGMA user_version", nil, &version); err != nil {
		return err
	}
	want, err := schema.Made(version)
	if err != nil {
		return err
	}
	rows, err := v.Query(schema.Objects)
	if err != nil {
		return err
	}
	have, err := schema.Read(rows)
	if err != nil {
		return err
	}
	if kept, err := Strings(v, "SELECT value FROM identity WHERE name = 'schema'"); err == nil &&
		len(kept) == 1 && kept[0] != schema.Fingerprint(have) {
		v.Fault("pitman.db", MendRestore, "its schema is not the one whose sum it keeps")
	}
	found := map[[2]string]schema.Part{}
	for _, p := range have {
		found[[2]string{p.Kind, p.Name}] = p
	}
	for _, p := range want {
		key := [2]string{p.Kind, p.Name}
		is, there := found[key]
		delete(found, key)
		switch {
		case !there:
			v.Fault(p.Name, MendRestore, "the %s is gone from the registry's file", p.Kind)
		case is != p:
			v.Fault(p.Name, MendRestore, "the %s is not as this program makes it", p.Kind)
		}
	}
	for key := range found {
		v.Fault(key[1], MendRestore, "the %s is none of this program's: somebody else put it there", key[0])
	}
	return nil
}
