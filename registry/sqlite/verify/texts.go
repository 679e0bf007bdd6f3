package verify

import (
	"maps"
	"slices"
	"strings"

	"pitman/registry/sqlite/texts"
)

var mendTexts = Remedy{Say: "make a backup and restore it, which makes the index of texts anew",
	Next: Renew}

// maxSampled is how many machines, spread over the house, are looked up by every text of theirs.
const maxSampled = 500

// texts looks for machines that a search would miss.
func (v *Verification) texts() error {
	lost, err := Unfindable(v)
	for _, tag := range lost {
		v.Fault(tag, mendTexts, "a search would miss it: the index of texts leaves it out, or a part of it")
	}
	return err
}

// Unfindable lists machines that the index of texts does not name for what they hold. Every machine is looked
// up by the beginning of its tag, which came into the index together with the rest of it; some are looked up
// by all that stands in them.
func Unfindable(r Source) (lost []string, err error) {
	begins, err := Strings(r, "SELECT DISTINCT substr(tag, 1, ?) FROM machine", texts.Gram)
	if err != nil {
		return nil, err
	}
	for _, begin := range begins {
		missing, err := Strings(r, `SELECT tag FROM machine WHERE substr(tag, 1, ?) = ?
			AND id NOT IN (SELECT docid FROM machine_text WHERE grams MATCH ?) ORDER BY id`, texts.Gram,
			begin,
			texts.Grams(begin))
		if err != nil {
			return nil, err
		}
		lost = append(lost, missing...)
	}
	var every int64 // so manyeth machine is looked up by all its texts
	if err := Row(r, "SELECT 1 + coalesce(max(id), 0) / ? FROM machine", []any{maxSampled},
		&every); err != nil {
		return nil, err
	}
	holders := map[string]map[int64]string{} // by gram: the machines it stands in, with their tags
	err = EachText(r, "SELECT id, tag, "+texts.Whole+" FROM machine WHERE id % ? = 0", []any{every},
		func(id int64, tag, text string) error {
			for _, word := range strings.Fields(texts.Grams(strings.Split(text, "\n")...)) {
				if holders[word] == nil {
					holders[word] = map[int64]string{}
				}
				holders[word][id] = tag
			}
			return nil
		})
	if err != nil {
		return nil, err
	}
	// Gram by gram, each list of the index is read once; machine by machine, the long ones would be read for
	// each.
	missing := map[int64]string{}
	for word, unfound := range holders {
		if err := found(r, word, every, unfound); err != nil {
			return nil, err
		}
		maps.Copy(missing, unfound)
	}
	for _, id := range slices.Sorted(maps.Keys(missing)) {
		if !slices.Contains(lost, missing[id]) {
			lost = append(lost, missing[id])
		}
	}
	return lost, nil
}

// found takes those out that the index names for a gram.
func found(r Source, word string, every int64, unfound map[int64]string) error {
	rows, err := r.Query("SELECT docid FROM machine_text WHERE grams MATCH ? AND docid % ? = 0", word, every)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var id int64
		if err := rows.Scan(&id); err != nil {
			return err
		}
		delete(unfound, id)
	}
	return rows.Err()
}

// EachText calls fn for every machine that the query names, with a text of it.
func EachText(r Source, text string, args []any, fn func(id int64, tag, text string) error) error {
	rows, err := r.Query(text, args...)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var id int64
		var tag, text string
		if err := rows.Scan(&id, &tag, &text); err != nil {
			return err
		}
		if err := fn(id, tag, text); err != nil {
			return err
		}
	}
	return rows.Err()
}

// Row reads the one row that a query has.
func Row(r Source, text string, args []any, dest ...any) error {
	rows, err := r.Query(text, args...)
	if err != nil {
		return err
	}
	defer rows.Close()
	if !rows.Next() {
		return rows.Err()
	}
	return rows.Scan(dest...)
}
