package page

import (
	"fmt"
	"strings"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/examples"
	"pitman/registry/fields"
	"pitman/registry/packing"
	"pitman/registry/spares"
	"pitman/registry/stock"
	"pitman/registry/takings"
)

// why asks for a reason, with the house's list offered.
func (s *Server) why(way string) (field, error) {
	f := field{Name: "why", Label: "Why", Kind: "text",
		Hint: "Choose from the house's list, or type your own words."}
	list, err := s.Lists.Stock.Reasons()
	for _, r := range list {
		if r.Way == way {
			f.Offers = append(f.Offers, r.Why)
		}
	}
	return f, err
}

// secondLook asks who else looked at an old machine.
func secondLook() field {
	return field{Name: "heritage-seen-by", Label: "Second look by", Kind: "text",
		Hint: "Initials of that person, who is not you."}
}

func (s *Server) looksTwice(m *stock.Machine, to registry.Stage, f *form) {
	if s.SecondLook(m, to) {
		f.Notes = append(f.Notes, m.LooksTwice())
		f.Fields = append(f.Fields, secondLook())
	}
}

func triage(way string) func(*Server, *visit, *stock.Machine) (*form, error) {
	does := map[string]string{"refurbish": "refurbish it", "parts": "strip it for parts", "sale": "sell it",
		"scrap": "scrap it"}[way]
	return func(s *Server, v *visit, m *stock.Machine) (*form, error) {
		why, err := s.why(way)
		f := &form{Title: fmt.Sprintf("%s: %s", m.Tag, does), Button: strings.ToUpper(does[:1]) + does[1:],
			Fields: append([]field{why}, brought(way)...)}
		if way != "refurbish" {
			f.Cautions = []string{registry.CautionLifting.Text()}
		}
		s.looksTwice(m, stock.Outcome(way), f)
		f.do = func(v *visit, a answers) (done, error) {
			seen, err := a.initials("heritage-seen-by")
			if err != nil {
				return done{}, err
			}
			ctx, err := s.BringingTyped(v.ctx(), m.Tag, way, a.get("brought"))
			if err != nil {
				return done{}, err
			}
			return now(s.Triage(ctx, v.by, m.Tag, way, a.get("why"), seen))
		}
		if way == "sale" && err == nil {
			err = s.priceHints(v, m, f)
		}
		return f, err
	}
}

// brought asks what a sale or scrap brought.
func brought(way string) []field {
	if !takings.Brings(way) {
		return nil
	}
	return []field{{Name: "brought", Label: "What it brought", Kind: "text", Maybe: true,
		Hint: "An amount such as 45.00, in the house's currency unless you type another behind it."}}
}

// priceHints says above the questions what such machines brought before.
func (s *Server) priceHints(v *visit, m *stock.Machine, f *form) error {
	earlier, err := s.EarlierSales(v.ctx(), m)
	for _, e := range earlier {
		f.Notes = append(f.Notes, e.Said())
	}
	return err
}

func hold(s *Server, _ *visit, m *stock.Machine) (*form, error) {
	why, err := s.why("hold")
	return &form{Title: fmt.Sprintf("%s: hold it", m.Tag), Button: "Hold it", Fields: []field{why},
		do: func(v *visit, a answers) (done, error) {
			_, err := s.Hold(v.ctx(), v.by, m.Tag, a.get("why"))
			return done{said: fmt.Sprintf("%s is held, and goes back to %s.", m.Tag, m.Stage)}, err
		}}, err
}

func release(s *Server, _ *visit, m *stock.Machine) (*form, error) {
	return &form{Title: fmt.Sprintf("%s: let it go on", m.Tag), Button: "Let it go on, at: " +
		string(m.HeldFrom),
		do: func(v *visit, _ answers) (done, error) { return now(s.Release(v.ctx(), v.by, m.Tag, "")) }}, nil
}

func benchStart(s *Server, _ *visit, m *stock.Machine) (*form, error) {
	return &form{Title: fmt.Sprintf("%s: start work on it", m.Tag), Button: "It is on my bench now",
		Cautions: append(bench.CautionsFor(m, nil), registry.CautionNeedle.Text(),
			registry.CautionRags.Text()),
		do: func(v *visit, _ answers) (done, error) {
			return now(s.BenchStart(v.ctx(), v.by, m.Tag, bench.WorkNote{}))
		}}, nil
}

