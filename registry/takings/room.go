package takings

import (
	"context"
	"slices"
	"strconv"
	"time"

	"pitman/registry"
	"pitman/registry/stock"
)

// Takings is the room where it is kept what other ways out brought.
type Takings struct {
	*stock.Stock
	Currency *string // the house's
}

type besideKey struct{}

// Bringing has the triage that runs in the returned context enter what it brought, in the same action.
func (w *Takings) Bringing(ctx context.Context, tag registry.Tag, to string,
	t Taking) (context.Context, error) {
	if !t.says() {
		return ctx, nil
	}
	t.Tag, t.Way = tag, Way(to)
	if !Brings(to) {
		return nil, registry.Errorf(registry.Invalid,
			"what it brought is for a sale or scrap, and %s goes to %q: leave it out, or let it leave so",
			tag, to).On("brought")
	}
	if err := t.check(*w.Currency); err != nil {
		return nil, err
	}
	return context.WithValue(ctx, besideKey{}, t), nil
}

// Brings says whether what goes this way may bring money.
func Brings(to string) bool { return Way(to) == Sale || Way(to) == Scrap }

// BringingTyped is Bringing of an amount as it was typed; where nothing was, nothing is told.
func (w *Takings) BringingTyped(ctx context.Context, tag registry.Tag, to, typed string) (context.Context,
	error) {
	var t Taking
	if err := t.SetBrought(typed); err != nil {
		return nil, err
	}
	return w.Bringing(ctx, tag, to, t)
}

// Enter enters, within an action, what its context says that it brought.
func Enter(ctx context.Context, tx stock.Tx) error {
	t, ok := ctx.Value(besideKey{}).(Taking)
	if !ok {
		return nil
	}
	t.At, t.By = tx.Action().At, tx.Action().By
	return tx.Put(&t)
}

// Lot enters, within an action, that a lot of parts left, or of scrap where its metal is said; it gets a
// number.
func (w *Takings) Lot(tx stock.Tx, t *Taking) error {
	if t.Way = Parts; t.Scrapped() {
		t.Way = Scrap
	}
	if err := t.check(*w.Currency); err != nil {
		return err
	}
	n, err := tx.Next("taking")
	if err != nil {
		return err
	}
	t.ID, t.At, t.By = Letters+strconv.FormatInt(n, 10), tx.Action().At, tx.Action().By
	return tx.Put(t)
}

// AmendTaking corrects what a lot brought, or what a machine or base did that left last; what nobody entered
// when that left is entered now.
func (w *Takings) AmendTaking(ctx context.Context, by registry.Initials, subject, why string,
	change func(*Taking) error) (t *Taking, err error) {
	err = w.Act(ctx, by, "amend taking", why, func(tx stock.Tx) error {
		if t, err = known(tx, subject); err != nil {
			return err
		}
		if t.Row.ID == 0 {
			t.By = by
		}
		if t.At.IsZero() {
			t.At = tx.Action().At
		}
		if err := change(t); err != nil {
			return err
		}
		if err := t.check(*w.Currency); err != nil {
			return err
		}
		return tx.Put(t)
	})
	return t, err
}

// known is what stands of a lot, a machine or a base; an empty one for what left and brought nothing so far.
func known(r stock.Reader, subject string) (*Taking, error) {
	if number, ok := NumberOf(subject); ok {
		return ByNumber(r, number)
	}
	tag, err := registry.ParseTag(subject)
	if err != nil {
		return nil, err
	}
	m, b, err := stock.HeadOrBase(r, tag)
	if err != nil {
		return nil, err
	}
	if err := stock.UnitOf(m, b).Workable(); err != nil {
		return nil, err
	}
	stage, since := stageOf(m, b)
	var list []Taking
	if err := r.All(&list, stock.Fields{"tag": tag}); err != nil {
		return nil, err
	}
	way := map[registry.Stage]Way{registry.Sold: Sale, registry.Scrapped: Scrap}[stage]
	if n := len(list); n > 0 && (way == "" || list[n-1].Way == way && !list[n-1].At.Before(since)) {
		return &list[n-1], nil
	}
	if way == "" {
		return nil, registry.Errorf(registry.Conflict,
			"%s is %s: what it brings is entered when it is sold or scrapped", tag, stage).On("tag")
	}
	return &Taking{Tag: tag, Way: way, At: since}, nil
}

// stageOf is where it stands and since when.
func stageOf(m *stock.Machine, b *stock.Base) (stage registry.Stage, since time.Time) {
	if m != nil {
		return m.Stage, m.StageSince
	}
	return b.Stage, b.Since
}

// ListTakings lists what all that left brought, oldest first.
func (w *Takings) ListTakings(ctx context.Context) (list []Taking, err error) {
	list = []Taking{}
	err = w.Store.View(ctx, func(r stock.Reader) error { return r.All(&list, stock.Fields{}) })
	slices.SortStableFunc(list, func(a, b Taking) int { return a.At.Compare(b.At) })
	return list, err
}
