package labels

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A label is stale when what it states has changed, and only then; and what has changed is named.
func TestWhatHasChangedIsNamed(t *testing.T) {
	s := Default()
	says := func(m Machine, s *Scheme) Says {
		f, err := m.Face(s)
		require.NoError(t, err)
		return f.Says()
	}
	m := sample(2)
	was := says(m, s).Text()
	for names, change := range map[string]func(*Machine){
		"":               func(m *Machine) {},
		"maker":          func(m *Machine) { m.Maker = "Tern" },
		"serial":         func(m *Machine) { m.Serial = "T4712884" },
		"year":           func(m *Machine) { m.Year = "1922" },
		"caution drive":  func(m *Machine) { m.Drive, m.Mains = "hand", false },
		"tested":         func(m *Machine) { m.Tested.By = "YZ" },
		"caution":        func(m *Machine) { m.SafetyFailed = true },
		"caution safety": func(m *Machine) { m.Safety = Test{"2026-03-01", "QX"} },
		"maker year":     func(m *Machine) { m.Model, m.Year = "", "1922" },
	} {
		changed := m
		change(&changed)
		got, ok := says(changed, s).Changed(was)
		assert.True(t, ok)
		assert.Equal(t, names, strings.Join(got, " "))
	}
	house := Default()
	house.BaseURL, house.IfFound = "HTTPS://SHED.EXAMPLE/", "If found: Shed Lane"
	band := house.Drive["electric"]
	band.Colour, band.Word = mustColour("#3a1846"), "MAINS"
	house.Drive["electric"] = band
	got, _ := says(m, house).Changed(was)
	assert.Empty(t, got, "a new address or scheme by itself makes nothing untrue")
	_, ok := says(m, s).Changed("no record")
	assert.False(t, ok)
	f, err := Base{Tag: "AB00003K", Weight: "24.5 kg", Heavy: true,
		Measures: []string{"opening 375 × 180 mm"}}.Face(s)
	require.NoError(t, err)
	was = f.Says().Text()
	f, err = Base{Tag: "AB00003K", Weight: "25 kg", Heavy: true,
		Measures: []string{"opening 375 × 180 mm", "no top"}}.Face(s)
	require.NoError(t, err)
	got, _ = f.Says().Changed(was)
	assert.Equal(t, []string{"lift", "measures"}, got)
}

// What the program of before kept was a hash of all that was printed. These three were computed with it.
func TestHashesOfEarlierLabels(t *testing.T) {
	for hash, kind := range map[string]interface{ Face(*Scheme) (*Face, error) }{
		"9b08f3578fdee4e4": sample(2),
		"76f564388dfd57f9": sample(1),
		"46b213d479362ab4": Base{Tag: "AB00003K", Name: "Alder", Measures: []string{"opening 375 × 180 mm"},
			Weight: "24.5 kg", Heavy: true},
	} {
		s := Default()
		s.IfFound = "If found: Shed Lane"
		f, err := kind.Face(s)
		require.NoError(t, err)
		assert.True(t, f.PrintedAs(hash, s), hash)
		assert.False(t, f.PrintedAs("9b08f3578fdee4e5", s))
	}
	m := sample(2)
	m.Year = "1922"
	f, err := m.Face(Default())
	require.NoError(t, err)
	assert.False(t, f.PrintedAs("9b08f3578fdee4e4", Default()), "it says another year")
}

