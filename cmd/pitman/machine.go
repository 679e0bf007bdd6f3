package main

import (
	"context"
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"pitman/registry"
	"pitman/registry/electrical"
	"pitman/registry/measure"
	"pitman/registry/orders"
	"pitman/registry/promise"
	"pitman/registry/stock"
	"pitman/serials/table"
	"pitman/serials/years"
)

func (a *app) showCommand() *cobra.Command {
	cmd := &cobra.Command{Use: "show TAG", Short: "Show one machine, or a treadle base"}
	return a.lookAtTag(cmd, func(d *workplace, tag registry.Tag) error {
		m, err := d.Machine(cmd.Context(), tag)
		if registry.CodeOf(err) == registry.NotFound {
			if b, notBase := d.Base(cmd.Context(), tag); notBase == nil {
				return a.printBase(d, b)
			}
			if blank, _ := d.IsBlank(cmd.Context(), tag); blank {
				return registry.Errorf(registry.NotFound, "tag %s was printed ahead, and nothing was logged with "+
					"it yet: what it hangs on is logged with pitman log --tag %s, or pitman base add --tag %s",
					tag, tag, tag).On("tag")
			}
		}
		if err != nil {
			return err
		}
		return a.printMachine(d, m)
	})
}

// machineView is a machine as it is printed: what stands on every screen of it comes with it.
type machineView struct {
	*stock.Machine
	Year     string   `json:"year"` // as it is said everywhere
	Warnings []string `json:"warnings"`
	// letters of the house where its safety pass was recorded, when that is another one
	SafetyHouse     string `json:"safety_house,omitempty"`
	SafetyWithdrawn string `json:"safety_withdrawn,omitempty"` // why, of a machine that left with it
	orders.Going
}

func (d *workplace) view(m *stock.Machine) machineView {
	return machineView{m, m.Year(), append([]string{}, d.Warnings(m)...), d.passHouse(m), d.passWithdrawn(m),
		d.going(m.Tag)}
}

// passHouse is the house of a pass that was recorded elsewhere. It stands beside what was asked for, as the
// order does.
func (d *workplace) passHouse(m *stock.Machine) string {
	letters, err := d.HouseOfPass(context.Background(), m)
	if err != nil {
		return ""
	}
	return letters
}

// passWithdrawn is why the pass of a machine that left was withdrawn since.
func (d *workplace) passWithdrawn(m *stock.Machine) string {
	why, err := d.WithdrawnPass(context.Background(), m)
	if err != nil {
		return ""
	}
	return why
}

// readAgainWords says who read its serial off the plate, too.
func (d *workplace) readAgainWords(m *stock.Machine) string {
	read, err := d.ReadAgain(context.Background(), m)
	if err != nil || read == nil {
		return ""
	}
	return fmt.Sprintf("off its plate, %s by %s", d.localDate(read.At), read.By)
}

// lookedAlone says when a look alone gave its standing pass back.
func (d *workplace) lookedAlone(m *stock.Machine) string {
	said, err := d.LookOf(context.Background(), m)
	if err != nil {
		return ""
	}
	return said
}

// suspect names the mains parts on a machine that came from one which failed.
func (d *workplace) suspect(tag registry.Tag) []string {
	said, err := d.Suspect(context.Background(), tag)
	if err != nil {
		return nil
	}
	return said
}

// going is the order that a unit is on. It stands beside what was asked for, so a look-up that fails leaves
// it out.
func (d *workplace) going(tag registry.Tag) orders.Going {
	g, err := d.GoingWith(context.Background(), tag)
	if err != nil {
		return orders.Going{}
	}
	return g
}

// goingWords names an order and its partner; nothing where there is none.
func goingWords(g orders.Going) string {
	if g.Order == "" {
		return ""
	}
	return g.Order + " for " + g.Partner
}

// printMachine prints all that is known of a machine.
func (a *app) printMachine(d *workplace, m *stock.Machine) error {
	return a.print(d.view(m), func(w io.Writer) {
		d.printHead(w, m, func(row func(name, value string)) {
			row("serial", m.Serial)
			row("read again", d.readAgainWords(m))
			row("year", m.Year()+yearBasis(m))
			if m.Basis != string(years.Told) {
				for _, source := range m.Sources() {
					row("source", source)
				}
			}
			if m.Known != nil {
				row("known", fmt.Sprintf("%d by %s, said %s", *m.Known, m.Because, m.KnownBy))
			}
			row("marks", strings.Join(m.Clues, ", "))
		}, func(row func(name, value string)) {
			row("stitch", string(m.Stitch))
			printMeasures(row, m)
			row("condition", m.Condition)
			row(placeName(m.Here()), m.Place)
			row("donor", m.Donor)
			row("patents", strings.Join(m.Patents, ", "))
			row("arrived with", string(m.ArrivedWith))
			row("handed to", m.HandedTo)
			row("note", m.Note)
			row("logged", fmt.Sprintf("%s by %s", d.localDate(m.LoggedAt), m.LoggedBy))
		})
		printCautions(w, measure.LiftCaution(m.Weight, false))
	})
}

// printActed prints where an action has brought a machine, and what more there is to say of the action. Its
// JSON is v, which holds all that `show` has.
func (a *app) printActed(d *workplace, m *stock.Machine, v any, more func(w io.Writer)) error {
	return a.print(v, func(w io.Writer) {
		nothing := func(func(name, value string)) {}
		d.printHead(w, m, nothing, nothing)
		if more != nil {
			more(w)
		}
	})
}

