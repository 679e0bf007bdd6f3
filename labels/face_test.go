package labels

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A label is stale when anything printed has changed, and only then.
func TestFingerprintFollowsWhatIsPrinted(t *testing.T) {
	s := Default()
	print := func(m Machine, s *Scheme) string {
		f, err := m.Face(s)
		require.NoError(t, err)
		return f.Fingerprint()
	}
	m := sample(2)
	was := print(m, s)
	assert.Equal(t, was, print(m, Default()))
	for name, change := range map[string]func(*Machine){
		"maker":  func(m *Machine) { m.Maker = "Tern" },
		"model":  func(m *Machine) { m.Model = "" },
		"serial": func(m *Machine) { m.Serial = "F4712884" },
		"year":   func(m *Machine) { m.Year = "1922" },
		"drive":  func(m *Machine) { m.Drive = "hand" },
		"tested": func(m *Machine) { m.Tested.By = "YZ" },
		"safety": func(m *Machine) { m.Safety = Test{"2026-03-01", "QX"} },
	} {
		changed := m
		change(&changed)
		assert.NotEqual(t, was, print(changed, s), name)
	}
	house := Default()
	house.BaseURL = "HTTPS://SHED.EXAMPLE/"
	assert.NotEqual(t, was, print(m, house))
	house = Default()
	band := house.Drive["electric"]
	band.Colour = mustColour("#3a1846")
	house.Drive["electric"] = band
	assert.NotEqual(t, was, print(m, house))
	other := Default()
	band = other.Stage["ready"]
	band.Word = "DONE"
	other.Stage["ready"] = band
	assert.Equal(t, was, print(m, other), "a stage is not on the lasting label")
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
	assert.Equal(t, "AB00002K|ELECTRIC|!do not plug in: not safety tested|*Meadowlark Vibra 28|No. F4712883|1921–1925|tested 2026-03-02 QX", text(m.Face(s)))
	m.Safety, m.Serial = Test{"2026-03-01", "YZ"}, ""
	assert.Equal(t, "AB00002K|ELECTRIC|*Meadowlark Vibra 28|no serial number|1921–1925|tested 2026-03-02 QX|safety tested 2026-03-01 YZ", text(m.Face(s)))
	m.Drive, m.Mains = "hand", false
	assert.NotContains(t, text(m.Face(s)), "safety", "a machine without a lead has no safety test to show")
	assert.Equal(t, "AB00001K|ON HOLD|!do not plug in: not safety tested|*Meadowlark|No. 7|cracked bed|since 2026-03-01|Shelf 3",
		text(Slip{Tag: "AB00001K", Maker: "Meadowlark", Serial: "7", Stage: "held", Since: "2026-03-01", Place: "Shelf 3", Note: "cracked bed", DoNotPlugIn: true}.Face(s)))
	assert.Equal(t, "AB00003K|!24.5 kg cast iron: two people lift|*Alder|treadle base|opening 375 × 180 mm",
		text(Base{Tag: "AB00003K", Name: "Alder", Measures: []string{"opening 375 × 180 mm"}, Weight: "24.5 kg", Heavy: true}.Face(s)))
	assert.Equal(t, "AB00003K|!cast iron: two people lift|*treadle base", text(Base{Tag: "AB00003K", Heavy: true}.Face(s)), "not weighed")
	assert.Equal(t, "AB00003K|*treadle base|15 kg cast iron", text(Base{Tag: "AB00003K", Weight: "15 kg"}.Face(s)))
	assert.Equal(t, "AB00003K|READY|*Alder|treadle base|bay 2", text(Slip{Tag: "AB00003K", Maker: "Alder", Base: true, Stage: "ready", Place: "bay 2"}.Face(s)))
	assert.Equal(t, "Shelf 3|heads", text(Shelf{"Shelf 3", "heads"}.Face(s)))
	assert.Equal(t, "AB00001K|AT THE BENCH|*nearly there · check 2026-03-02|• tension: loops below|• feed dog|Meadowlark|No. 7",
		text(Slip{Tag: "AB00001K", Maker: "Meadowlark", Serial: "7", Stage: "bench", Tested: "2026-03-02", Faults: []Fault{{"tension", "loops below"}, {"feed dog", ""}}}.Face(s)))

	m.Tested = Test{}
	assert.Equal(t, "AB00002K|HAND|*Meadowlark Vibra 28|no serial number|1921–1925", text(m.Face(s)), "not tested")
	spaced := Default()
	spaced.Drive["hand"] = Band{Word: " BY\tHAND ", Pattern: "dots"}
	assert.Contains(t, text(m.Face(spaced)), "AB00002K|BY HAND|")

	m.Drive = "steam"
	_, err := m.Face(s)
	assert.EqualError(t, err, `drive "steam" has no band in the scheme: type one of hand, treadle, electric`)
	kura, err := Shelf{Place: " 倉 3"}.Face(s)
	require.NoError(t, err)
	assert.Equal(t, "倉 3", kura.Payload, "a scan leads to the place itself, whatever the typeface lacks")
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

func TestReadable(t *testing.T) {
	for in, want := range map[string]string{
		"Café":                "Café",
		"Cafe\u0301":          "Café",
		" a \t\n b ":          "a b",
		"Ǧašpar":              "Gašpar", // Ǧ is not in the face: the bare letter
		"縫い":                  "\uFFFD\uFFFD",
		"a\x00\x1b[1mb\u202e": "a[1mb",
		"\xff\xfe":            "\uFFFD",
		"Ωμέγα Щука ½ № €":    "Ωμέγα Щука ½ № €",
		"😀":                   "\uFFFD",
		"":                    "",
	} {
		assert.Equal(t, want, readable(in), "%q", in)
	}
}

func FuzzReadable(f *testing.F) {
	for _, s := range []string{"Café", "縫", "\xff", "a\u0301\u0301", "\u200d😀"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		got := readable(s)
		for _, r := range got {
			assert.True(t, regular.advance(r) >= 0 && bold.advance(r) >= 0, "%q", r)
		}
		assert.Equal(t, got, readable(got))
	})
}
