package stock

import (
	"pitman/registry"
)

// checkValues says what is wrong with a machine that was not made by the rules of this house.
func (m *Machine) checkValues() error {
	if _, err := registry.ParseStage(string(m.Stage)); err != nil {
		return err
	}
	if _, err := registry.ParseStitch(string(m.Stitch)); err != nil {
		return err
	}
	if err := m.Mains.Check(); err != nil {
		return err
	}
	for _, f := range MachineFields {
		fresh := *m
		if err := f.Set(&fresh, f.Get(m)); err != nil {
			return err
		}
	}
	for _, year := range []*int{m.From, m.To, m.Best} {
		if year != nil && (*year < 1000 || *year > 2999) {
			return registry.Errorf(registry.Invalid,
				"%d is no year in which a machine can have been made: give four digits, such as 1926", *year).
				On("year")
		}
	}
	return m.Validate()
}

// checkValues says what is wrong with a base that was not made by the rules of this house.
func (b *Base) checkValues() error {
	if _, err := registry.ParseStage(string(b.Stage)); err != nil {
		return err
	}
	for _, f := range BaseFields {
		fresh := *b
		if err := f.Set(&fresh, f.Get(b)); err != nil {
			return err
		}
	}
	return nil
}
