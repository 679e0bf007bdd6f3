package sqlite

import (
	"context"
	"errors"
	"slices"
	"sync"

	"pitman/registry"
	"pitman/registry/sqlite/turn"
	"pitman/registry/sqlite/verify"
	"pitman/registry/stock"
)

// leftOut are the checks that cannot tell anything of a transaction that is not committed: those of the
// file's pages and of the chain, which gets its link last, and of the index of texts, which holds nothing of
// its own.
var leftOut = []string{"file", "chain", "texts"}

// Faults looks for whatever the rules of a registry rule out, as this transaction would leave it. The history
// is replayed for these subjects alone: a transaction changes no other.
func (t *tx) Faults(letters string, needed []stock.BasePart, subjects []string) ([]registry.Fault, error) {
	if subjects == nil {
		subjects = []string{}
	}
	v := t.verification(letters, needed)
	v.Only = subjects
	err := v.Run(func(check string) bool { return slices.Contains(leftOut, check) })
	return v.Faults, err
}

// replays is the check that takes about as long as all others, and neither needs what the other finds.
const replays = "history"

// fewChanges are replayed before another connection has read the schema.
const fewChanges = 500

// Verify looks for everything that the rules of a registry rule out. letters are those that the house's tags
// begin with, needed its list of the parts of a base.
func (db *DB) Verify(ctx context.Context, letters string, needed []stock.BasePart) ([]registry.Fault, error) {
	type part struct {
		leftOut func(check string) bool
		faults  []registry.Fault
		failed  error
	}
	parts := []*part{{leftOut: func(check string) bool { return check != replays }},
		{leftOut: func(check string) bool { return check == replays }}}
	var changes int64
	err := db.conns.Row(ctx, "SELECT count(*) FROM (SELECT 1 FROM change LIMIT ?)", []any{fewChanges}, &changes)
	if err == nil && changes < fewChanges {
		parts = []*part{{leftOut: func(string) bool { return false }}}
	}
	var running sync.WaitGroup
	for _, p := range parts {
		running.Go(func() {
			p.faults, p.failed = db.look(ctx, letters, needed,
				func(v *verify.Verification) error { return v.Run(p.leftOut) })
		})
	}
	running.Wait()
	var faults []registry.Fault
	var failed error
	for _, p := range parts {
		faults, failed = append(faults, p.faults...), errors.Join(failed, p.failed)
	}
	verify.Sort(faults)
	return faults, db.explain(failed)
}

// VerifyQuick looks for what a start of work should not go over.
func (db *DB) VerifyQuick(ctx context.Context) ([]registry.Fault, error) {
	faults, err := db.look(ctx, "", nil, (*verify.Verification).Quick)
	return faults, db.explain(err)
}

// look runs checks in a transaction. That it cannot even begin is a fault like any other.
func (db *DB) look(ctx context.Context, letters string, needed []stock.BasePart,
	run func(*verify.Verification) error) (faults []registry.Fault, err error) {
	unread := &verify.Verification{}
	err = unread.Guard("file", func() error {
		return db.transaction(ctx, turn.Reading, func(r *reader) error {
			v := r.verification(letters, needed)
			err := run(v)
			faults = v.Faults
			return err
		})
	})
	return append(faults, unread.Faults...), err
}

func (r *reader) verification(letters string, needed []stock.BasePart) *verify.Verification {
	return &verify.Verification{Source: source{r}, Letters: letters, Needed: needed}
}

// source lends a transaction's reader to the checks.
type source struct{ *reader }

func (s source) Exec(text string, args ...any) error {
	_, err := s.exec(text, args...)
	return err
}

func (s source) Query(text string, args ...any) (verify.Rows, error) {
	rows, err := s.query(text, args...)
	if err != nil {
		return nil, err
	}
	return rows, nil
}

func (s source) LastLink() (verify.Link, error) { return s.lastLink() }
func (s source) InsertLink(l verify.Link) error { return s.insertLink(l) }

// strings reads a query of one text column.
func (r *reader) strings(text string, args ...any) ([]string, error) {
	return verify.Strings(source{r}, text, args...)
}
