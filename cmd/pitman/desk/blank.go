package desk

import (
	"errors"

	"pitman/registry"
)

// isBlank says whether a tag was printed ahead and hangs on nothing yet.
func (d *Desk) isBlank(tag registry.Tag) bool {
	if d.here(tag) {
		return false
	}
	blank, err := d.IsBlank(d.ctx, tag)
	return err == nil && blank
}

// hang keeps a blank tag that was scanned for what is being logged, or begins to log.
func (d *Desk) hang(tag registry.Tag) {
	d.blank = tag
	switch top := d.top().(type) {
	case *logForm:
		if top.fixes == "" {
			d.say("%s hangs on this one once it is logged.", tag)
			return
		}
	case *form:
		if top.takes {
			d.say("%s hangs on this base once it is logged.", tag)
			return
		}
		if top.first {
			top.scan(d, tag) // says that it has to wait
			return
		}
	}
	d.keep()
	d.startLog()
	d.say("%s is blank: it hangs on what you log next. For a base press Esc, and log that.", tag)
}

// hung says whether what was logged took the blank tag, which is used up then.
func (d *Desk) hung() bool {
	was := d.blank
	d.blank = ""
	return was != ""
}

// letGo forgets a blank tag that was refused: somebody logged something else on it meanwhile.
func (d *Desk) letGo(err error) {
	var refused *registry.Error
	if errors.As(err, &refused) && refused.Field == "tag" {
		d.blank = ""
	}
}
