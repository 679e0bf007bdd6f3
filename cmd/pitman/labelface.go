package main

import (
	"cmp"
	"context"
	"fmt"
	"strings"

	"pitman/labels"
	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/measure"
	"pitman/registry/orders"
	"pitman/registry/promise"
	"pitman/registry/recall"
	"pitman/registry/shelf"
	"pitman/registry/stock"
)

// faces lays down what is to be printed.
func (d *workplace) faces(ctx context.Context, s *labels.Scheme, q *labelRequest,
	args []string) (faces []*labels.Face, err error) {
	if q.shelf {
		return d.shelfFaces(ctx, s, args)
	}
	face := d.lastingFace
	if q.slip {
		face = d.slipFace
	}
	if q.stale || q.queue {
		if args, err = d.queuedTags(ctx, s, q, args); err != nil {
			return nil, err
		}
	}
	err = d.Store.View(ctx, func(r stock.Reader) error {
		add := func(m *stock.Machine, b *stock.Base) error {
			f, err := face(r, s, m, b)
			faces = append(faces, f)
			return err
		}
		if q.order != "" {
			set, err := onOrder(r, q.order)
			if err != nil {
				return err
			}
			args = append(args, set...)
		}
		for _, arg := range args {
			tag, err := registry.ParseTag(arg)
			if err != nil {
				return err
			}
			m, b, err := stock.HeadOrBase(r, tag)
			if err == nil && q.stand {
				b, err = stock.BaseByTag(r, tag) // says what a head is
			}
			if err != nil {
				return err
			}
			if err := add(m, b); err != nil {
				return err
			}
		}
		return d.eachAt(r, q, len(args) > 0, add)
	})
	if err == nil && len(faces) == 0 && !q.stale && !q.queue {
		err = nothingToLabel(q)
	}
	return faces, err
}

// eachAt finds the machines or bases that are asked for by their stage, or simply by being bases. What
// another house has now keeps its stage here, and its label there.
func (d *workplace) eachAt(r stock.Reader, q *labelRequest, named bool,
	add func(*stock.Machine, *stock.Base) error) error {
	var stage registry.Stage
	if q.stage != "" {
		var err error
		if stage, err = registry.ParseStage(q.stage); err != nil {
			return err
		}
	}
	switch {
	case q.stand && (stage != "" || !named):
		var b stock.Base
		return r.Each(&b, func() error {
			if b.Stage == stage && b.HandedTo == "" || stage == "" && b.Here() {
				return add(nil, &b)
			}
			return nil
		})
	case stage != "":
		return r.Machines(stock.MachineFilter{Stage: stage, Here: true},
			func(m *stock.Machine) error { return add(m, nil) })
	default:
		return nil
	}
}

// onOrder lists what fills an order, each head before its base.
func onOrder(r stock.Reader, typed string) (tags []string, err error) {
	number, err := orders.ParseOrder(typed)
	if err != nil {
		return nil, err
	}
	o, err := orders.OrderByNumber(r, number)
	if err != nil {
		return nil, err
	}
	sets, err := promise.OrderSets(r, o.Number)
	if err == nil && len(sets) == 0 {
		err = registry.Errorf(registry.NotFound,
			"nothing is reserved for order %s yet: have it reserved first", number).
			Then(registry.Next(registry.DoReserve, "").Of(number))
	}
	for _, s := range sets {
		tags = append(tags, string(s.Head))
		if s.Base != "" {
			tags = append(tags, string(s.Base))
		}
	}
	return tags, err
}

// promised says for a slip which order a head or base goes to, and with what.
func promised(r stock.Reader, tag registry.Tag, at registry.Stage) (string, error) {
	if at != registry.Reserved && at != registry.Packed {
		return "", nil
	}
	set, err := promise.SetOf(r, tag)
	switch {
	case registry.CodeOf(err) == registry.NotFound:
		return "", nil
	case err != nil:
		return "", err
	case set.Base == "":
		return "for " + set.Order, nil
	case set.Base == tag:
		return fmt.Sprintf("for %s, under head %s", set.Order, set.Head), nil
	default:
		return fmt.Sprintf("for %s, on base %s", set.Order, set.Base), nil
	}
}

