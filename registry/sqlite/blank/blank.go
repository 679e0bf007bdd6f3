// Package blank puts texts out of a history for good, and leaves whole what vouches for it: of each text the
// digest stays by which it entered the chain, and a link tells what was put out (registry/chain,
// registry/sqlite/verify). It reads and writes by what whoever holds the file lends it, in one transaction.
package blank

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"

	"pitman/registry/chain"
	"pitman/registry/sqlite/texts"
	"pitman/registry/sqlite/verify"
)

// Writer is the file.
type Writer interface {
	verify.Source
	Exec(text string, args ...any) error
}

// Found are texts of the history.
type Found struct {
	Changes   []Change
	Actions   []int64
	Decisions []int64  // what house.toml said once
	Settings  []int    // lines of what it says now, which whoever wrote it has to change
	Since     string   // when the first of them was recorded; "" where there are none
	Open      []string // texts that are not personal, as "subject: column"
}

// Change is one that has such texts.
type Change struct {
	ID    int64
	Sides []chain.Side
}

// Find looks for texts in the whole history.
func Find(r verify.Source, is func(text string) bool, personal func(kind, column string) bool) (*Found,
	error) {
	f := &Found{}
	rows, err := r.Query("SELECT change.id, kind, subject, fields, at FROM change JOIN action ON action.id = " +
		"change.action ORDER BY change.id")
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	since := func(at string) {
		if f.Since == "" || at < f.Since {
			f.Since = at
		}
	}
	for rows.Next() {
		var c Change
		var kind, subject, fields, at string
		if err := rows.Scan(&c.ID, &kind, &subject, &fields, &at); err != nil {
			return nil, err
		}
		chain.EachText(fields, func(t chain.Text) {
			switch {
			case t.From == t.To || !is(t.Is(fields)):
			case personal(kind, t.Column):
				c.Sides = append(c.Sides, t.Side)
			case !slices.Contains(f.Open, subject+": "+t.Column):
				f.Open = append(f.Open, subject+": "+t.Column)
			}
		})
		if len(c.Sides) > 0 {
			f.Changes = append(f.Changes, c)
			since(at)
		}
	}
	actions, err := r.Query("SELECT id, why, at FROM action WHERE why <> ''")
	if err = errors.Join(rows.Err(), err); err != nil {
		return nil, err
	}
	defer actions.Close()
	for actions.Next() {
		var id int64
		var why, at string
		if err := actions.Scan(&id, &why, &at); err != nil {
			return nil, err
		}
		if is(why) {
			f.Actions = append(f.Actions, id)
			since(at)
		}
	}
	if err := actions.Err(); err != nil {
		return nil, err
	}
	said, err := verify.ReadDecisions(r)
	for i, d := range said {
		switch {
		case !is(d.Text):
		case i < len(said)-1:
			f.Decisions = append(f.Decisions, d.ID)
			since(d.At)
		default:
			f.Settings = linesOf(d.Text, is)
		}
	}
	return f, err
}

// linesOf are the lines of a text in which it is; where it is in no one line, the one with which it ends.
func linesOf(text string, is func(string) bool) (lines []int) {
	n, ends, so := 0, 0, ""
	for line := range strings.Lines(text) {
		n++
		if so += line; is(line) {
			lines = append(lines, n)
		} else if ends == 0 && is(so) {
			ends = n
		}
	}
	if len(lines) == 0 {
		lines = []int{ends}
	}
	return lines
}

// PutOut blanks the texts, and returns the note of the link with this number, which vouches for it.
func (f *Found) PutOut(w Writer, link int64) (note string, err error) {
	var told []string
	var links []int64 // in which texts were put out
	err = unguarded(w, func() error {
		for _, c := range f.Changes {
			if err := putOut(w, c); err != nil {
				return err
			}
			for _, side := range c.Sides {
				told = append(told, fmt.Sprintf("change %d %s %d", c.ID, side.Column, side.At))
			}
			if links, err = with(w, links, "change", c.ID); err != nil {
				return err
			}
		}
		for _, id := range f.Actions {
			var mark, why string
			if err := verify.Row(w, "SELECT mark, why FROM action WHERE id = ?", []any{id}, &mark,
				&why); err != nil {
				return err
			}
			if mark == "" {
				mark = chain.NewSalt()
			}
			err := w.Exec("UPDATE action SET why = '', mark = ? WHERE id = ?", chain.Digest(mark, why), id)
			if err != nil {
				return err
			}
			told = append(told, fmt.Sprintf("action %d", id))
			if links, err = with(w, links, "action", id); err != nil {
				return err
			}
		}
		for _, id := range f.Decisions {
			if err := putOutDecision(w, id); err != nil {
				return err
			}
			told = append(told, verify.ToldOfDecision(id))
		}
		return nil
	})
	if err != nil {
		return "", err
	}
	again, err := sumsAgain(w, links)
	if err != nil {
		return "", err
	}
	told = append(told, again...)
	for _, what := range told {
		if err := w.Exec("INSERT INTO forgotten (link, what) VALUES (?, ?)", link, what); err != nil {
			return "", err
		}
	}
	return verify.ForgotNote(told), nil
}

