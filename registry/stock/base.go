package stock

import (
	"context"
	"slices"
	"strings"
	"time"

	"pitman/registry"
	"pitman/registry/fields"
	"pitman/registry/measure"
)

// Top says what can be done about the wooden top of a base. The opening and the hinge sockets are in it, not
// in the iron.
type Top string

const (
	TopFixed       Top = "fixed" // taken unless said
	TopReplaceable Top = "replaceable"
	TopMissing     Top = "missing"
)

var tops = []Top{TopFixed, TopReplaceable, TopMissing}

// Side is where a base's flywheel stands, and with it the head's handwheel, seen from the stool.
type Side string

const (
	SideRight Side = "right"
	SideLeft  Side = "left"
)

// Form says how a base stands in the store.
type Form string

var forms = []Form{"standing", "flat-packed"}

// Base is one cast-iron treadle base. Lengths of zero and empty words are not known.
type Base struct {
	registry.Row
	Tag       registry.Tag   `json:"tag" db:"tag"`
	Stage     registry.Stage `json:"stage" db:"stage"`
	Since     time.Time      `json:"stage_since" db:"stage_since"`
	HeldFrom  registry.Stage `json:"held_from,omitempty" db:"held_from"` // where it goes back to
	HeldWhy   string         `json:"held_why,omitempty" db:"held_why,personal"`
	Maker     string         `json:"maker" db:"maker"`
	Pattern   string         `json:"pattern" db:"pattern"` // what people call bases of its shape
	Condition string         `json:"condition" db:"condition,personal"`
	Form      Form           `json:"form" db:"form"`
	Place     string         `json:"place" db:"place"`
	Donor     string         `json:"donor" db:"donor,personal"`
	Note      string         `json:"note" db:"note,personal"`
	Weight    measure.Mass   `json:"weight_kg" db:"weight_g"`

	OpeningLength measure.Length `json:"opening_length_mm" db:"opening_length_um"`
	OpeningWidth  measure.Length `json:"opening_width_mm" db:"opening_width_um"`
	Pins          measure.Length `json:"pins_mm" db:"pins_um"` // between the centres of the hinge sockets
	// diameter of the belt groove in the flywheel
	Flywheel measure.Length `json:"flywheel_mm" db:"flywheel_um"`
	// from the flywheel's axis to the handwheel's, as measured with a head on it
	Centre measure.Length `json:"centre_mm" db:"centre_um"`
	// from the flywheel's axis up to the table top
	ShaftToTop measure.Length `json:"shaft_to_top_mm" db:"shaft_to_top_um"`
	// diameter of the belt that its groove takes
	Belt measure.Length `json:"belt_mm" db:"belt_um"`
	Side Side           `json:"side" db:"side"`
	Top  Top            `json:"top" db:"top"`

	// the parts present, by the names on the house's list
	Parts registry.List[string] `json:"parts" db:"parts,json"`

	ArrivedWith registry.Tag      `json:"arrived_with" db:"arrived_with"` // the head it came with
	LoggedAt    time.Time         `json:"logged_at" db:"logged_at"`
	LoggedBy    registry.Initials `json:"logged_by" db:"logged_by"`
	// the house that it was handed to, and is worked on in
	HandedTo string `json:"handed_to" db:"handed_to"`
	// what the list that it came in by calls it, and tells of where it stands
	ImportID string `json:"import_id,omitempty" db:"import_id"`
	MovedIn  string `json:"moved_in,omitempty" db:"moved_in"`
}

// Kind names the table.
func (*Base) Kind() string { return "base" }

// Subject is the base's own tag.
func (b *Base) Subject() string { return string(b.Tag) }

// Name is what people call it.
func (b *Base) Name() string {
	if name := strings.TrimSpace(b.Maker + " " + b.Pattern); name != "" {
		return name
	}
	return "treadle base"
}

