package reports

import (
	"fmt"
	"time"

	"pitman/registry"
	"pitman/registry/promise"
	"pitman/registry/shipments"
	"pitman/registry/stock"
)

// leaving is the shipments that are to leave, and those of which nobody said how they came.
func (w *Reports) leaving(r stock.Reader) (tasks []Task, err error) {
	all, err := shipments.All(r, "")
	if err != nil {
		return nil, err
	}
	for i := range all {
		s := &all[i]
		t := Task{For: "coordinator", Skill: SkillCoordinate, rank: rankOrder, wanted: true,
			Days: w.daysSince(s.OpenedAt)}
		switch s.State {
		case shipments.Open:
			packed, places, err := loaded(r, s)
			if err != nil {
				return nil, err
			}
			t.Due, t.Start = s.Day, w.start(s.Day, 0)
			t.Do, t.Next = "send "+s.ID, registry.Next(registry.DoSend, "").With("shipment", s.ID)
			t.Why = packedOf(packed, places)
			if packed < places {
				t.Do = "see to " + s.ID
				t.Next = registry.Next(registry.DoShowShipment, "").With("shipment", s.ID)
			}
			if places == 0 {
				t.Do, t.Why = "load "+s.ID, "nothing is on it yet"
				t.Next = registry.Next(registry.DoLoad, "").With("shipment", s.ID)
			}
			if s.Day != "" {
				t.Why = fmt.Sprintf("it %s; %s", w.dueWords(s.Day), t.Why)
			}
		case shipments.Left:
			if w.Config.ReportBackDays == 0 || w.daysSince(s.LeftAt) < w.Config.ReportBackDays {
				continue
			}
			t.rank, t.wanted, t.Days = rankAsk, false, w.daysSince(s.LeftAt)
			t.Due = s.LeftAt.In(w.Location()).AddDate(0, 0, w.Config.ReportBackDays).Format(time.DateOnly)
			t.Do, t.Why = "ask how "+s.ID+" came",
				"it left "+registry.Counted(t.Days, "day")+" ago, and no receipt is here"
			t.Next = registry.Next(registry.DoArrive, "").With("shipment", s.ID)
		default:
			continue
		}
		tasks = append(tasks, t)
	}
	return tasks, nil
}

// packedOf says how far the packing of a shipment has come.
func packedOf(packed, places int) string {
	if places == 1 && packed == 0 {
		return "its one place is not packed yet"
	}
	return fmt.Sprintf("%d of its %s %s packed", packed, registry.Counted(places, "place"),
		registry.Agree(packed, "is", "are"))
}

// loaded counts the places that go with a shipment, and those that are packed.
func loaded(r stock.Reader, s *shipments.Shipment) (packed, places int, err error) {
	for _, on := range s.Orders {
		sets, err := shipments.Places(r, s.ID, on.Order)
		if err != nil {
			return 0, 0, err
		}
		for i := range sets {
			missing, err := promise.Unpacked(r, sets[i:i+1])
			if err != nil {
				return 0, 0, err
			}
			if places++; len(missing) == 0 {
				packed++
			}
		}
	}
	return packed, places, nil
}