func nothingToLabel(q *labelRequest) error {
	switch {
	case q.stand && q.stage != "":
		return registry.Errorf(registry.NotFound, "no base is %s: nothing to print", q.stage)
	case q.stand:
		return registry.Errorf(registry.NotFound,
			"no treadle base is in the house").Then(registry.Next(registry.DoAddBase, ""))
	case q.stage != "":
		return registry.Errorf(registry.NotFound, "no machine is %s: nothing to print (bases have --stand)",
			q.stage)
	default:
		return registry.Errorf(registry.Invalid,
			"tag is missing: name the machines or bases to label, or give --stage, --order, --stand or "+
				"--stale")
	}
}

// queue is what has to be printed, by the labels that would be drawn today.
func (d *workplace) queue(ctx context.Context, s *labels.Scheme) (shelf.LabelQueue, error) {
	return d.Labels(ctx,
		func(r stock.Reader, p stock.Print, m *stock.Machine, b *stock.Base) (changed []string, stale bool,
			err error) {
			face := d.lastingFace
			if p.Kind == stock.SlipPrint {
				face = d.slipFace
			}
			f, err := face(r, s, m, b)
			if err != nil {
				return nil, false, err
			}
			if p.Says == "" {
				return nil, !f.PrintedAs(p.Fingerprint, s), nil
			}
			changed, ok := f.Says().Changed(p.Says)
			return changed, !ok || len(changed) > 0, nil
		})
}

// queuedTags are those of the queue that are asked for: stale ones alone, or all; labels, or slips.
func (d *workplace) queuedTags(ctx context.Context, s *labels.Scheme, q *labelRequest,
	args []string) (tags []string, err error) {
	if len(args) > 0 {
		flag := "--stale"
		if q.queue {
			flag = "--queue"
		}
		return nil, registry.Errorf(registry.Invalid, "%s finds the labels by itself: leave %s out", flag,
			args[0])
	}
	due, err := d.queue(ctx, s)
	kind := stock.LabelPrint
	if q.slip {
		kind = stock.SlipPrint
	}
	for _, l := range due.Due {
		if l.Kind == kind && (q.queue || l.Why == shelf.Stale) {
			tags = append(tags, string(l.Tag))
		}
	}
	return tags, err
}

// lastingFace is what is known for the lasting label of a machine or base.
func (d *workplace) lastingFace(r stock.Reader, s *labels.Scheme, m *stock.Machine,
	b *stock.Base) (*labels.Face, error) {
	if b != nil {
		return baseLabel(b).Face(s)
	}
	label := labels.Machine{
		Tag: string(m.Tag), Maker: m.Maker, Model: m.Model, Serial: plate(m), Year: labelYear(m),
		Drive: string(m.Drive),
		Mains: m.TakesMains(),
	}
	if !m.TestedAt.IsZero() {
		label.Tested = labels.Test{On: d.localDate(m.TestedAt), By: string(m.TestedBy)}
	}
	withdrawn, err := recall.Withdrawn(r, m, d.LocalDay)
	if err != nil {
		return nil, err
	}
	if label.Mains && withdrawn == "" && d.SafetyStands(m) {
		letters, err := bench.PassHouse(r, m)
		if err != nil {
			return nil, err
		}
		label.Safety = labels.Test{On: d.localDate(m.SafetyAt), By: m.SafetyBy.Of(letters)}
	}
	if label.SafetyFailed, err = safetyFailed(r, m); err != nil {
		return nil, err
	}
	return label.Face(s)
}

// safetyFailed says whether the last safety test of an electric machine failed, which is more than that there
// is none.
func safetyFailed(r stock.Reader, m *stock.Machine) (bool, error) {
	if !m.TakesMains() {
		return false, nil
	}
	var tests []bench.SafetyTest
	err := r.All(&tests, stock.Fields{"tag": m.Tag})
	return len(tests) > 0 && !tests[len(tests)-1].Pass, err
}

// plate is the serial number, or nothing when there is none to read.
func plate(m *stock.Machine) string {
	if m.Serial == stock.NoSerial {
		return ""
	}
	return m.Serial
}

