package electrical_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"pitman/registry/electrical"
	"pitman/registry/measure"
)

// What an order asks for that a machine has not is refused, or is work: a plug and a cord always, other volts
// where the line says so. After the work the machine suits.
func TestWhatAnOrderAsksOfTheMains(t *testing.T) {
	volts := func(v int) measure.Rating { return measure.Rating{{Low: v, High: v}} }
	metre := 1000 * measure.Millimetre
	for name, c := range map[string]struct {
		asked   electrical.Asked
		plate   electrical.Nameplate
		refused bool
		work    []string
	}{
		"any plug": {electrical.Asked{Supply: "230V/50Hz"},
			electrical.Nameplate{Volts: volts(230), Motor: "brush"}, false, nil},
		"its plug": {electrical.Asked{Supply: "230V/50Hz/G"},
			electrical.Nameplate{Volts: volts(230), Motor: "brush", Plug: "G"},
			false, nil},
		"no letter known": {electrical.Asked{Supply: "230V/50Hz/G"},
			electrical.Nameplate{Volts: volts(230), Motor: "brush"}, false,
			[]string{"fit a plug of type G"}},
		"an unnamed letter is no match": {electrical.Asked{Supply: "230V/50Hz/G"},
			electrical.Nameplate{Volts: volts(230), Motor: "brush", Earthed: true}, false,
			[]string{"look which type its plug is, and fit one of type G if it is another"}},
		"another plug": {electrical.Asked{Supply: "230V/50Hz/G"},
			electrical.Nameplate{Volts: volts(230), Motor: "brush", Plug: "F"}, false,
			[]string{"change the plug of type F for one of type G"}},
		"other volts are refused": {electrical.Asked{Supply: "230V/50Hz"},
			electrical.Nameplate{Volts: volts(120), Motor: "brush"},
			true, nil},
		"unless asked for": {electrical.Asked{Supply: "230V/50Hz/G", OtherVolts: true},
			electrical.Nameplate{Volts: volts(120), Hertz: volts(60), Motor: "brush", Plug: "A"}, false,
			[]string{"change what its plate gives as 120 V 60 Hz for 230 V 50 Hz: motor, lamp and whatever " +
				"else " +
				"takes the mains", "change the plug of type A for one of type G"}},
		"other hertz": {electrical.Asked{Supply: "230V/50Hz", OtherVolts: true},
			electrical.Nameplate{Volts: volts(230), Hertz: volts(60), Motor: "induction"}, false,
			[]string{"change what its plate gives as 230 V 60 Hz for 230 V 50 Hz: motor, lamp and whatever " +
				"else " +
				"takes the mains"}},
		"volts that nobody read are read first": {electrical.Asked{Supply: "230V", OtherVolts: true},
			electrical.Nameplate{}, true,
			nil},
		"a longer cord": {electrical.Asked{Supply: "230V", Cord: 3 * metre},
			electrical.Nameplate{Volts: volts(230), Cord: 1800 * measure.Millimetre}, false,
			[]string{"change the cord of 1.8 m for one of 3 m"}},
		"long enough": {electrical.Asked{Supply: "230V", Cord: 3 * metre},
			electrical.Nameplate{Volts: volts(230), Cord: 3 * metre},
			false, nil},
		"a cord that nobody measured": {electrical.Asked{Supply: "230V", Cord: 3 * metre},
			electrical.Nameplate{Volts: volts(230)},
			false, []string{"measure its cord, and fit one of 3 m if it is shorter"}},
	} {
		c.asked.Tolerance = 10
		assert.Equal(t, c.refused, c.asked.Refuses(c.plate) != "", name)
		if c.refused {
			continue
		}
		var work []string
		plate := c.plate
		for _, one := range c.asked.Work(c.plate) {
			work = append(work, one.Job)
			again, ok := electrical.Find(c.asked.Work(plate), one.Part)
			assert.True(t, ok, name)
			plate = again.Done(plate)
		}
		assert.Equal(t, c.work, work, name)
		assert.Empty(t, c.asked.Work(plate), name)
		assert.Empty(t, c.asked.Supply.Refuses(plate, 10), name)
	}
}

// Whatever is typed for a cord is refused, or a length that no cord is longer than.
func FuzzParseCord(f *testing.F) {
	for _, typed := range []string{"", "3", "1.8 m", "-1", "30", "1e9", "3 m 2"} {
		f.Add(typed)
	}
	f.Fuzz(func(t *testing.T, typed string) {
		if got, err := electrical.ParseCord("cord", typed); err == nil {
			assert.True(t, got >= 0 && got <= 25_000*measure.Millimetre)
		}
	})
}
