package registry_test

import (
	"errors"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
)

// ISO/IEC 7064 MOD 37,36: A12425GABC1234002 takes the check character M (the published identifier that uses
// this scheme).
func TestCheckCharacterAgainstPublishedExample(t *testing.T) {
	assert.Equal(t, "M", string(registry.CheckCharacter("A12425GABC1234002")))
}

func TestParseTagTakesWhatPeopleType(t *testing.T) {
	tag := registry.NewTag("PM", 17)
	for _, typed := range []string{string(tag), strings.ToLower(string(tag)), " PM-17-" + string(tag[4:]),
		string(tag) + "\r\n",
		"HTTPS://SHED.EXAMPLE/M/" + string(tag), "https://shed.example/" + strings.ToLower(string(tag)) +
			"\r"} {
		got, err := registry.ParseTag(typed)
		require.NoError(t, err, typed)
		assert.Equal(t, tag, got)
	}
}

// A hybrid system of ISO/IEC 7064 catches every single wrong character, and all but a few swaps of neighbours
// (the share is from memory; the count below holds it to one in a hundred).
func TestSlipsAreCaught(t *testing.T) {
	swaps, missed := 0, 0
	for n := int64(1); n < 3000; n += 7 {
		tag := string(registry.NewTag("PM", n))
		for i := range tag {
			for _, c := range "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ" {
				if byte(c) == tag[i] {
					continue
				}
				wrong := tag[:i] + string(c) + tag[i+1:]
				_, err := registry.ParseTag(wrong)
				require.Error(t, err, "%s read as %s", tag, wrong)
			}
			if i > 0 && tag[i] != tag[i-1] {
				swapped := tag[:i-1] + string(tag[i]) + string(tag[i-1]) + tag[i+1:]
				swaps++
				if _, err := registry.ParseTag(swapped); err == nil {
					missed++
				}
			}
		}
	}
	assert.Less(t, missed*100, swaps)
}

func TestEveryTagOfEveryHouseIsRead(t *testing.T) {
	for _, letters := range []string{"A", "PM", "ZZZZ"} {
		for _, n := range []int64{1, 9, 10, 4711, 999_999_999, 9_999_999_999_999_999} {
			tag := registry.NewTag(letters, n)
			got, err := registry.ParseTag(string(tag))
			require.NoError(t, err, tag)
			assert.Equal(t, tag, got)
			gotLetters, gotN, ok := tag.Parts()
			assert.Equal(t, []any{letters, n, true}, []any{gotLetters, gotN, ok})
		}
	}
}

func TestParseTagRefuses(t *testing.T) {
	for _, body := range []string{"", "PM", "17", "PM017", "PM0", "ABCDE1", "PM1A", "PM1A7", "PM/7", "PM1:",
		"PM" + strings.Repeat("1", 17)} {
		s := body + string(registry.CheckCharacter(strings.NewReplacer("/", "", ":", "").Replace(body)))
		_, err := registry.ParseTag(s)
		assert.ErrorContains(t, err,
			"is not a tag: type the house letters, the number and the check character", "%q", s)
		assert.Equal(t, registry.Invalid, registry.CodeOf(err), "%q", s)
	}
	for _, s := range []string{"", "17", "PM", "PM1", "PM1é", "PM1*", "P\x00M17", "HTTPS://SHED.EXAMPLE/",
		"shed.example/" + string(registry.NewTag("PM", 17))} {
		_, err := registry.ParseTag(s)
		assert.ErrorContains(t, err, "is not a tag", "%q", s)
	}
}

// What is no tag as it is stored has no parts.
func TestPartsOfWhatIsNoTag(t *testing.T) {
	for _, s := range []registry.Tag{"", "PM17", "pm17x", "PM-17X", "PM17X "} {
		letters, n, ok := s.Parts()
		assert.Equal(t, []any{"", int64(0), false}, []any{letters, n, ok}, "%q", s)
	}
}

func FuzzParseTag(f *testing.F) {
	for _, s := range []string{"PM17", string(registry.NewTag("PM", 17)), "pm-17 x", "", "Z9", "ÄÖ",
		"HTTP://A/PM17X"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		tag, err := registry.ParseTag(s)
		if err != nil {
			return
		}
		again, err := registry.ParseTag(string(tag))
		require.NoError(t, err)
		require.Equal(t, tag, again)
		require.LessOrEqual(t, len(tag), 22)
	})
}

// A number is passed over where its tag without the last character is another valid tag; computed here by
// trying, over a thousand numbers.
func TestTagsThatCutShortAreOthers(t *testing.T) {
	for _, letters := range []string{"LR", "PM"} {
		passed := 0
		for n := int64(1); n <= 1000; n++ {
			tag := registry.NewTag(letters, n)
			_, err := registry.ParseTag(string(tag[:len(tag)-1]))
			assert.Equal(t, err == nil, registry.CutShort(letters, n), tag)
			if err == nil {
				passed++
			}
		}
		assert.True(t, passed > 15 && passed < 40, "%s: %d of 1000: about one in 36", letters, passed)
	}
	assert.True(t, registry.CutShort("LR", 84), "LR84Z would be LR84, the eighth")
}

// What is written by hand is answered with the tag that fits it, if there is one; never with the tag itself.
func TestTheTagThatIsMeant(t *testing.T) {
	tag := registry.NewTag("PM", 101) // with ones and a nought
	for typed, want := range map[string][]registry.Tag{
		"PM1O1" + string(tag[5:]):  {tag},
		"pm i0i" + string(tag[5:]): {tag},
		string(tag[:5]):            {tag},
		"PM17":                     {registry.NewTag("PM", 17)},
		"PMX":                      nil,
		"":                         nil,
		// a check character O written as a nought: which of the two it is, only the house knows
		"LR160":   {"LR160" + registry.Tag(registry.CheckCharacter("LR160")), "LR16O"},
		"17":      nil,
		"PM":      nil,
		"ÉM17":    nil,
		"shelf 3": nil,
	} {
		_, err := registry.ParseTag(typed)
		var refusal *registry.Error
		require.ErrorAs(t, err, &refusal, typed)
		assert.Equal(t, want, refusal.Meant, typed)
		assert.NotContains(t, refusal.Message, string(tag), "a script does not get it")
	}
}

func FuzzTagMeant(f *testing.F) {
	for _, s := range []string{"PM17", "PM1O1", "I0I", "0", "ü", "PMPM1"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		_, err := registry.ParseTag(s)
		var refusal *registry.Error
		if !errors.As(err, &refusal) {
			return
		}
		for _, meant := range refusal.Meant {
			parsed, err := registry.ParseTag(string(meant))
			require.NoError(t, err)
			assert.Equal(t, meant, parsed)
		}
	})
}
