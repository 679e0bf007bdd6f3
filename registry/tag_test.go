package registry

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// ISO/IEC 7064 MOD 37,36: A12425GABC1234002 takes the check character M (the published identifier that uses this scheme).
func TestCheckCharacterAgainstPublishedExample(t *testing.T) {
	assert.Equal(t, "M", string(checkCharacter("A12425GABC1234002")))
}

func TestParseTagTakesWhatPeopleType(t *testing.T) {
	tag := NewTag("PM", 17)
	for _, typed := range []string{string(tag), strings.ToLower(string(tag)), " PM-17-" + string(tag[4:]), string(tag) + "\r\n",
		"HTTPS://SHED.EXAMPLE/M/" + string(tag), "https://shed.example/" + strings.ToLower(string(tag)) + "\r"} {
		got, err := ParseTag(typed)
		require.NoError(t, err, typed)
		assert.Equal(t, tag, got)
	}
}

// A hybrid system of ISO/IEC 7064 catches every single wrong character, and all but a few swaps of neighbours (the share
// is from memory; the count below holds it to one in a hundred).
func TestSlipsAreCaught(t *testing.T) {
	swaps, missed := 0, 0
	for n := int64(1); n < 3000; n += 7 {
		tag := string(NewTag("PM", n))
		for i := range tag {
			for _, c := range checkAlphabet {
				if byte(c) == tag[i] {
					continue
				}
				wrong := tag[:i] + string(c) + tag[i+1:]
				_, err := ParseTag(wrong)
				require.Error(t, err, "%s read as %s", tag, wrong)
			}
			if i > 0 && tag[i] != tag[i-1] {
				swapped := tag[:i-1] + string(tag[i]) + string(tag[i-1]) + tag[i+1:]
				swaps++
				if _, err := ParseTag(swapped); err == nil {
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
			tag := NewTag(letters, n)
			got, err := ParseTag(string(tag))
			require.NoError(t, err, tag)
			assert.Equal(t, tag, got)
			gotLetters, gotN, ok := tag.Parts()
			assert.Equal(t, []any{letters, n, true}, []any{gotLetters, gotN, ok})
		}
	}
}

func TestParseTagRefuses(t *testing.T) {
	for _, body := range []string{"", "PM", "17", "PM017", "PM0", "ABCDE1", "PM1A", "PM1A7", "PM/7", "PM1:", "PM" + strings.Repeat("1", 17)} {
		s := body + string(checkCharacter(strings.NewReplacer("/", "", ":", "").Replace(body)))
		_, err := ParseTag(s)
		assert.ErrorContains(t, err, "is not a tag: type the house letters, the number and the check character", "%q", s)
		assert.Equal(t, Invalid, CodeOf(err), "%q", s)
	}
	for _, s := range []string{"", "17", "PM", "PM1", "PM1é", "PM1*", "P\x00M17", "HTTPS://SHED.EXAMPLE/", "shed.example/" + string(NewTag("PM", 17))} {
		_, err := ParseTag(s)
		assert.ErrorContains(t, err, "is not a tag", "%q", s)
	}
}

// What is no tag as it is stored has no parts.
func TestPartsOfWhatIsNoTag(t *testing.T) {
	for _, s := range []Tag{"", "PM17", "pm17x", "PM-17X", "PM17X "} {
		letters, n, ok := s.Parts()
		assert.Equal(t, []any{"", int64(0), false}, []any{letters, n, ok}, "%q", s)
	}
}

func FuzzParseTag(f *testing.F) {
	for _, s := range []string{"PM17", string(NewTag("PM", 17)), "pm-17 x", "", "Z9", "ÄÖ", "HTTP://A/PM17X"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		tag, err := ParseTag(s)
		if err != nil {
			return
		}
		again, err := ParseTag(string(tag))
		require.NoError(t, err)
		require.Equal(t, tag, again)
		require.LessOrEqual(t, len(tag), 22)
	})
}
