package intake

import (
	"strings"

	"pitman/registry"
	"pitman/registry/stock"
)

// standard is what the house's lists say of machines of this model and bed.
func (w *Intake) standard(m *stock.Machine) (s stock.Machine, err error) {
	if m.Model != "" {
		models, err := stock.Rows(w.Stock.Lists.Models)
		if err != nil {
			return s, err
		}
		for _, r := range models {
			if strings.EqualFold(r.Model, m.Model) &&
				(r.Maker == "" || stock.MakerKey(r.Maker) == stock.MakerKey(m.Maker)) {
				s.BedPattern, s.Needle, s.Bobbin, s.Weight = r.Bed, r.Needle, r.Bobbin, r.Weight
				break
			}
		}
	}
	if m.BedPattern != "" {
		s.BedPattern = m.BedPattern
	}
	if s.BedPattern == "" {
		return s, nil
	}
	beds, err := stock.Rows(w.Stock.Lists.Beds)
	if err != nil {
		return s, err
	}
	names := make([]string, len(beds))
	for i, b := range beds {
		if strings.EqualFold(b.Bed, s.BedPattern) {
			take(&s, b)
			return s, nil
		}
		names[i] = b.Bed
	}
	if m.BedLength.Known() && m.BedWidth.Known() {
		return s, nil // it was measured, perhaps in another house with other names for beds
	}
	return s, registry.Errorf(registry.Invalid,
		"bed-pattern %q is not on the list of beds: type one of %s, or measure the bed and its pins",
		s.BedPattern, strings.Join(names, ", ")).On("bed-pattern")
}

func take(m *stock.Machine, b stock.BedPattern) {
	m.BedPattern, m.BedLength, m.BedWidth, m.Pins, m.Wheel = b.Bed, b.Length, b.Width, b.Pins, b.Wheel
	m.Groove, m.WheelKind, m.CrankBoss, m.MotorBoss = b.Groove, b.WheelKind, b.CrankBoss, b.MotorBoss
	m.AxisHeight, m.BeltOffset = b.AxisHeight, b.BeltOffset
	follow(&m.Needle, "", b.Needle)
	follow(&m.Bobbin, "", b.Bobbin)
	follow(&m.Weight, 0, b.Weight)
}

// Fill gives a machine what the lists say of its model and bed. What was measured on the machine itself
// stays: only what is not known, or came from the model or bed that it was thought to have before, follows.
func (w *Intake) Fill(before, m *stock.Machine) error {
	if before.Model == m.Model && before.BedPattern == m.BedPattern && before.Maker == m.Maker {
		return nil
	}
	asked := *m
	if m.BedPattern == before.BedPattern && w.bedOfModel(before) == before.BedPattern {
		asked.BedPattern = "" // it came with the model, and goes with it
	}
	now, err := w.standard(&asked)
	if err != nil {
		return err
	}
	// A row that the house has since taken off its list told nothing that is still to be told from a measure.
	was, _ := w.standard(before)
	follow(&m.BedLength, was.BedLength, now.BedLength)
	follow(&m.BedWidth, was.BedWidth, now.BedWidth)
	follow(&m.Pins, was.Pins, now.Pins)
	follow(&m.Wheel, was.Wheel, now.Wheel)
	follow(&m.Groove, was.Groove, now.Groove)
	follow(&m.WheelKind, was.WheelKind, now.WheelKind)
	follow(&m.CrankBoss, was.CrankBoss, now.CrankBoss)
	follow(&m.MotorBoss, was.MotorBoss, now.MotorBoss)
	follow(&m.AxisHeight, was.AxisHeight, now.AxisHeight)
	follow(&m.BeltOffset, was.BeltOffset, now.BeltOffset)
	follow(&m.Needle, was.Needle, now.Needle)
	follow(&m.Bobbin, was.Bobbin, now.Bobbin)
	follow(&m.Weight, was.Weight, now.Weight)
	m.BedPattern = now.BedPattern
	return nil
}

// bedOfModel is the bed that the lists give to the machine's model.
func (w *Intake) bedOfModel(m *stock.Machine) string {
	plain := stock.Machine{Maker: m.Maker, Model: m.Model}
	s, err := w.standard(&plain)
	if err != nil {
		return ""
	}
	return s.BedPattern
}

func follow[T comparable](field *T, was, now T) {
	var none T
	if *field == none || *field == was {
		*field = now
	}
}