// work asks what was done, by the house's job list.
func (s *Server) work(m *stock.Machine, label string) ([]field, []string, error) {
	jobs, err := s.JobsFor(m)
	job := field{Name: "job", Label: label, Kind: "choose", Maybe: true,
		Hint: "What is not on the list goes below, in your own words."}
	for _, j := range jobs {
		job.Picks = append(job.Picks, pick{j.Job, j.Job + " · " + j.What})
		job.Examples = append(job.Examples, s.beside(examples.Job, j.Job)...)
	}
	return []field{job, {Name: "minutes", Label: "Minutes", Kind: "figure", Maybe: true},
		{Name: "note", Label: "In your words", Kind: "area", Maybe: true,
			Hint: "What the next person should know."}}, bench.CautionsFor(m, jobs), err
}

func noted(a answers) (bench.WorkNote, error) {
	minutes, err := a.minutes()
	note := bench.WorkNote{Minutes: minutes, Note: a.get("note")}
	if job := a.get("job"); job != "" {
		note.Jobs = []string{job}
	}
	return note, err
}

func benchNote(s *Server, _ *visit, m *stock.Machine) (*form, error) {
	fields, cautions, err := s.work(m, "Job")
	return &form{Title: fmt.Sprintf("%s: work done", m.Tag), Button: "Note it", Fields: fields,
		Cautions: cautions, do: func(v *visit, a answers) (done, error) {
			note, err := noted(a)
			if err != nil {
				return done{}, err
			}
			_, err = s.BenchNote(v.ctx(), v.by, m.Tag, note)
			return done{said: "Noted."}, err
		}}, err
}

func benchFinish(s *Server, _ *visit, m *stock.Machine) (*form, error) {
	fields, _, err := s.work(m, "Last job")
	return &form{Title: fmt.Sprintf("%s: done at the bench", m.Tag), Button: "Done: its tests come next",
		Fields:   fields,
		Cautions: []string{registry.CautionRags.Text()},
		do: func(v *visit, a answers) (done, error) {
			note, err := noted(a)
			if err != nil {
				return done{}, err
			}
			return now(s.BenchFinish(v.ctx(), v.by, m.Tag, note))
		}}, err
}

func partField(list []spares.PartKind) field {
	f := field{Name: "part", Label: "Part", Kind: "choose"}
	for _, p := range list {
		f.Picks = append(f.Picks, pick{p.Part, p.Part + " · " + p.What})
	}
	return f
}

func takePart(s *Server, v *visit, m *stock.Machine) (*form, error) {
	_, left, err := s.LeftOn(v.ctx(), m.Tag)
	return &form{Title: fmt.Sprintf("%s: take a part off it", m.Tag), Button: "It is off",
		Cautions: bench.CautionsFor(m, nil), Fields: []field{partField(left),
			{Name: "place", Label: "Put it where", Kind: "text", Maybe: true, Hint: "Shelf or box."}},
		do: func(v *visit, a answers) (done, error) {
			_, spare, err := s.TakeSpare(v.ctx(), v.by, m.Tag, a.get("part"), a.get("place"))
			if err != nil {
				return done{}, err
			}
			return done{said: fmt.Sprintf("%s is spare %s now: write %s on it.", spare.Part, spare.Code(),
				spare.Code())}, nil
		}}, err
}

func fitPart(s *Server, _ *visit, m *stock.Machine) (*form, error) {
	all, err := s.PartsFor(m)
	return &form{Title: fmt.Sprintf("%s: fit a part", m.Tag), Button: "It is fitted",
		Cautions: bench.CautionsFor(m, nil), Fields: []field{partField(all),
			{Name: "from", Label: "Where is it from?", Kind: "pick",
				Picks: []pick{{"shelf", "From the shelf: the one that lay there longest"},
					{"named", "From the shelf: the one with the number below"}, {"bought", "Bought new"}}},
			{Name: "code", Label: "Its number", Kind: "text", Maybe: true,
				Hint: "As on the part, such as S17."}},
		do: func(v *visit, a answers) (done, error) {
			use := spares.PartUse{Part: a.get("part"), Bought: a.get("from") == "bought"}
			if a.get("from") == "named" {
				if use.From = a.get("code"); use.From == "" {
					return done{},
						registry.Errorf(registry.Invalid,
							"code is missing: type the number on the part, such as S17")
				}
			}
			_, fitted, err := s.FitSpare(v.ctx(), v.by, m.Tag, use)
			return done{said: "Fitted: " + fitted + "."}, err
		}}, err
}

