package main

import (
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"pitman/labels"
	"pitman/labels/wall"
	"pitman/registry"
	"pitman/registry/shipments"
)

// floorWriter says how a floor plan is written into a file, by its name; nil where none is asked for.
func floorWriter(file string) (func(a *app, d *workplace, v *shipments.View) error, error) {
	ending := strings.ToLower(filepath.Ext(file))
	switch {
	case file == "":
		return nil, nil
	case ending != ".svg" && ending != ".pdf":
		return nil, registry.Errorf(registry.Invalid,
			"out %q ends in no picture that is drawn here: type a name that ends in .svg or .pdf",
			file).On("out")
	}
	return func(a *app, d *workplace, v *shipments.View) error {
		plan := floorPlan(d, v)
		drawing, err := plan.Draw()
		if err != nil {
			return registry.Errorf(registry.Invalid, "the plan of %s: %v", v.ID, err)
		}
		err = replaceFile(file, 0o644, func(w io.Writer) error {
			if ending == ".svg" {
				return drawing.WriteSVG(w)
			}
			return labels.WritePDF(w, plan.Title, a.now(), drawing)
		})
		if err == nil {
			fmt.Fprintf(a.err, "wrote %s\n", file)
		}
		return err
	}, nil
}

func floorPlan(d *workplace, v *shipments.View) wall.Floor {
	p := v.Plan
	day := "no day is set"
	switch {
	case v.State != shipments.Open:
		day = "left on " + d.localDate(v.LeftAt)
	case v.Day != "":
		day = "leaves on " + v.Day
	}
	f := wall.Floor{Title: fmt.Sprintf("%s: floor of the %s container", v.ID, p.Container),
		Lines: []string{fmt.Sprintf("%s; %s; as of %s.", d.Config.House.Name, day,
			d.Now().In(d.Location()).Format("2006-01-02")),
			fmt.Sprintf("Inside at least %d × %d × %d mm (ISO 668); about %d kg of load, the plate on the "+
				"door "+
				"decides.", p.Length, p.Width, p.Height, p.Payload)},
		Length: float64(p.Length), Width: float64(p.Width)}
	for i := range p.Pallets {
		one := &p.Pallets[i]
		if one.Spot == nil {
			continue
		}
		kg := "not weighed"
		if one.Weight != nil {
			kg = fmt.Sprintf("%.0f kg", one.Weight.KG())
		}
		f.Stands = append(f.Stands, wall.Stand{X: float64(one.Spot.X), Y: float64(one.Spot.Y),
			Length: float64(one.Spot.Length), Width: float64(one.Spot.Width),
			Lines: []string{fmt.Sprint(one.Number), one.Order, kg,
				fmt.Sprintf("%.2f m high", float64(one.Height)/1000)}})
	}
	weight := fmt.Sprintf("%s: %s", weightShare(p), p.Gross)
	f.Full = []wall.Share{{Name: "floor", Of: p.Floor, Says: fmt.Sprintf("%.0f %%: %s, and room for %d more",
		100*p.Floor, plural(p.Placed, "pallet"), p.Room)},
		{Name: "weight", Of: p.Weight, Says: weight}}
	for _, l := range v.Loads {
		f.Notes = append(f.Notes,
			fmt.Sprintf("%s for %s: %s", l.Order, l.Partner, plural(l.Pallets, "pallet")))
	}
	for _, order := range p.Unknown {
		f.Notes = append(f.Notes, "! no size is known for the crates of "+order)
	}
	for _, trouble := range p.Troubles() {
		f.Notes = append(f.Notes, "! "+trouble)
	}
	return f
}
