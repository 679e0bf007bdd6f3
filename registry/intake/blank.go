package intake

import (
	"context"
	"time"

	"pitman/registry"
	"pitman/registry/stock"
)

// MaxBlank is the most blank tags that are printed at once: a roll or two.
const MaxBlank = 1000

// BlankTags gives out the next n tags before there is anything to tie them to, and keeps that they are blank.
// If write, which puts them out, fails, none is given.
func (w *Intake) BlankTags(ctx context.Context, by registry.Initials, n int,
	write func(stock.Tx, []registry.Tag) error) (tags []registry.Tag, err error) {
	if n < 1 || n > MaxBlank {
		return nil, registry.Errorf(registry.Invalid, "blank: type a number from 1 to %d",
			MaxBlank).On("blank")
	}
	at := w.Stock.Now().UTC().Truncate(time.Millisecond)
	err = w.Stock.Store.Update(ctx, &registry.Action{At: at, By: by, Verb: "label"}, func(tx stock.Tx) error {
		for range n {
			tag, err := w.nextTag(tx)
			if err != nil {
				return err
			}
			if err := tx.NotePrint(stock.Print{Tag: tag, Kind: stock.BlankPrint, Event: stock.Printed, At: at,
				By: by}); err != nil {
				return err
			}
			tags = append(tags, tag)
		}
		return write(tx, tags)
	})
	return tags, err
}

// IsBlank says whether a tag was printed ahead here and hangs on nothing yet.
func (w *Intake) IsBlank(ctx context.Context, tag registry.Tag) (blank bool, err error) {
	err = w.Stock.Store.View(ctx, func(r stock.Reader) error {
		err := bindBlank(r, tag)
		if blank = err == nil && tag != ""; registry.CodeOf(err) != "" {
			return nil
		}
		return err
	})
	return blank, err
}

// bindBlank refuses a tag for what comes in unless it is one that this house gave out blank, and that hung on
// nothing yet: also what was undone has had its tag.
func bindBlank(r stock.Reader, tag registry.Tag) error {
	if tag == "" {
		return nil
	}
	past, err := r.History(string(tag))
	switch {
	case err != nil:
		return err
	case len(past) > 0:
		if _, _, err := stock.HeadOrBase(r, tag); registry.CodeOf(err) == registry.NotFound {
			return registry.Errorf(registry.Conflict, "tag %s was given once, and what was logged with it was "+
				"undone: a tag is never given again, so throw it away and take another blank tag", tag).On("tag")
		}
		return registry.Errorf(registry.Conflict,
			"tag %s belongs to something that was logged already: look at what it hangs on, and take "+
				"another blank tag",
			tag).On("tag").Then(registry.Next(registry.DoShow, tag))
	}
	blank := false
	if err := r.Prints(func(p stock.Print) error {
		blank = blank || p.Tag == tag && p.Kind == stock.BlankPrint
		return nil
	}); err != nil || blank {
		return err
	}
	return registry.Errorf(registry.NotFound,
		"tag %s was not printed as a blank one in this house: scan a blank tag, or leave it out and the "+
			"next one is given",
		tag).On("tag")
}
