package electrical

import (
	"fmt"
	"slices"
	"strconv"

	"pitman/registry/measure"
)

// Asked is what an order wants of a machine that takes the mains.
type Asked struct {
	Supply     MainsSupply
	Tolerance  float64        // in percent of the supply's volts
	OtherVolts bool           // a machine of other volts may go, once it is made to suit
	Cord       measure.Length // at least so long; 0 = any
}

// Change is one thing to be done to a machine before it suits. By its part it is known again, whatever the
// machine has meanwhile.
type Change struct {
	Job, Part string
	Moves     string // the mains part that is another afterwards
	done      func(*Nameplate)
}

// Refuses says why a machine of this nameplate cannot go, even with work; or nothing.
func (a Asked) Refuses(plate Nameplate) string {
	if a.OtherVolts && len(plate.Volts) > 0 {
		return "" // what its plate reads is known, so that somebody can say what is to be done
	}
	return a.Supply.Refuses(plate, a.Tolerance)
}

// Work lists what is to be done before a machine of this nameplate suits. It is a competent person's, and the
// machine is tested again afterwards.
func (a Asked) Work(plate Nameplate) (work []Change) {
	if a.Refuses(plate) == "" && a.Supply.Refuses(plate, a.Tolerance) != "" {
		work = append(work, a.voltsWork(plate))
	}
	if job := a.cordWork(plate); job != "" {
		work = append(work, Change{job, "cord of " + Metres(a.Cord), "cord",
			func(p *Nameplate) { p.Cord = a.Cord }})
	}
	if job := a.plugWork(plate); job != "" {
		work = append(work, Change{job, "plug type " + a.Supply.Plug(), "plug",
			func(p *Nameplate) { p.Plug, p.Earthed = a.Supply.Plug(), false }})
	}
	return work
}

// voltsWork is what makes a machine of other volts or hertz one for the supply. Of a motor that was changed
// nobody knows more than what it was changed for, until its plate is read.
func (a Asked) voltsWork(plate Nameplate) Change {
	volts, hertz := a.Supply.Figures()
	supply := fmt.Sprintf("%d V", volts)
	reads := plate.Volts.String() + " V"
	if hertz > 0 {
		supply += fmt.Sprintf(" %d Hz", hertz)
		if len(plate.Hertz) > 0 {
			reads += " " + plate.Hertz.String() + " Hz"
		}
	}
	return Change{fmt.Sprintf("change what its plate gives as %s for %s: motor, lamp and whatever else takes "+
		"the mains", reads, supply), "motor for " + supply, "motor", func(p *Nameplate) {
		*p = Nameplate{Volts: measure.Rating{{Low: volts, High: volts}}, Motor: "unknown", Plug: p.Plug,
			Earthed: p.Earthed, Cord: p.Cord}
		if hertz > 0 {
			p.Hertz = measure.Rating{{Low: hertz, High: hertz}}
		}
	}}
}

func (a Asked) cordWork(plate Nameplate) string {
	switch {
	case a.Cord == 0 || plate.Cord >= a.Cord:
		return ""
	case plate.Cord == 0:
		return "measure its cord, and fit one of " + Metres(a.Cord) + " if it is shorter"
	}
	return fmt.Sprintf("change the cord of %s for one of %s", Metres(plate.Cord), Metres(a.Cord))
}

func (a Asked) plugWork(plate Nameplate) string {
	plug := a.Supply.Plug()
	switch {
	case plug == "" || plate.Plug == plug:
		return ""
	case plate.Earthed:
		return "look which type its plug is, and fit one of type " + plug + " if it is another"
	case plate.Plug == "":
		return "fit a plug of type " + plug
	}
	return fmt.Sprintf("change the plug of type %s for one of type %s", plate.Plug, plug)
}

// Find is the work with this part; ok is false where nothing of it is left to do.
func Find(work []Change, part string) (c Change, ok bool) {
	i := slices.IndexFunc(work, func(c Change) bool { return c.Part == part })
	if i < 0 {
		return c, false
	}
	return work[i], true
}

// Done says what the nameplate is after the work.
func (c Change) Done(plate Nameplate) Nameplate {
	c.done(&plate)
	return plate
}

// Metres writes the length of a cord.
func Metres(l measure.Length) string {
	return strconv.FormatFloat(l.MM()/1000, 'f', -1, 64) + " m"
}

// ParseCord reads the length of a cord, in metres unless a unit is typed; empty is any.
func ParseCord(field, text string) (measure.Length, error) {
	if text == "" {
		return 0, nil
	}
	v, err := cordLengths.Parse(field, text, "m")
	if err == nil {
		err = checkCord(field, text, measure.Length(v))
	}
	return measure.Length(v), err
}