func needPart(s *Server, _ *visit, m *stock.Machine) (*form, error) {
	all, err := s.PartsFor(m)
	return &form{Title: fmt.Sprintf("%s: it needs a part", m.Tag), Button: "It waits for this",
		Fields: []field{partField(all)},
		do: func(v *visit, a answers) (done, error) {
			_, err := s.NeedSpare(v.ctx(), v.by, m.Tag, a.get("part"))
			return done{said: fmt.Sprintf("%s waits for: %s.", m.Tag, a.get("part"))}, err
		}}, err
}

func convert(s *Server, _ *visit, m *stock.Machine) (*form, error) {
	to := field{Name: "to", Label: "To which drive?", Kind: "pick"}
	for _, drive := range registry.Drives {
		if drive != m.Drive {
			to.Picks = append(to.Picks, pick{string(drive), string(drive)})
		}
	}
	return &form{Title: fmt.Sprintf("%s: convert it from %s", m.Tag, m.Drive), Button: "Convert it",
		Cautions: []string{registry.CautionMains.Text()},
		Notes: []string{"Tests of the old drive count no longer. Note fitted and removed parts at the " +
			"bench."},
		Fields: []field{to, {Name: "why", Label: "Why", Kind: "text", Maybe: true}},
		do: func(v *visit, a answers) (done, error) {
			return now(s.Convert(v.ctx(), v.by, m.Tag,
				spares.Conversion{To: registry.Drive(a.get("to")), Why: a.get("why")}))
		}}, nil
}

func reportBack(s *Server, _ *visit, m *stock.Machine) (*form, error) {
	return &form{Title: fmt.Sprintf("%s: what the training centre says", m.Tag), Button: "Write it down",
		Fields: []field{
			{Name: "damage", Label: "Travel damage", Kind: "text", Maybe: true,
				Hint: "What broke on the way."},
			{Name: "fault", Label: "Faults", Kind: "text", Maybe: true},
			{Name: "note", Label: "Anything else", Kind: "area", Maybe: true}},
		do: func(v *visit, a answers) (done, error) {
			said := packing.Arrival{Note: a.get("note")}
			if a.get("damage") != "" {
				said.Transit = registry.List[string]{a.get("damage")}
			}
			if a.get("fault") != "" {
				said.Faults = registry.List[string]{a.get("fault")}
			}
			_, err := s.ReportBack(v.ctx(), v.by, m.Tag, said)
			return done{said: "Written down."}, err
		}}, nil
}

func moveHead(s *Server, v *visit, m *stock.Machine) (*form, error) {
	return s.moveForm(v, m.Tag, m.Place, registry.CautionLifting.Text())
}

// moveForm puts a head or base in another place.
func (s *Server) moveForm(v *visit, tag registry.Tag, from, caution string) (*form, error) {
	places, err := s.Used(v.ctx(), stock.ColumnPlace, "")
	if from == "" {
		from = "nobody said where"
	}
	f := &form{Title: fmt.Sprintf("%s: move it", tag), Button: "It stands there now",
		Notes: []string{"It stands at: " + from}, Cautions: kept(caution),
		Fields: []field{{Name: "place", Label: "New place", Kind: "text", Offers: places}}}
	f.do = func(v *visit, a answers) (done, error) {
		if err := s.settleWords(v, f, a, nil); err != nil {
			return done{}, err
		}
		place, err := s.PlaceNamed(v.ctx(), a.get("place"))
		if err == nil {
			_, err = s.Move(v.ctx(), v.by, []registry.Tag{tag}, place)
		}
		return done{said: fmt.Sprintf("%s stands at %s.", tag, place)}, err
	}
	return f, err
}

func undoHead(s *Server, v *visit, m *stock.Machine) (*form, error) { return s.undoForm(v, m.Tag) }

