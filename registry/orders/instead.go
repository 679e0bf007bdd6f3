package orders

import (
	"errors"
	"fmt"
	"slices"

	"pitman/registry"
	"pitman/registry/promise"
	"pitman/registry/stock"
)

// benchwork are the steps of the bench, which the work of an order stands in for on what is promised.
var benchwork = []string{registry.DoBenchStart, registry.DoBenchNote, registry.DoBenchDone, registry.DoFit,
	registry.DoConvert}

// Instead says of a step that is refused on what is promised which order has it, and, where it was promised
// with work that is still to be done, that this is done where it stands.
func (w *Orders) Instead(r stock.Reader, tag registry.Tag, verb string, refused error) error {
	var e *registry.Error
	if !errors.As(refused, &e) || len(e.Next) != 1 || e.Next[0].Order != "" ||
		!slices.Contains([]string{registry.DoUnreserve, registry.DoPack, registry.DoUnpack}, e.Next[0].Action) {
		return refused
	}
	s, err := promise.SetOf(r, tag)
	if registry.CodeOf(err) == registry.NotFound {
		return refused
	}
	if err != nil {
		return err
	}
	told := *e
	told.Next = []registry.NextStep{registry.Next(e.Next[0].Action, tag).Of(s.Order)}
	if e.Next[0].Action != registry.DoUnreserve || !slices.Contains(benchwork, verb) {
		return &told
	}
	open, _, err := w.SetWork(r, s)
	if err != nil {
		return err
	}
	if len(open) == 0 {
		return &told
	}
	told.Message += fmt.Sprintf(": %s has it with work that is done while it stays so, %s; say that it is "+
		"done, or give the machine back", s.Order, open[0].Job)
	told.Next = slices.Insert(told.Next, 0, registry.Next(registry.DoWorkDone, "").With("id", open[0].ID))
	return &told
}
