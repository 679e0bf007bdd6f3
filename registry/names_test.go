package registry_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
)

func TestCleanText(t *testing.T) {
	for text, want := range map[string]string{
		"":                     "",
		"  bay 2\t":            "bay 2", // what stands round it is no part of it
		"Łódź ✂ 名":             "Łódź ✂ 名",
		strings.Repeat("名", 8): strings.Repeat("名", 8), // letters count, not bytes
		" 12345678 ":           "12345678",
		"e\u0301":              "e\u0301",
		"one\u00a0two":         "one\u00a0two",
	} {
		got, err := registry.CleanText("note", text, 8)
		assert.NoError(t, err, "%q", text)
		assert.Equal(t, want, got, "%q", text)
	}
	for text, why := range map[string]string{
		"a\xff":                "not valid UTF-8",
		"a\nb":                 "control character",
		"a\x1b[2J":             "control character",
		"a\u0085b":             "control character",
		"a\u202eb":             "control character", // turns round what follows it
		"Oster\u200bmann":      "control character", // looks like Ostermann, and is found under nothing else
		"\ufeffa":              "control character",
		"a\u2066b":             "control character",
		"a\u200fb":             "control character",
		"a\u061cb":             "control character",
		"123456789":            "note is 9 characters long: type at most 8",
		strings.Repeat("é", 9): "note is 9 characters long: type at most 8",
	} {
		_, err := registry.CleanText("note", text, 8)
		assert.ErrorContains(t, err, why, "%q", text)
		assert.Equal(t, registry.Invalid, registry.CodeOf(err))
	}
}

func TestInitials(t *testing.T) {
	for typed, want := range map[string]registry.Initials{"qx": "QX", " rs2 ": "RS2", "é": "É",
		"Abcd9": "ABCD9"} {
		got, err := registry.ParseInitials(typed)
		assert.NoError(t, err, "%q", typed)
		assert.Equal(t, want, got)
	}
	for _, typed := range []string{"", "  ", "ABCDE", "Q X", "QX12", "7", "Q-X", "Q\x1b", "\xff"} {
		_, err := registry.ParseInitials(typed)
		assert.ErrorContains(t, err, "type one to four letters", "%q", typed)
	}
}

func TestPeopleInASettingAreReadInAnyCase(t *testing.T) {
	people := []string{"qx", " Él2 "}
	require.NoError(t, registry.ParsePeople("coordinators in [house]", people))
	assert.Equal(t, []string{"QX", "ÉL2"}, people)
	assert.True(t, registry.Initials("QX").In(people))
	assert.False(t, registry.Initials("Q").In(people))
	err := registry.ParsePeople("coordinators in [house]", []string{"QX, MB"})
	assert.ErrorContains(t, err, `coordinators in [house]: initials "QX, MB": type one to four letters`)
}

func TestOfManyNamesTheFirstFewAreTold(t *testing.T) {
	all := []registry.Tag{}
	assert.Empty(t, registry.FirstFew(all))
	for n := range 10 {
		all = append(all, registry.Tag(fmt.Sprint("PM", n)))
	}
	assert.Equal(t, "PM0, PM1, PM2, PM3, PM4, PM5, PM6, PM7, PM8, PM9", registry.FirstFew(all))
	assert.Equal(t, "PM0, PM1, PM2, PM3, PM4, PM5, PM6, PM7, PM8, PM9, and 3 more",
		registry.FirstFew(append(all, "X", "Y", "Z")))
	for most, want := range map[int]string{1: "PM0, and 2 more", 2: "PM0, PM1, and 1 more", 3: "PM0, PM1, PM2",
		4: "PM0, PM1, PM2"} {
		assert.Equal(t, want, registry.FirstOf(most, all[:3]))
	}
}

func TestWordsAgreeWithTheirCount(t *testing.T) {
	for n, want := range []string{"0 places are", "1 place is", "2 places are", "3 places are"} {
		assert.Equal(t, want, registry.Counted(n, "place")+" "+registry.Agree(n, "is", "are"))
	}
}