// undoForm says what would be taken back.
func (s *Server) undoForm(v *visit, tag registry.Tag) (*form, error) {
	var last *registry.Action
	err := s.Store.View(v.ctx(), func(r stock.Reader) (err error) {
		last, err = r.LastAction("", string(tag))
		return err
	})
	if err != nil {
		return nil, err
	}
	f := &form{Title: fmt.Sprintf("%s: undo", tag), Button: "Take it back",
		Notes: []string{"The last thing that was done to it is taken back. The history keeps both."},
		do: func(v *visit, _ answers) (done, error) {
			undone, err := s.UndoOn(v.ctx(), v.by, tag)
			if err != nil {
				return done{}, err
			}
			to := "/m/" + string(tag)
			if err := s.Store.View(v.ctx(),
				func(r stock.Reader) error {
					_, _, err := stock.HeadOrBase(r, tag)
					return err
				}); err != nil {
				to = "/" // its making was undone
			}
			return done{said: fmt.Sprintf("Undone: %s by %s.", undone.Action, undone.By), to: to}, nil
		}}
	if last != nil {
		f.Notes = append(f.Notes,
			fmt.Sprintf("It is this: %s, by %s, %s.", last.Verb, last.By, s.localTime(last.At)))
	}
	return f, nil
}

// amendHead corrects any field of a machine.
func amendHead(s *Server, v *visit, m *stock.Machine) (*form, error) {
	fields, err := s.fieldsOf(v, m)
	if err != nil {
		return nil, err
	}
	for i := range fields {
		if fields[i].Name == "bed-pattern" {
			fields[i].Examples, err = s.bedsShown()
		}
	}
	f := &form{Title: fmt.Sprintf("%s: correct what is written", m.Tag), Button: "Keep it so",
		Fields: append(fields, whyCorrected())}
	f.do = func(v *visit, a answers) (done, error) {
		before := func(name string) string {
			field, _ := stock.FieldNamed(name)
			return strings.Join(field.Get(m), ", ")
		}
		if err := s.settleWords(v, f, a, before); err != nil {
			return done{}, err
		}
		_, err := s.Amend(v.ctx(), v.by, m.Tag, a.get("why"),
			func(m *stock.Machine) error { return setAll(stock.MachineFields, m, a) })
		return done{said: "Corrected. The history keeps what stood there before."}, err
	}
	return f, err
}

func whyCorrected() field {
	return field{Name: "why", Label: "Why it is corrected", Kind: "text", Maybe: true}
}

// fieldsOf asks for everything that people type about a machine.
func (s *Server) fieldsOf(v *visit, m *stock.Machine) ([]field, error) {
	fields := askAll(stock.MachineFields, m, "maker", "serial", "drive")
	for i := range fields {
		var err error
		switch f := &fields[i]; f.Name {
		case "maker":
			f.Offers, err = s.KnownMakers(v.ctx())
		case "model":
			f.Offers, err = s.KnownModels(v.ctx(), m)
		case "donor", "place", "condition":
			f.Offers, err = s.Used(v.ctx(), stock.Column(f.Name), "")
		}
		if err != nil {
			return nil, err
		}
	}
	return fields, nil
}

// askAll makes a question of each field of a record, with what stands in it; the named ones may not stay
// empty.
func askAll[T any](all []fields.Of[T], of *T, needed ...string) []field {
	var fields []field
	for _, f := range all {
		one := field{Name: f.Name,
			Label: strings.ReplaceAll(strings.ToUpper(f.Name[:1])+f.Name[1:], "-", " "), Hint: f.Usage,
			Kind: "text", Maybe: true,
			Value: strings.Join(f.Get(of), ", ")}
		for _, name := range needed {
			if name == f.Name {
				one.Maybe = false
			}
		}
		if words := strings.Split(f.Value, "|"); len(words) > 1 {
			one.Kind = "pick"
			for _, w := range words {
				one.Picks = append(one.Picks, pick{w, w})
			}
			if one.Maybe {
				one.Picks = append(one.Picks, pick{"", "not said"})
			}
		}
		fields = append(fields, one)
	}
	return fields
}

// setAll sets each field of a record that was asked; what was not sent stays as it is.
func setAll[T any](all []fields.Of[T], of *T, a answers) error {
	for _, f := range all {
		if _, sent := a[f.Name]; !sent {
			continue
		}
		typed := a.get(f.Name)
		if typed == strings.Join(f.Get(of), ", ") {
			continue
		}
		values := []string{typed}
		if f.Many {
			values = strings.FieldsFunc(typed, func(r rune) bool { return r == ',' || r == ';' })
		}
		if err := f.Set(of, values); err != nil {
			return err
		}
	}
	return nil
}
