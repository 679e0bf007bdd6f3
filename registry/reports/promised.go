package reports

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"pitman/registry"
	"pitman/registry/orders"
	"pitman/registry/packing"
	"pitman/registry/planning"
	"pitman/registry/promise"
	"pitman/registry/spares"
	"pitman/registry/stock"
)

// start is the last day on which so much promised work can begin for an order that is due on a day.
func (w *Reports) start(due string, minutes int) string {
	day, err := time.Parse(time.DateOnly, due)
	if err != nil {
		return ""
	}
	days := w.Config.PackDays + (minutes+w.Config.DayMinutes-1)/w.Config.DayMinutes
	return day.AddDate(0, 0, -days).Format(time.DateOnly)
}

// promised gathers what is to be done for open orders: places to fill, promised work, sets to try, kits,
// crates, and orders that may leave. It also returns, for each reserved unit, a task that only says for which
// order and day it is.
func (w *Reports) promised(r stock.Reader, out *planning.Outlook) ([]Task, map[registry.Tag]Task, error) {
	open, err := orders.All(r, orders.OrderOpen)
	if err != nil {
		return nil, nil, err
	}
	var tasks []Task
	units := map[registry.Tag]Task{}
	slices.SortStableFunc(open, func(a, b orders.Order) int { return cmp.Compare(a.Due, b.Due) })
	measured := map[registry.Tag]bool{} // what may serve several orders is measured once, for the first
	for i := range open {
		list, err := w.orderTasks(r, &open[i], out.Of(open[i].Number), units)
		if err != nil {
			return nil, nil, err
		}
		for _, t := range list {
			if t.rank == rankMeasure && measured[t.Tag] {
				continue
			}
			measured[t.Tag] = measured[t.Tag] || t.rank == rankMeasure
			tasks = append(tasks, t)
		}
	}
	tasks = append(tasks, w.kitsToFind(out)...)
	asked, err := w.reportsDue(r)
	if err != nil {
		return nil, nil, err
	}
	leaving, err := w.leaving(r)
	return append(append(tasks, leaving...), asked...), units, err
}

// orderTasks is what one order waits for.
func (w *Reports) orderTasks(r stock.Reader, o *orders.Order, plan *planning.OrderPlan,
	units map[registry.Tag]Task) (tasks []Task, err error) {
	sets, err := promise.OrderSets(r, o.Number)
	if err != nil {
		return nil, err
	}
	promised := len(sets)
	sets = slices.DeleteFunc(sets, func(s promise.OrderSet) bool { return !s.ShippedAt.IsZero() })
	minutes := 0
	for i := range sets {
		open, _, err := w.Orders.SetWork(r, &sets[i])
		if err != nil {
			return nil, err
		}
		for _, k := range open {
			minutes += k.Minutes
		}
	}
	all := Task{Order: o.Number, Due: o.Due, Start: w.start(o.Due, minutes), priority: o.Priority,
		wanted: true}
	packable, waits := []registry.Tag{}, false
	for i := range sets {
		for _, tag := range sets[i].Tags() {
			units[tag] = all
		}
		list, free, err := w.setTasks(r, o, &sets[i], all)
		if err != nil {
			return nil, err
		}
		waits = waits || len(list) > 0
		tasks = append(tasks, list...)
		packable = append(packable, free...)
	}
	if len(packable) > 0 {
		t := all
		t.For, t.Skill, t.rank, t.Do = "bench", SkillPack, rankPack, "pack"
		t.Why = fmt.Sprintf("%s for %s: %s", o.Number, o.Partner, registry.FirstOf(6, packable))
		t.Next = registry.Next(registry.DoPack, "").Of(o.Number)
		tasks = append(tasks, t)
	}
	t := all
	t.For, t.Skill, t.rank = "coordinator", SkillCoordinate, rankOrder
	alone := slices.ContainsFunc(sets, func(s promise.OrderSet) bool { return s.Shipment == "" })
	if alone && !waits && len(packable) == 0 { // what goes with a shipment has its line there
		t.Do, t.Next = "send what is packed", registry.Next(registry.DoShip, "").Of(o.Number)
	}
	proposed, short := 0, 0
	if plan != nil {
		proposed, short = plan.Left()
	}
	why := []string{fmt.Sprintf("%s for %s %s", o.Number, o.Partner, w.dueWords(o.Due))}
	if proposed > 0 {
		t.Do, t.Next = "fill from stock", registry.Next(registry.DoPropose, "").Of(o.Number)
		why = append(why, registry.Counted(proposed, "place")+" can be filled now")
	}
	if short > 0 {
		t.Next = registry.Next(registry.DoPropose, "").Of(o.Number)
		if t.Do = cmp.Or(t.Do, "find what it lacks"); t.Do == "send what is packed" {
			t.Do, t.Next = "send a part, or find the rest",
				registry.Next(registry.DoShowOrder, "").Of(o.Number)
		}
		why = append(why, fmt.Sprintf("nothing in stock for %d of its places", short))
	}
	if lost, err := promise.LostSets(r, o.Number); err != nil {
		return nil, err
	} else if short+proposed > 0 && len(lost) > 0 {
		why = append(why, "it lost "+lost[len(lost)-1].OutWhy)
	}
	if t.Do == "" && len(sets) == 0 && short == 0 && promised > 0 {
		t.Do, t.Next = "close it", registry.Next(registry.DoShip, "").Of(o.Number)
		why = append(why, "all that it asks for has left")
	} else if t.Do == "" && len(sets) == 0 && short == 0 {
		t.Do, t.Next = "say what it asks for", registry.Next(registry.DoOrderLine, "").Of(o.Number)
	}
	if t.Do == "" && o.Due < w.today() {
		t.Do, t.Next = "see to it", registry.Next(registry.DoShowOrder, "").Of(o.Number)
		why = append(why, "what it waits for follows")
	}
	if t.Do != "" {
		t.Why, t.Days = strings.Join(why, "; "), w.daysSince(o.OpenedAt)
		tasks = append(tasks, t)
	}
	return append(tasks, w.toMeasure(all, plan)...), nil
}