func putOut(w Writer, c Change) error {
	var fields, marks string
	err := verify.Row(w, "SELECT fields, marks FROM change WHERE id = ?", []any{c.ID}, &fields, &marks)
	if err != nil {
		return err
	}
	fields, marks = chain.Forget(fields, marks, c.Sides...)
	return w.Exec("UPDATE change SET fields = ?, marks = ? WHERE id = ?", fields, marks, c.ID)
}

// putOutDecision leaves of what house.toml said the digest that its link has.
func putOutDecision(w Writer, id int64) error {
	var mark, text string
	err := verify.Row(w, "SELECT mark, text FROM decisions WHERE id = ?", []any{id}, &mark, &text)
	if err != nil {
		return err
	}
	digest := strings.TrimPrefix(verify.NoteOf(mark, text), verify.Decided)
	return w.Exec("UPDATE decisions SET text = '', mark = ? WHERE id = ?", digest, id)
}

// unguarded runs fn while the history can be written, and puts its guards back.
func unguarded(w Writer, fn func() error) error {
	const guards = " FROM sqlite_schema WHERE type = 'trigger' AND name IN ('action_stays', 'change_stays', " +
		"'decisions_stay')"
	names, err := verify.Strings(w, "SELECT name"+guards)
	if err != nil {
		return err
	}
	made, err := verify.Strings(w, "SELECT sql"+guards)
	if err != nil {
		return err
	}
	for _, name := range names {
		if err := w.Exec("DROP TRIGGER " + name); err != nil {
			return err
		}
	}
	if err := fn(); err != nil {
		return err
	}
	for _, text := range made {
		if err := w.Exec(text); err != nil {
			return err
		}
	}
	return nil
}

// with adds the link that covers an action or a change.
func with(w Writer, links []int64, what string, id int64) ([]int64, error) {
	if n := len(links); n > 0 { // most stand near each other
		var upTo, from int64
		err := verify.Row(w, "SELECT "+what+", coalesce((SELECT "+what+
			" FROM link WHERE id = ?1 - 1), 0) FROM link "+
			"WHERE id = ?1", []any{links[n-1]}, &upTo, &from)
		if err != nil || id > from && id <= upTo {
			return links, err
		}
	}
	var link int64
	err := verify.Row(w, "SELECT id FROM link WHERE "+what+" >= ? ORDER BY id LIMIT 1", []any{id}, &link)
	if err == nil && link != 0 && !slices.Contains(links, link) {
		links = append(links, link)
	}
	return links, err
}

// sumsAgain makes the sums of those links anew whose sum was made over the texts themselves, before there
// were marks.
func sumsAgain(w Writer, links []int64) (told []string, err error) {
	slices.Sort(links)
	for _, id := range links {
		var last, l verify.Link
		for _, one := range []struct {
			id int64
			to *verify.Link
		}{{id - 1, &last}, {id, &l}} {
			err := verify.Row(w, "SELECT id, action, change, note, sum FROM link WHERE id = ?", []any{one.id},
				&one.to.ID,
				&one.to.Action, &one.to.Change, &one.to.Note, &one.to.Sum)
			if err != nil {
				return nil, err
			}
		}
		sum, err := verify.SumOf(w, last, l)
		if err != nil {
			return nil, err
		}
		if sum != l.Sum {
			told = append(told, fmt.Sprintf("link %d %s", l.ID, sum))
		}
	}
	return told, nil
}

// Texts makes the index of texts anew: it holds what it once held of each machine.
func Texts(w Writer) error {
	made, err := verify.Strings(w, "SELECT sql FROM sqlite_schema WHERE name = 'machine_text'")
	if err != nil || len(made) != 1 {
		return err
	}
	for _, text := range []string{"DROP TABLE machine_text", made[0],
		"INSERT INTO machine_text (machine_text) VALUES ('automerge=8')"} {
		if err := w.Exec(text); err != nil {
			return err
		}
	}
	return verify.EachText(w, "SELECT id, tag, "+texts.Whole+" FROM machine", nil,
		func(id int64, _, text string) error {
			return w.Exec("INSERT INTO machine_text (docid, grams) VALUES (?, ?)", id, texts.Grams(text))
		})
}