func TestWhatStandsOnEachKind(t *testing.T) {
	s := Default()
	text := func(f *Face, err error) string {
		require.NoError(t, err)
		lines := []string{f.Headline}
		if f.Band != nil {
			lines = append(lines, f.Band.Word)
		}
		for _, l := range f.Lines {
			switch {
			case l.Caution:
				lines = append(lines, "!"+l.Text)
			case l.Strong:
				lines = append(lines, "*"+l.Text)
			default:
				lines = append(lines, l.Text)
			}
		}
		return strings.Join(lines, "|")
	}
	m := sample(2)
	assert.Equal(t,
		"AB00002K|ELECTRIC|!do not plug in: not safety tested|*1921–1925|*Meadowlark Brisk 44|No. "+
			"T4712883|tested 2026-03-02 QX", text(m.Face(s)))
	m.Safety, m.Serial = Test{"2026-03-01", "YZ"}, ""
	assert.Equal(t,
		"AB00002K|ELECTRIC|*1921–1925|*Meadowlark Brisk 44|no serial number|tested 2026-03-02 QX|safety "+
			"tested 2026-03-01 YZ", text(m.Face(s)))
	m.Drive, m.Mains = "hand", false
	assert.NotContains(t, text(m.Face(s)), "safety", "a machine without a lead has no safety test to show")
	assert.Equal(t,
		"AB00001K|ON HOLD|!do not plug in: not safety tested|*cracked bed|Meadowlark|No. 7|Shelf 3|since "+
			"2026-03-01",
		text(Slip{Tag: "AB00001K", Maker: "Meadowlark", Serial: "7", Stage: "held", Since: "2026-03-01",
			Place: "Shelf 3", Note: "cracked bed", DoNotPlugIn: true}.Face(s)))
	assert.Equal(t, "AB00003K|!24.5 kg cast iron: two people lift|*Alder|treadle base|opening 375 × 180 mm",
		text(Base{Tag: "AB00003K", Name: "Alder", Measures: []string{"opening 375 × 180 mm"},
			Weight: "24.5 kg", Heavy: true}.Face(s)))
	assert.Equal(t, "AB00003K|!cast iron: two people lift|*treadle base",
		text(Base{Tag: "AB00003K", Heavy: true}.Face(s)), "not weighed")
	assert.Equal(t, "AB00003K|*treadle base|15 kg cast iron",
		text(Base{Tag: "AB00003K", Weight: "15 kg"}.Face(s)))
	assert.Equal(t, "AB00003K|READY|*Alder|treadle base|bay 2",
		text(Slip{Tag: "AB00003K", Maker: "Alder", Base: true, Stage: "ready", Place: "bay 2"}.Face(s)))
	assert.Equal(t, "Shelf 3|heads", text(Shelf{Place: "Shelf 3", About: "heads"}.Face(s)))
	assert.Equal(t,
		"AB00001K|AT THE BENCH|*2 points to do · check 2026-03-02|• tension: loops below|• feed "+
			"dog|Meadowlark|No. 7",
		text(Slip{Tag: "AB00001K", Maker: "Meadowlark", Serial: "7", Stage: "bench", Tested: "2026-03-02",
			Faults: []Fault{{"tension", "loops below"}, {"feed dog", ""}}}.Face(s)))

	assert.Equal(t,
		"AB00001K|ON HOLD|!do not plug in: failed its safety test|*failed its safety test|no serial number",
		text(Slip{Tag: "AB00001K", Stage: "held", Note: "failed its safety test", DoNotPlugIn: true,
			SafetyFailed: true}.Face(s)), "one reason, the true one")
	for want, slip := range map[string]Slip{
		"*2 of 16 points to do · check 2026-03-02": {Points: 16, Faults: make([]Fault, 2),
			Tested: "2026-03-02"},
		"*16 of 16 points to do": {Points: 16, Faults: make([]Fault, 16)},
		"*1 of 3 points to do":   {Points: 3, Faults: make([]Fault, 1)},
		"*1 point to do":         {Faults: make([]Fault, 1)},
	} {
		slip.Tag, slip.Stage = "AB00001K", "bench"
		assert.Contains(t, text(slip.Face(s))+"|", want+"|")
	}
	found := Default()
	found.IfFound = "If found: Shed Lane workshop"
	assert.Regexp(t, `\|If found: Shed Lane workshop$`, text(m.Face(found)))
	assert.Regexp(t, `\|If found: Shed Lane workshop$`, text(Base{Tag: "AB00003K"}.Face(found)))
	assert.NotContains(t, text(Slip{Tag: "AB00001K", Stage: "held"}.Face(found)), "If found",
		"a slip does not leave the house")

	m.Tested = Test{}
	assert.Equal(t, "AB00002K|HAND|*1921–1925|*Meadowlark Brisk 44|no serial number", text(m.Face(s)),
		"not tested")
	spaced := Default()
	spaced.Drive["hand"] = Band{Word: " BY\tHAND ", Pattern: "dots"}
	assert.Contains(t, text(m.Face(spaced)), "AB00002K|BY HAND|")

	m.Drive = "steam"
	_, err := m.Face(s)
	assert.EqualError(t, err, `drive "steam" has no band in the scheme: type one of hand, treadle, electric`)
	kura, err := Shelf{Place: " 倉 3", Code: "4829131SK"}.Face(s)
	require.NoError(t, err)
	assert.Equal(t, "倉 3|4829131SK", text(kura, nil))
	assert.Equal(t, "4829131SK", kura.Payload, "whatever a scanner makes of other letters")
	_, err = Shelf{Place: "bay\n2"}.Face(s)
	assert.ErrorContains(t, err, "holds a control character")
	for _, nothing := range []string{"", " ", "\x00 ", "\u200b"} {
		_, err = Shelf{Place: nothing}.Face(s)
		assert.ErrorContains(t, err, "has nothing that can be printed")
	}
	_, err = Shelf{Place: "bay\x002"}.Face(s)
	assert.ErrorContains(t, err, "holds a control character")
	_, err = Base{Tag: "AB_1"}.Face(s)
	assert.ErrorContains(t, err, "cannot stand in a QR symbol")
	_, err = Slip{Tag: "AB00001K", Stage: "lost"}.Face(s)
	assert.ErrorContains(t, err, `stage "lost" has no band in the scheme`)
}
