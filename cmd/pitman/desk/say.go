package desk

import (
	"errors"
	"fmt"

	"pitman/registry"
)

// say shows what the last key brought about.
func (d *Desk) say(format string, args ...any) {
	d.message, d.caution = fmt.Sprintf(format, args...), false
}

// warn shows it where a person must not overlook it.
func (d *Desk) warn(format string, args ...any) {
	d.message, d.caution = fmt.Sprintf(format, args...), true
}

// refuse shows why something was not done. It says whether there was anything to refuse.
func (d *Desk) refuse(err error) bool {
	if err == nil {
		return false
	}
	var refusal *registry.Error
	if errors.As(err, &refusal) {
		d.warn("%s.", refusal.Message)
	} else {
		d.warn("That did not work (%v). Nothing was written, and what you typed is kept.", err)
	}
	return true
}