// Told says whether a file tells all that was put out at a link, as the note of that link vouches for.
func Told(other verify.Source, link int64, note string) (bool, error) {
	what, err := toldAt(other, link)
	return verify.ForgotNote(what) == note, err
}

func toldAt(other verify.Source, link int64) ([]string, error) {
	return verify.Strings(other, fmt.Sprint("SELECT what FROM forgotten WHERE link = ", link, " ORDER BY id"))
}

// Again puts out in a file what another one of the same history tells was put out at a link: the texts are
// held against the digests that the other one kept.
func Again(w Writer, other verify.Source, link int64) error {
	what, err := toldAt(other, link)
	if err != nil {
		return err
	}
	return unguarded(w, func() error {
		for _, one := range what {
			if err := again(w, other, one); err != nil {
				return err
			}
			if err := w.Exec("INSERT INTO forgotten (link, what) VALUES (?, ?)", link, one); err != nil {
				return err
			}
		}
		return nil
	})
}

// Missed names the subjects of texts that another file of the house tells were put out, and that stand in
// this one still.
func Missed(r verify.Source, theirs *verify.Forgotten) (subjects []string, err error) {
	for _, link := range slices.Sorted(maps.Keys(theirs.Rows)) {
		for _, one := range theirs.Rows[link] {
			subject, err := standsIn(r, one)
			if err != nil {
				return nil, err
			}
			if subject != "" && !slices.Contains(subjects, subject) {
				subjects = append(subjects, subject)
			}
		}
	}
	return subjects, nil
}

// standsIn is the subject of a text that was put out elsewhere; empty where it is not here, or put out, too.
func standsIn(r verify.Source, what string) (subject string, err error) {
	var id int64
	var column string
	var side int
	if n, _ := fmt.Sscanf(what, "change %d %s %d", &id, &column, &side); n == 3 {
		var kind, fields string
		err := verify.Row(r, "SELECT subject, kind, fields FROM change WHERE id = ?", []any{id}, &subject,
			&kind,
			&fields)
		stands := false
		chain.EachText(fields, func(t chain.Text) {
			stands = stands || t.Side == chain.Side{Column: column, At: side} && t.To > t.From
		})
		if err != nil || !stands {
			return "", err
		}
		return subject, nil
	}
	if n, _ := fmt.Sscanf(what, "action %d", &id); n == 1 {
		var why string
		err := verify.Row(r, "SELECT why FROM action WHERE id = ?", []any{id}, &why)
		if err != nil || why == "" {
			return "", err
		}
		return fmt.Sprint("the why of action ", id), nil
	}
	return "", nil
}

func again(w Writer, other verify.Source, what string) error {
	kind, rest, _ := strings.Cut(what, " ")
	var id int64
	if n, _ := fmt.Sscan(rest, &id); n != 1 {
		return nil
	}
	switch kind {
	case "change":
		var fields, marks, column string
		err := verify.Row(other, "SELECT fields, marks FROM change WHERE id = ?", []any{id}, &fields, &marks)
		if err != nil || fields == "" {
			return err
		}
		err = w.Exec("UPDATE change SET fields = ?, marks = ? WHERE id = ?", fields, marks, id)
		if n, _ := fmt.Sscan(rest, &id, &column); err != nil || n != 2 {
			return err
		}
		return restate(w, id, column)
	case "action":
		var why, mark string
		if err := verify.Row(other, "SELECT why, mark FROM action WHERE id = ?", []any{id}, &why,
			&mark); err != nil {
			return err
		}
		return w.Exec("UPDATE action SET why = ?, mark = ? WHERE id = ?", why, mark, id)
	case "decision":
		return putOutDecision(w, id)
	}
	return nil
}

// restate lets the record of a change say in a column what its history ends with.
func restate(w Writer, change int64, column string) error {
	var kind string
	var ref int64
	err := verify.Row(w, "SELECT kind, ref FROM change WHERE id = ?", []any{change}, &kind, &ref)
	if err != nil || kind == "" {
		return err
	}
	columns, err := verify.Strings(w, "SELECT name FROM pragma_table_info (?)", kind)
	if err != nil || !slices.Contains(columns, column) {
		return err
	}
	histories, err := verify.Strings(w,
		"SELECT fields FROM change WHERE kind = ? AND ref = ? ORDER BY id DESC", kind,
		ref)
	if err != nil {
		return err
	}
	for _, fields := range histories {
		now, told := "", false
		chain.EachText(fields, func(t chain.Text) {
			if t.Column == column && t.At == 1 {
				now, told = t.Is(fields), true
			}
		})
		if told {
			return w.Exec("UPDATE "+kind+" SET "+column+" = ? WHERE id = ?", now, ref)
		}
	}
	return nil
}