// baseLabel has what one looks for when a head needs a base: the opening, the hinge sockets and the flywheel.
func baseLabel(b *stock.Base) labels.Base {
	label := labels.Base{Tag: string(b.Tag), Name: strings.TrimSpace(b.Maker + " " + b.Pattern),
		Heavy: measure.LiftCaution(b.Weight, true) != ""}
	if b.Weight != 0 {
		label.Weight = b.Weight.String()
	}
	if b.OpeningLength.Known() || b.OpeningWidth.Known() {
		label.Measures = append(label.Measures, "opening "+byWidth(b.OpeningLength, b.OpeningWidth))
	}
	if b.Pins.Known() {
		label.Measures = append(label.Measures, "pins "+b.Pins.String())
	}
	if b.Flywheel.Known() {
		label.Measures = append(label.Measures, "flywheel "+b.Flywheel.String())
	}
	if b.Top == stock.TopMissing {
		label.Measures = append(label.Measures, "no top")
	}
	return label
}

// slipFace is what is known today for the slip of a machine or base.
func (d *workplace) slipFace(r stock.Reader, s *labels.Scheme, m *stock.Machine,
	b *stock.Base) (*labels.Face, error) {
	if b != nil {
		order, err := promised(r, b.Tag, b.Stage)
		if err != nil {
			return nil, err
		}
		return labels.Slip{Tag: string(b.Tag), Maker: b.Maker, Model: b.Pattern, Base: true,
			Stage: string(b.Stage), Since: d.localDate(b.Since),
			Place: b.Place, Note: cmp.Or(b.HeldWhy, order)}.Face(s)
	}
	order, err := promised(r, m.Tag, m.Stage)
	if err != nil {
		return nil, err
	}
	slip := labels.Slip{
		Tag: string(m.Tag), Maker: m.Maker, Model: m.Model, Serial: plate(m), Stage: string(m.Stage),
		Since: d.localDate(m.StageSince),
		Place: m.Place, Note: cmp.Or(soldAs(m), heldWhy(m), order), DoNotPlugIn: d.LacksSafetyPass(m),
	}
	if slip.SafetyFailed, err = safetyFailed(r, m); err != nil {
		return nil, err
	}
	test, err := bench.OpenFaults(r, m.Tag)
	if err != nil {
		return nil, err
	}
	if test != nil {
		slip.Tested, slip.Points = d.localDate(test.At), len(test.Points)
		for _, p := range test.Faults() {
			slip.Faults = append(slip.Faults, labels.Fault{Point: p.Point, Finding: p.Fault})
		}
	}
	return slip.Face(s)
}

// soldAs is what whoever buys a machine reads first, where it was sold untested.
func soldAs(m *stock.Machine) string {
	if m.Stage != registry.Sold {
		return ""
	}
	return m.SoldAs
}

// shelfFaces are the labels of the named places, or of every place where something stands.
func (d *workplace) shelfFaces(ctx context.Context, s *labels.Scheme, named []string) (faces []*labels.Face,
	err error) {
	var places []string
	for _, name := range named {
		// a label for a place that move and count would refuse is of no use
		place, err := d.PlaceNamed(ctx, name)
		if err != nil {
			return nil, err
		}
		places = append(places, place)
	}
	if len(named) == 0 {
		if places, err = d.PlacesInUse(ctx); err != nil {
			return nil, err
		}
		if len(places) == 0 {
			return nil, registry.Errorf(registry.NotFound,
				"nothing has a place yet: name the places to label, such as --shelf \"shelf 3\"")
		}
	}
	for _, place := range places {
		code, err := d.PlaceCode(ctx, place)
		if err != nil {
			return nil, err
		}
		f, err := labels.Shelf{Place: place, Code: code}.Face(s)
		if err != nil {
			return nil, err
		}
		faces = append(faces, f)
	}
	return faces, nil
}

// labelYear is the year on a label, where nothing else says what an "unknown" is of.
func labelYear(m *stock.Machine) string {
	if y := m.Year(); y != "unknown" && y != "contradicted" {
		return y
	} else {
		return "year " + y
	}
}
