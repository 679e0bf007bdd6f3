package main

import (
	"context"
	"fmt"
	"os"
	"path/filepath"

	"pitman/registry"
	"pitman/registry/archive"
	"pitman/registry/bench"
	"pitman/registry/electrical"
	"pitman/registry/orders"
	"pitman/registry/spares"
	"pitman/registry/stock"
)

// addDemoRules says in house.toml what an electric machine needs before anyone can pass it: a competent
// person and an instrument.
func (a *app) addDemoRules(calibrated string) error {
	f, err := os.OpenFile(filepath.Join(a.houseDir, archive.ConfigFile), os.O_APPEND|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(f,
		"\n[safety]\ncompetent = [\"TV\"]\ninstruments = [{ id = \"MG-1\", calibrated = %q }]\n", calibrated)
	if e := f.Close(); err == nil {
		err = e
	}
	return err
}

// workDemo plays the weeks after the sewing day: most machines are refurbished and tested, some wait, some
// leave another way. sleep lets days pass.
func workDemo(ctx context.Context, d *workplace, sleep func(days int)) error {
	tags, err := demoTags(ctx, d)
	if err != nil {
		return err
	}
	sleep(1)
	for i, tag := range tags[:54] { // the last six came in a moment ago
		way, why := "refurbish", "complete and turns"
		switch {
		case i%18 == 9:
			way, why = "parts", "badly rusted inside"
		case i == 38:
			way, why = "sale", "collectors want it"
		case i == 44:
			way, why = "scrap", "broken casting and no use for its parts"
		}
		if _, err := d.Triage(ctx, "MB", tag, way, why, "QX"); err != nil {
			return err
		}
	}
	bases, err := d.Bases(ctx, func(*stock.Base) bool { return true })
	if err != nil {
		return err
	}
	for i, b := range bases {
		if i != 3 && i < 12 { // the fourth lacks its pitman and guard; the last two want measuring
			if _, err := d.ReadyBase(ctx, "QX", b.Tag); err != nil {
				return err
			}
		}
	}
	for _, part := range []string{"handwheel", "presser-foot"} {
		if _, _, err := d.TakeSpare(ctx, "MB", tags[9], part, "drawer 4"); err != nil {
			return err
		}
	}
	for i, tag := range tags[:40] {
		if i%8 == 0 {
			sleep(2)
		}
		if err := demoBench(ctx, d, tag, i); err != nil {
			return fmt.Errorf("%s at the bench: %w", tag, err)
		}
	}
	sleep(3)
	for i, tag := range tags[:32] {
		if err := demoTests(ctx, d, tag, i); err != nil {
			return fmt.Errorf("%s at its tests: %w", tag, err)
		}
	}
	return nil
}

// addDemoOrders takes in what two partners ask for.
func addDemoOrders(ctx context.Context, d *workplace, soon, later string) error {
	for _, asked := range []struct {
		order orders.Order
		lines []orders.OrderLine
	}{
		{orders.Order{Partner: "Saltmarsh training centre", Due: soon, Supply: "230V/50Hz/G"},
			[]orders.OrderLine{{Wanted: orders.TreadleSet, Asked: 9},
				{Wanted: orders.ElectricOne, Asked: 3}}},
		{orders.Order{Partner: "Upper Fell sewing school", Due: later},
			[]orders.OrderLine{{Wanted: orders.HandMachine, Asked: 14}}},
	} {
		if err := d.OpenOrder(ctx, "QX", &asked.order); err != nil {
			return err
		}
		for _, line := range asked.lines {
			line.Order = asked.order.Number
			if err := d.AddLine(ctx, "QX", &line); err != nil {
				return err
			}
		}
	}
	return nil
}

func demoTags(ctx context.Context, d *workplace) (tags []registry.Tag, err error) {
	err = d.Store.View(ctx, func(r stock.Reader) error {
		return r.Machines(stock.MachineFilter{}, func(m *stock.Machine) error {
			tags = append(tags, m.Tag)
			return nil
		})
	})
	return tags, err
}

// demoBench works on a machine; three stay on the bench, one of them waiting for a part.
func demoBench(ctx context.Context, d *workplace, tag registry.Tag, i int) error {
	m, err := d.Machine(ctx, tag)
	if err != nil || m.Stage != registry.Queued {
		return err
	}
	by := []registry.Initials{"MB", "QX"}[i%2]
	if _, err := d.BenchStart(ctx, by, tag, bench.WorkNote{}); err != nil {
		return err
	}
	note := bench.WorkNote{Jobs: []string{"clean", "oil", "tension"}, Minutes: 35 + i*7%50}
	switch i {
	case 12:
		if _, _, err := d.FitSpare(ctx, by, tag, spares.PartUse{Part: "presser-foot"}); err != nil {
			return err
		}
	case 34:
		_, err := d.NeedSpare(ctx, by, tag, "feed-dog")
		return err
	case 35, 37:
		_, err := d.BenchNote(ctx, by, tag, note)
		return err
	}
	_, err = d.BenchFinish(ctx, by, tag, note)
	return err
}

// demoTests records what the tester found: two machines go back to the bench, one electric is held, one waits
// for another person.
func demoTests(ctx context.Context, d *workplace, tag registry.Tag, i int) error {
	m, err := d.Machine(ctx, tag)
	if err != nil || m.Stage != registry.Check {
		return err
	}
	if m.Drive == registry.Electric {
		form := electrical.SafetyForm{Class: "I", Visual: "pass", Earth: "0.08", CordLength: "1.8",
			CordArea: "0.75", Insulation: ">200", SwitchOn: true,
			Leakage: "0.1", Polarity: "pass", Plug: "G", Fuse: "3", Volts: "220-240", Hertz: "50",
			Watts: "85", Motor: "brush", Instrument: "MG-1"}
		if i == 18 {
			form.Insulation = "0.4"
		}
		m, _, err = d.Safety(ctx, "TV", tag, form)
		if err != nil || m.Stage != registry.Check {
			return err
		}
	}
	form := bench.TestForm{PassAll: true}
	switch i {
	case 7:
		form.Fail = map[string]string{"tension": "loops below on two layers"}
	case 21:
		form.Fail = map[string]string{"winder": "tyre slips"}
	}
	_, _, err = d.Test(ctx, "TV", tag, form)
	return err
}
