package desk

import (
	"fmt"
	"slices"
	"strings"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/spares"
	"pitman/registry/stock"
)

func benchStart(d *Desk, m *stock.Machine) {
	notes := append(bench.CautionsFor(m, nil), registry.CautionNeedle.Text(), registry.CautionRags.Text())
	d.begin(&form{m: m, title: fmt.Sprintf("%s: start work on it", m.Tag), notes: notes,
		final: "starts: it is on your bench now",
		do: func(d *Desk, _ answers) (string, error) {
			done, err := d.BenchStart(d.ctx, d.by, m.Tag, bench.WorkNote{})
			if err != nil {
				return "", err
			}
			return done.WhereNow(), nil
		}})
}

// work asks what was done, by the house's job list.
func work(d *Desk, m *stock.Machine, maybe bool) []question {
	jobs, err := d.JobsFor(m)
	d.refuse(err)
	var offered []string
	for _, j := range jobs {
		offered = append(offered, j.Job+" · "+j.What)
	}
	return []question{
		{name: "job", label: "Job", offerKeys: offered, eager: true, maybe: maybe,
			hint: "First letters, or Up and Down. Enter alone if it is not on the list.",
			check: func(_ answers, typed string) error {
				if !slices.ContainsFunc(jobs, func(j bench.BenchJob) bool { return j.Job == typed }) {
					return registry.Errorf(registry.Invalid,
						"%q is not on the job list: choose one with Up and Down, or press Enter on an "+
							"empty line and say it in your own words", typed)
				}
				return nil
			}},
		{name: "minutes", label: "Minutes", maybe: true,
			hint:  "How long it took. Enter alone if nobody counted.",
			check: func(_ answers, typed string) error { _, err := minutes(typed); return err }},
		{name: "note", label: "In your words", maybe: true, hint: "What the next person should know."},
	}
}

func noted(a answers) (bench.WorkNote, error) {
	spent, err := minutes(a["minutes"])
	note := bench.WorkNote{Minutes: spent, Note: a["note"]}
	if a["job"] != "" {
		note.Jobs = []string{a["job"]}
	}
	return note, err
}

func benchNote(d *Desk, m *stock.Machine) {
	jobs, err := d.JobsFor(m)
	d.refuse(err)
	asked := work(d, m, true)
	// The caution of the job stands where the next line is answered.
	asked[1].caution = func(a answers) string {
		i := slices.IndexFunc(jobs, func(j bench.BenchJob) bool { return j.Job == a["job"] })
		if i < 0 {
			return ""
		}
		return strings.Join(bench.CautionsFor(m, jobs[i:i+1]), " ")
	}
	d.begin(&form{m: m, title: fmt.Sprintf("%s: work done", m.Tag), asked: asked,
		do: func(d *Desk, a answers) (string, error) {
			note, err := noted(a)
			if err != nil {
				return "", err
			}
			_, err = d.BenchNote(d.ctx, d.by, m.Tag, note)
			return "Noted.", err
		}})
}

func benchFinish(d *Desk, m *stock.Machine) {
	asked := work(d, m, true)
	asked[0].label, asked[0].hint = "Last job", "Enter alone if all is noted already."
	d.begin(&form{m: m, title: fmt.Sprintf("%s: done at the bench", m.Tag),
		notes: []string{registry.CautionRags.Text()}, asked: asked,
		do: func(d *Desk, a answers) (string, error) {
			note, err := noted(a)
			if err != nil {
				return "", err
			}
			done, err := d.BenchFinish(d.ctx, d.by, m.Tag, note)
			if err != nil {
				return "", err
			}
			return done.WhereNow(), nil
		}})
}

// part asks for one of the house's parts.
func part(list []spares.PartKind) question {
	q := question{name: "part", label: "Part", eager: true, hint: "First letters, or Up and Down."}
	for _, p := range list {
		q.offerKeys = append(q.offerKeys, p.Part+" · "+p.What)
	}
	return q
}

func takePart(d *Desk, m *stock.Machine) {
	_, left, err := d.LeftOn(d.ctx, m.Tag)
	d.refuse(err)
	d.begin(&form{m: m, title: fmt.Sprintf("%s: take a part off it", m.Tag), notes: bench.CautionsFor(m, nil),
		asked: []question{part(left),
			{name: "place", label: "Put it where", maybe: true,
				hint: "Shelf or box. Enter alone if it stays open."}},
		do: func(d *Desk, a answers) (string, error) {
			_, s, err := d.TakeSpare(d.ctx, d.by, m.Tag, a["part"], a["place"])
			if err != nil {
				return "", err
			}
			return fmt.Sprintf("%s is spare %s now: write %s on it.", s.Part, s.Code(), s.Code()), nil
		}})
}

func fitPart(d *Desk, m *stock.Machine) {
	all, err := d.PartsFor(m)
	d.refuse(err)
	d.begin(&form{m: m, title: fmt.Sprintf("%s: fit a part", m.Tag), notes: bench.CautionsFor(m, nil),
		asked: []question{part(all),
			{name: "from", label: "Where is it from?",
				picks: []pick{{'s', "shelf", "from the shelf: the one that lay there longest"},
					{'n', "named", "from the shelf: one with a number on it"},
					{'b', "bought", "bought new"}}},
			{name: "code", label: "Its number", hint: "As on the part, such as S17.",
				skip: func(a answers) bool { return a["from"] != "named" }}},
		do: func(d *Desk, a answers) (string, error) {
			_, fitted, err := d.FitSpare(d.ctx, d.by, m.Tag,
				spares.PartUse{Part: a["part"], From: a["code"], Bought: a["from"] == "bought"})
			return "Fitted: " + fitted + ".", err
		}})
}

func needPart(d *Desk, m *stock.Machine) {
	all, err := d.PartsFor(m)
	d.refuse(err)
	d.begin(&form{m: m, title: fmt.Sprintf("%s: it needs a part", m.Tag), asked: []question{part(all)},
		do: func(d *Desk, a answers) (string, error) {
			_, err := d.NeedSpare(d.ctx, d.by, m.Tag, a["part"])
			return fmt.Sprintf("%s waits for: %s.", m.Tag, a["part"]), err
		}})
}