// dueWords says how far a due day is.
func (w *Reports) dueWords(due string) string {
	day, err := time.Parse(time.DateOnly, due)
	today, _ := time.Parse(time.DateOnly, w.today())
	const secondsOfDay = 24 * 60 * 60 // a time.Duration would end after 292 years
	switch days := (day.Unix() - today.Unix()) / secondsOfDay; {
	case err != nil:
		return "is due on no known day"
	case days < 0:
		return "is overdue by " + registry.Counted(int(-days), "day")
	case days == 0:
		return "is due today"
	default:
		return "is due on " + due
	}
}

// setTasks is what one filled place waits for, and which of its pieces nothing keeps from the crate.
func (w *Reports) setTasks(r stock.Reader, o *orders.Order, s *promise.OrderSet, all Task) (tasks []Task,
	packable []registry.Tag, err error) {
	open, untried, err := w.Orders.SetWork(r, s)
	if err != nil {
		return nil, nil, err
	}
	blocked := untried
	for _, k := range open {
		blocked = blocked || k.Minutes > 0 || k.Skill == registry.SkillElectrical
		t := all
		t.For, t.Skill, t.rank, t.Do, t.Tag, t.Minutes = "bench", k.Skill, rankPromised, k.Job, k.Head,
			k.Minutes
		t.Why, t.Days = "promised for "+o.Number, w.daysSince(k.PromisedAt)
		if k.Base != "" {
			t.Why = fmt.Sprintf("on %s, %s", k.Base, t.Why)
		}
		if k.Minutes > 0 {
			t.Why += fmt.Sprintf(", %d min", k.Minutes)
		}
		if t.Next = registry.Next(registry.DoWorkDone, "").With("id",
			k.ID); k.Skill == registry.SkillElectrical {
			t.For = "tester"
			t.Why += "; for a competent person"
		}
		tasks = append(tasks, t)
	}
	m, err := stock.MachineByTag(r, s.Head)
	if err != nil {
		return nil, nil, err
	}
	if untried && len(open) == 0 && m.Stage == registry.Reserved {
		t := all
		t.For, t.Skill, t.rank, t.Do, t.Tag = "tester", SkillTest, rankTest, "function test", s.Head
		t.Why = fmt.Sprintf("%s, for %s, before it is packed", s.TriedOn(), o.Number)
		t.Next, t.Days = registry.Next(registry.DoTestResult, s.Head), w.daysSince(s.At)
		tasks = append(tasks, t)
	}
	if m.Stage == registry.Reserved && w.Spares.Lists.Kits != nil {
		lacks, err := w.kitTask(r, o, s, m, all)
		if err != nil {
			return nil, nil, err
		}
		blocked = blocked || len(lacks) > 0
		tasks = append(tasks, lacks...)
	}
	if blocked || w.LacksSafetyPass(m) { // its line is that of the machine
		return tasks, nil, nil
	}
	missing, err := promise.Unpacked(r, []promise.OrderSet{*s})
	for _, u := range missing {
		packable = append(packable, u.Tag)
	}
	return tasks, packable, err
}

