package sqlite

import (
	"time"

	"pitman/registry/sqlite/mapping"
	"pitman/registry/stock"
)

func (t *tx) NotePrint(p stock.Print) error {
	_, err := t.exec("INSERT INTO print (tag, kind, event, fingerprint, says, at, by) VALUES (?, ?, ?, ?, "+
		"?, ?, ?)",
		string(p.Tag), string(p.Kind), string(p.Event), p.Fingerprint, p.Says,
		p.At.UTC().Format(mapping.Stamp),
		string(p.By))
	return err
}

func (r *reader) Prints(fn func(stock.Print) error) error {
	prints, err := r.latestPrints()
	for _, p := range prints {
		if err == nil {
			err = fn(p)
		}
	}
	return err
}

// latestPrints reads them all before any is looked at, so that fn may read on the same connection.
func (r *reader) latestPrints() (out []stock.Print, err error) {
	rows, err := r.query(`SELECT p.tag, p.kind, p.event, p.fingerprint, p.says, p.at, p.by, l.times
		FROM (SELECT max(id) AS id, count(*) AS times FROM print GROUP BY tag, kind, event) l
		JOIN print p ON p.id = l.id ORDER BY p.id`)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var p stock.Print
		var at string
		if err := rows.Scan((*string)(&p.Tag), (*string)(&p.Kind), (*string)(&p.Event), &p.Fingerprint,
			&p.Says, &at, (*string)(&p.By), &p.Times); err != nil {
			return nil, err
		}
		if p.At, err = time.Parse(mapping.Stamp, at); err != nil {
			return nil, err
		}
		out = append(out, p)
	}
	return out, rows.Err()
}