// InStock says whether the base is in the house and promised to nobody.
func (b *Base) InStock() bool {
	return b.HandedTo == "" &&
		(b.Stage == registry.Logged || b.Stage == registry.Ready || b.Stage == registry.Held)
}

// BaseField is one thing that people type about a base.
type BaseField = fields.Of[Base]

// BaseFields lists what people type about a base.
var BaseFields = []BaseField{
	fields.LengthByWidth("opening", "length by width of the opening in the top, such as 374x181",
		func(b *Base) (*measure.Length, *measure.Length) { return &b.OpeningLength, &b.OpeningWidth }),
	fields.Length("pins", "hinge sockets, centre to centre",
		func(b *Base) *measure.Length { return &b.Pins }),
	fields.Length("flywheel", "diameter of the flywheel's belt groove, at its bottom",
		func(b *Base) *measure.Length { return &b.Flywheel }),
	fields.Length("centre", "flywheel's axis to handwheel's axis, measured with a head on it",
		func(b *Base) *measure.Length { return &b.Centre }),
	fields.Length("shaft-to-top", "flywheel's axis up to the table top",
		func(b *Base) *measure.Length { return &b.ShaftToTop }),
	fields.Length("belt", "diameter of the round belt that its groove takes",
		func(b *Base) *measure.Length { return &b.Belt }),
	fields.Open("side", "right|left", "where the flywheel stands, seen from the stool",
		[]Side{SideRight, SideLeft},
		func(b *Base) *Side { return &b.Side }),
	fields.Open("top", "fixed|replaceable|missing",
		"what can be done about the wooden top (fixed unless said)",
		tops, func(b *Base) *Top { return &b.Top }),
	{Name: "parts", Value: "LIST",
		Usage: "parts present, by the house's list of base parts with commas between them; all, or none",
		Many:  true,
		Set: func(b *Base, v []string) error {
			b.Parts = nil
			for _, s := range v {
				for part := range strings.SplitSeq(s, ",") {
					if part = strings.ToLower(strings.TrimSpace(part)); part != "" &&
						!slices.Contains(b.Parts, part) {
						b.Parts = append(b.Parts, part)
					}
				}
			}
			return nil
		},
		Get: func(b *Base) []string { return b.Parts }},
	fields.Weight("weight", "weight, in kilograms unless a unit is given",
		func(b *Base) *measure.Mass { return &b.Weight }),
	fields.Open("form", "standing|flat-packed", "how it is stored", forms,
		func(b *Base) *Form { return &b.Form }),
	fields.Text("maker", "M", "who cast it, as on the legs", registry.MaxName,
		func(b *Base) *string { return &b.Maker }),
	fields.Text("pattern", "NAME", "what bases of this shape are called here", registry.MaxName,
		func(b *Base) *string { return &b.Pattern }),
	fields.Lines("condition", "TEXT", "how it looks: complete, cracked leg, rusty", registry.MaxText,
		func(b *Base) *string { return &b.Condition }),
	fields.Text("place", "PLACE", "where it stands", registry.MaxName,
		func(b *Base) *string { return &b.Place }),
	fields.Text("donor", "WHO", "who gave it", registry.MaxText, func(b *Base) *string { return &b.Donor }),
	fields.Lines("note", "TEXT", "anything else", registry.MaxNote, func(b *Base) *string { return &b.Note }),
	{Name: "arrived-with", Value: "TAG", Usage: "the head it came with",
		Set: func(b *Base, v []string) (err error) {
			if b.ArrivedWith = ""; fields.Last(v) != "" {
				b.ArrivedWith, err = registry.ParseTag(fields.Last(v))
			}
			return err
		},
		Get: func(b *Base) []string { return []string{string(b.ArrivedWith)} }},
}

// BasePart is one row of base-parts.csv.
type BasePart struct {
	Part   string         `csv:"part" json:"part"`
	What   string         `csv:"what" json:"what"`
	Needed registry.YesNo `csv:"needed" json:"needed"` // no base is ready without it
}

