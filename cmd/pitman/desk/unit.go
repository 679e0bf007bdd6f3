package desk

import (
	"pitman/registry"
)

// unitPage is the page of one head or base.
type unitPage interface {
	screen
	of() registry.Tag
	offered() []item
}

// unit makes the page of whatever a tag names.
func (d *Desk) unit(tag registry.Tag) (unitPage, error) {
	_, err := d.Machine(d.ctx, tag)
	if registry.CodeOf(err) == registry.NotFound {
		if _, baseErr := d.Base(d.ctx, tag); baseErr == nil {
			return &base{tag: tag}, nil
		}
	}
	return &machine{tag: tag}, err
}

// open shows what a tag names; a page that was on top before is replaced, so that a shelf of scans does not
// pile up.
func (d *Desk) open(tag registry.Tag) {
	page, err := d.unit(tag)
	if d.refuse(err) {
		return
	}
	d.keep()
	if _, same := d.top().(unitPage); same {
		d.swap(page)
		return
	}
	d.push(page)
}

// here says whether a tag names something in this house.
func (d *Desk) here(tag registry.Tag) bool {
	_, err := d.unit(tag)
	return err == nil
}

// close takes the pages of something away that is no longer in the house.
func (d *Desk) close(tag registry.Tag) {
	for _, s := range append([]screen(nil), d.stack...) {
		if page, ok := s.(unitPage); ok && page.of() == tag {
			d.drop(s)
		}
	}
}