// printHead prints a machine's name, what to beware of and its stage, with what comes before and after the
// stage.
func (d *workplace) printHead(w io.Writer, m *stock.Machine, before,
	after func(row func(name, value string))) {
	fmt.Fprintf(w, "%s  %s\n", m.Tag, machineName(m))
	for _, warning := range d.Warnings(m) {
		fmt.Fprintf(w, "  %s\n", warning)
	}
	columns(w, func(w io.Writer) {
		row := func(name, value string) {
			if value != "" {
				fmt.Fprintf(w, "  %s\t%s\n", name, value)
			}
		}
		before(row)
		row("drive", string(m.Drive))
		row("stage", fmt.Sprintf("%s since %s", m.Stage, d.localDate(m.StageSince)))
		row("stage said", m.MovedIn)
		row("held", heldWhy(m))
		row("order", goingWords(d.going(m.Tag)))
		row("off order", d.lostWords(m.Tag, m.StageSince))
		if !m.TestedAt.IsZero() {
			row("tested", fmt.Sprintf("%s by %s", d.localDate(m.TestedAt), m.TestedBy))
		}
		if !m.SafetyAt.IsZero() {
			row("safety pass",
				fmt.Sprintf("recorded %s by %s, class %s", d.localDate(m.SafetyAt),
					m.SafetyBy.Of(d.passHouse(m)), m.Class))
			row("looked at", d.lookedAlone(m))
			row("pass withdrawn", d.passWithdrawn(m))
		}
		row("plate", plateWords(m.Plate))
		if on := m.MainsOn(); len(on) > 0 && (len(m.Mains) > 0 || m.Drive != registry.Electric) {
			row("mains parts", on.String())
		}
		for _, said := range d.suspect(m.Tag) {
			row("mind", said)
		}
		if as := soldAs(m); as != "" {
			row("sold as", as)
		}
		after(row)
	})
}

// printMeasures shows what is measured on a head, one line a subject; what nobody measured is left out.
func printMeasures(row func(name, value string), m *stock.Machine) {
	if m.BedLength.Known() || m.BedWidth.Known() || m.BedPattern != "" {
		bed := byWidth(m.BedLength, m.BedWidth)
		if m.BedPattern != "" {
			bed += ", " + m.BedPattern
		}
		row("bed", bed)
	}
	row("hinge pins", ifKnown(m.Pins))
	var wheel []string
	say := func(answer stock.Answer, yes, no string) {
		switch answer {
		case stock.Yes:
			wheel = append(wheel, yes)
		case stock.No:
			wheel = append(wheel, no)
		}
	}
	if m.Wheel.Known() {
		wheel = append(wheel, m.Wheel.String())
	}
	say(m.Groove, "belt groove", "no belt groove")
	if m.WheelKind != "" {
		wheel = append(wheel, string(m.WheelKind))
	}
	row("handwheel", strings.Join(wheel, ", "))
	wheel = nil
	say(m.CrankBoss, "for a hand crank", "none for a hand crank")
	say(m.MotorBoss, "for a motor", "none for a motor")
	row("bosses", strings.Join(wheel, ", "))
	row("axis height", ifKnown(m.AxisHeight))
	row("belt offset", ifKnown(m.BeltOffset))
	if m.EitherWay == stock.Yes {
		row("leaves as", "hand machine or in a treadle set")
	}
	row("needle", m.Needle)
	row("bobbin", m.Bobbin)
	if m.Weight != 0 {
		row("weight", m.Weight.String())
	}
}

// heldWhy says what holds a machine and where it goes back to.
func heldWhy(m *stock.Machine) string {
	if m.HeldFrom == "" {
		return ""
	}
	return fmt.Sprintf("%s (was %s)", m.Held(), m.HeldFrom)
}

// plateWords writes a nameplate as plates do.
func plateWords(p electrical.Nameplate) string {
	var words []string
	add := func(value, unit string) {
		if value != "" {
			words = append(words, value+unit)
		}
	}
	add(p.Volts.String(), " V")
	add(p.Hertz.String(), " Hz")
	if p.Watts > 0 {
		add(strconv.Itoa(p.Watts), " W")
	}
	if p.Motor != "" {
		add(p.Motor, " motor")
	}
	add(p.PlugSaid(), "")
	if p.Cord.Known() {
		add("cord "+electrical.Metres(p.Cord), "")
	}
	return strings.Join(words, ", ")
}

func machineName(m *stock.Machine) string {
	return strings.TrimSpace(m.Maker + " " + m.Model)
}

// yearBasis adds the best single year, where it says more, and the table rows it comes from; beside a year
// that a person told, what the rows say.
func yearBasis(m *stock.Machine) string {
	var s string
	if m.Best != nil && m.From != nil && m.To != nil && *m.From != *m.To && !m.About {
		s = fmt.Sprintf(", about %d", *m.Best)
	}
	if m.Basis == string(years.Told) { // what the tables say stands beside it, and did not give it
		var say []string
		for i, line := range m.DatedRows {
			if r, ok := table.ReadRow(line); ok && i < len(m.DatedBy) {
				say = append(say, m.DatedBy[i]+" says "+r.Years())
			}
		}
		if len(say) > 0 {
			s = "  (" + strings.Join(say, ", ") + ")"
		}
		return s
	}
	if len(m.DatedBy) > 0 {
		s += "  (" + strings.Join(m.DatedBy, ", ") + ")"
	}
	return s
}

// lostWords says which order a unit left with the stage that it has now, and how its place is filled again.
func (d *workplace) lostWords(tag registry.Tag, since time.Time) string {
	lost, err := promise.LostFrom(context.Background(), d.Stock, tag, since)
	if err != nil || lost == nil {
		return ""
	}
	said := lost.Order + ", a place of it is free"
	if crate := lost.CrateToOpen(); crate != "" {
		said += "; " + crate
	}
	return withCommands(said,
		[]registry.NextStep{registry.Next(registry.DoPropose, "")})
}