// kitTask is what is still to be put with a machine.
func (w *Reports) kitTask(r stock.Reader, o *orders.Order, s *promise.OrderSet, m *stock.Machine,
	all Task) ([]Task, error) {
	l, err := orders.LineOf(r, o.Number, s.Line)
	if err != nil {
		return nil, err
	}
	lacks, err := w.Spares.KitLacks(r, m, spares.Leaving{As: l.Wanted.Drive(), Plug: o.Supply.Plug()})
	if err != nil || len(lacks) == 0 {
		return nil, err
	}
	t := all
	t.For, t.Skill, t.rank, t.Do, t.Tag = "bench", SkillPack, rankPack, "put its kit with it", m.Tag
	why := make([]string, len(lacks))
	for i, lack := range lacks {
		why[i] = lack.Why
	}
	t.Why, t.Days = fmt.Sprintf("%s, for %s", strings.Join(why, ", "), o.Number), w.daysSince(s.At)
	t.Next = registry.Next(registry.DoPutKit, m.Tag).With("as", string(l.Wanted.Drive()))
	return []Task{t}, nil
}

// toMeasure is the measuring that would help an order: of the proposal's near misses, those that nothing
// known stands against.
func (w *Reports) toMeasure(all Task, plan *planning.OrderPlan) (tasks []Task) {
	if plan == nil {
		return nil
	}
	for _, miss := range plan.Unmeasured() {
		t := all
		t.For, t.Skill, t.rank, t.Do, t.Tag = "bench", registry.SkillBench, rankMeasure, "measure", miss.Tag
		t.Why = fmt.Sprintf("it may fill a place of %s, %s", all.Order, miss.Why)
		t.Next, t.Days = registry.Next(registry.DoAmend, miss.Tag), w.daysSince(miss.Since)
		tasks = append(tasks, t)
	}
	return tasks
}

// kitsToFind is what the kits of all machines that go or may go lack, and stock cannot give.
func (w *Reports) kitsToFind(out *planning.Outlook) (tasks []Task) {
	for _, k := range out.Kits {
		tasks = append(tasks, Task{For: "coordinator", Skill: SkillCoordinate, rank: rankFind,
			Do: fmt.Sprintf("find %d × %s", k.Short, k.Part), Due: k.Due, Start: w.start(k.Due, 0), wanted: true,
			Why:  fmt.Sprintf("the kits of orders want %d, and %d in stock", k.Want, k.Stock),
			Next: registry.Next(registry.DoCountStock, "").With("part", k.Part)})
	}
	return tasks
}

// bases is the bases that are not complete yet: first where an order has no base for its heads.
func (w *Reports) bases(r stock.Reader, treadle *DriveDemand) (tasks []Task, err error) {
	var list []stock.Base
	if err := r.All(&list, stock.Fields{"stage": registry.Logged, "handed_to": ""}); err != nil {
		return nil, err
	}
	for i := range list {
		b := &list[i]
		lacks, err := w.Lacks(b)
		if err != nil {
			return nil, err
		}
		t := Task{For: "bench", Skill: registry.SkillWood, rank: rankComplete, Tag: b.Tag,
			Do: "make the base ready", Why: "nothing is missing", Days: w.daysSince(b.Since),
			Next: registry.Next(registry.DoBaseReady, b.Tag)}
		if len(lacks) > 0 {
			t.Do, t.Why = "complete the base", "it lacks "+strings.Join(lacks, ", ")
			t.Next = registry.Next(registry.DoAmendBase, b.Tag).Asking("parts")
		}
		if treadle != nil && treadle.Open > treadle.Ready {
			t.wanted, t.Due, t.Start = true, treadle.Due, w.start(treadle.Due, 0)
		}
		tasks = append(tasks, t)
	}
	return tasks, nil
}

// reportsDue is the centres to be asked how a delivery came: those that said nothing for some time, and not
// longer ago than a year.
func (w *Reports) reportsDue(r stock.Reader) (tasks []Task, err error) {
	if w.Config.ReportBackDays == 0 {
		return nil, nil
	}
	gone, err := orders.All(r, orders.OrderShipped)
	if err != nil {
		return nil, err
	}
	for _, o := range gone {
		days := w.daysSince(o.ShippedAt)
		if days < w.Config.ReportBackDays || days > w.Config.ReportBackDays+365 {
			continue
		}
		sets, err := promise.OrderSets(r, o.Number)
		if err != nil {
			return nil, err
		}
		if len(sets) == 0 {
			continue
		}
		said := false
		for _, s := range sets {
			var arrivals []packing.Arrival
			if err := r.All(&arrivals, stock.Fields{"tag": s.Head}); err != nil {
				return nil, err
			}
			said = said || len(arrivals) > 0
		}
		if !said {
			tasks = append(tasks, Task{For: "coordinator", Skill: SkillCoordinate, rank: rankAsk,
				Order: o.Number, Do: "ask how it came", Days: days, Tag: sets[0].Head,
				Due: o.ShippedAt.In(w.Location()).AddDate(0, 0,
					w.Config.ReportBackDays).Format(time.DateOnly),
				Why: fmt.Sprintf("%s for %s left %s ago, and nobody reported back", o.Number, o.Partner,
					registry.Counted(days, "day")),
				Next: registry.Next(registry.DoReportBack, sets[0].Head)})
		}
	}
	return tasks, nil
}
