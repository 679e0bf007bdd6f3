package partners

import (
	"strconv"
	"strings"

	"pitman/registry"
	"pitman/registry/electrical"
	"pitman/registry/fields"
	"pitman/registry/money"
)

// Battery is how a battery is built, which says how far it may be emptied.
type Battery string

// The kinds of battery that sites have.
const (
	LeadAcid Battery = "lead-acid"
	Lithium  Battery = "lithium"
)

var batteries = []Battery{LeadAcid, Lithium}

// Partner is whom orders are for. Of what is a pointer, nil is not known and nought is none.
type Partner struct {
	registry.Row
	ID       string `json:"partner" db:"ident"`
	Name     string `json:"name" db:"name"`
	NameKey  string `json:"-" db:"name_key"`
	Address  string `json:"address" db:"address,personal"` // lines
	Contact  string `json:"contact" db:"contact,personal"`
	Country  string `json:"country" db:"country"`
	Currency string `json:"currency" db:"currency"`
	Language string `json:"language" db:"language"` // of those who will sew there, as care.csv has it
	// what comes out of the wall there, from mains or inverter
	Supply    electrical.MainsSupply `json:"supply" db:"supply"`
	Hours     *float64               `json:"mains_hours_a_day" db:"hours"`
	Panel     *int                   `json:"panel_watts" db:"panel_watts"`
	Inverter  *int                   `json:"inverter_watts" db:"inverter_watts"`
	Battery   *int                   `json:"battery_watt_hours" db:"battery_wh"`
	BatteryIs Battery                `json:"battery_kind" db:"battery_kind"`
	// of full sun, in the worst month
	Sun  *float64 `json:"sun_hours_a_day" db:"sun_hours"`
	Note string   `json:"note" db:"note,personal"`
	// that it came in by the list of a workshop that ran before
	MovedIn string `json:"moved_in,omitempty" db:"moved_in"`
}

// Kind names the table.
func (*Partner) Kind() string { return "partner" }

// Subject is the partner's number.
func (p *Partner) Subject() string { return p.ID }

// Fields lists what people type about a partner.
var Fields = []fields.Of[Partner]{
	fields.Text("name", "NAME", "the partner's name", registry.MaxText,
		func(p *Partner) *string { return &p.Name }),
	fields.Lines("address", "TEXT", "where it is, as on a parcel; lines are parted by new lines",
		registry.MaxNote, func(p *Partner) *string { return &p.Address }),
	fields.Text("contact", "TEXT", "whom to ask there, and how", registry.MaxText,
		func(p *Partner) *string { return &p.Contact }),
	fields.Text("country", "NAME", "the country where it is", registry.MaxName,
		func(p *Partner) *string { return &p.Country }),
	fields.Text("language", "NAME", "language of those who will sew there, as lists/care.csv names it",
		registry.MaxName, func(p *Partner) *string { return &p.Language }),
	{Name: "currency", Value: "CODE", Usage: "its currency, such as EUR",
		Set: func(p *Partner, v []string) (err error) {
			if p.Currency = ""; !registry.Blank(fields.Last(v)) {
				p.Currency, err = money.ParseCurrency(fields.Last(v))
			}
			return err
		},
		Get: func(p *Partner) []string { return []string{p.Currency} }},
	{Name: "supply", Value: "V/HZ/PLUG", Usage: "what comes out of the wall there, such as 230V/50Hz/G",
		Set: func(p *Partner, v []string) (err error) {
			p.Supply, err = electrical.ParseMainsSupply(fields.Last(v))
			return err
		},
		Get: func(p *Partner) []string { return []string{string(p.Supply)} }},
	hours("mains-hours", "hours a day with mains there, 0 if none",
		func(p *Partner) **float64 { return &p.Hours }),
	whole("panel-watts", "WATTS", "rated watts of its solar panels, 0 if none", 1_000_000,
		func(p *Partner) **int { return &p.Panel }),
	whole("inverter-watts", "WATTS", "watts that its inverter gives for hours, 0 if none", 1_000_000,
		func(p *Partner) **int { return &p.Inverter }),
	whole("battery-wh", "WH", "watt-hours of its battery (volts × ampere-hours), 0 if none", 10_000_000,
		func(p *Partner) **int { return &p.Battery }),
	fields.Open("battery-kind", "KIND", "how the battery is built: lead-acid or lithium", batteries,
		func(p *Partner) *Battery { return &p.BatteryIs }),
	hours("sun-hours", "hours of full sun a day in its worst month",
		func(p *Partner) **float64 { return &p.Sun }),
	fields.Text("note", "TEXT", "anything else", registry.MaxNote,
		func(p *Partner) *string { return &p.Note }),
}

// hours is a part of a day; empty is not known.
func hours(name, usage string, at func(*Partner) **float64) fields.Of[Partner] {
	return fields.Of[Partner]{Name: name, Value: "HOURS", Usage: usage,
		Set: func(p *Partner, v []string) error {
			text := strings.Replace(strings.TrimSpace(fields.Last(v)), ",", ".", 1)
			if *at(p) = nil; text == "" {
				return nil
			}
			n, err := strconv.ParseFloat(text, 64)
			if err != nil || !(n >= 0 && n <= 24) {
				return registry.Errorf(registry.Invalid,
					"%s %q is no part of a day: type hours from 0 to 24, such as 4.5", name,
					fields.Last(v)).On(name)
			}
			*at(p) = &n
			return nil
		},
		Get: func(p *Partner) []string {
			if n := *at(p); n != nil {
				return []string{strconv.FormatFloat(*n, 'f', -1, 64)}
			}
			return []string{""}
		}}
}

// whole is a whole number of some unit; empty is not known.
func whole(name, value, usage string, most int, at func(*Partner) **int) fields.Of[Partner] {
	return fields.Of[Partner]{Name: name, Value: value, Usage: usage,
		Set: func(p *Partner, v []string) error {
			text := strings.TrimSpace(fields.Last(v))
			if *at(p) = nil; text == "" {
				return nil
			}
			n, err := strconv.Atoi(text)
			if err != nil || n < 0 || n > most {
				return registry.Errorf(registry.Invalid,
					"%s %q is none: type a whole number from 0 to %d", name, fields.Last(v), most).On(name)
			}
			*at(p) = &n
			return nil
		},
		Get: func(p *Partner) []string {
			if n := *at(p); n != nil {
				return []string{strconv.Itoa(*n)}
			}
			return []string{""}
		}}
}