func (p BasePart) Key() string { return strings.ToLower(p.Part) }

// Check says what is wrong with the row.
func (p BasePart) Check() error {
	if err := registry.CheckWord("part", p.Part); err != nil {
		return err
	}
	if p.What == "" {
		return registry.Errorf(registry.Invalid, "what is empty for part %q: type its name as people say it",
			p.Part)
	}
	return nil
}

// PartTop is the one part that a rule knows: a base with --top missing needs none to be ready, since a new
// one is cut for its head.
const PartTop = "top"

// lacks lists the parts without which this base cannot be ready.
func (b *Base) lacks(known []BasePart) []string {
	var missing []string
	for _, p := range known {
		if bool(p.Needed) && !slices.Contains(b.Parts, p.Part) &&
			!(p.Part == PartTop && b.Top == TopMissing) {
			missing = append(missing, p.Part)
		}
	}
	return missing
}

// BaseByTag reads one base.
func BaseByTag(r Reader, tag registry.Tag) (*Base, error) {
	var b Base
	err := r.Get(&b, Fields{"tag": tag})
	if registry.CodeOf(err) != registry.NotFound {
		return &b, err
	}
	var m Machine
	if r.Get(&m, Fields{"tag": tag}) == nil {
		return nil, registry.Errorf(registry.NotFound, "tag %s is a head, not a treadle base",
			tag).On("tag").Then(registry.Next(registry.DoShow, tag))
	}
	return nil, registry.Errorf(registry.NotFound,
		"tag %s is not in this house: find the base by its pattern or place",
		tag).On("tag").Then(registry.Next(registry.DoListBases, ""))
}

// Base reads one base.
func (w *Stock) Base(ctx context.Context, tag registry.Tag) (b *Base, err error) {
	err = w.Store.View(ctx, func(r Reader) error {
		b, err = BaseByTag(r, tag)
		return err
	})
	return b, err
}

// Bases lists the bases, oldest first, that keep lets through.
func (w *Stock) Bases(ctx context.Context, keep func(*Base) bool) ([]Base, error) {
	bases := []Base{}
	err := w.Store.View(ctx, func(r Reader) error {
		var b Base
		return r.Each(&b, func() error {
			if keep(&b) {
				kept := b
				kept.Parts = slices.Clone(b.Parts)
				bases = append(bases, kept)
			}
			return nil
		})
	})
	return bases, err
}

// OnBase runs one action on one base: read it, let the rule change it, save it.
func (w *Stock) OnBase(ctx context.Context, by registry.Initials, tag registry.Tag, verb, why string,
	rule func(Tx, *Base) error) (b *Base, err error) {
	err = w.Act(ctx, by, verb, why, func(tx Tx) error {
		if b, err = BaseByTag(tx, tag); err != nil {
			return err
		}
		if b.HandedTo != "" {
			return WorkedOnThere(tag, b.HandedTo)
		}
		stage, from := b.Stage, b.HeldFrom
		if err := rule(tx, b); err != nil {
			return w.ToldOf(tx, tag, verb, stage, err)
		}
		if promised(stage, from) && b.Stage == registry.Held && stage != registry.Held {
			if err := w.Freed(tx, tag, "held: "+b.HeldWhy); err != nil {
				return err
			}
			b.HeldFrom = registry.Ready
		}
		return tx.Put(b)
	})
	return b, err
}

// NoteBase keeps a remark in the base's history.
func (w *Stock) NoteBase(ctx context.Context, by registry.Initials, tag registry.Tag,
	note string) (*Base, error) {
	if registry.Blank(note) {
		return nil, registry.Errorf(registry.Invalid, "note is empty: type what is to be remembered")
	}
	return w.OnBase(ctx, by, tag, "base note", "", func(_ Tx, b *Base) (err error) {
		b.Note, err = registry.CleanText("note", note, registry.MaxNote)
		return err
	})
}
