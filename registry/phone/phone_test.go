package phone_test

import (
	"os"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/phone"
)

// at is a store with a clock that the test moves.
func at(t *testing.T) (phone.Store, *time.Time) {
	now := time.Date(2031, 5, 4, 9, 30, 0, 0, time.UTC)
	return phone.In(t.TempDir(), func() time.Time { return now }), &now
}

func code(t *testing.T, s phone.Store, by registry.Initials) string {
	code, _, err := s.NewCode(by)
	require.NoError(t, err)
	return code
}

func TestACodePairsOnePhoneWithItsPerson(t *testing.T) {
	s, _ := at(t)
	c := code(t, s, "QX")
	assert.Regexp(t, `^[0-9A-HJKMNP-TV-Z]{4}(-[0-9A-HJKMNP-TV-Z]{4}){2}$`, c)

	_, _, err := s.Pair(c, "ZB")
	assert.Equal(t, registry.Conflict, registry.CodeOf(err), "the code binds its initials")

	p, secret, err := s.Pair(strings.ToLower(strings.ReplaceAll(c, "-", " ")), "")
	require.NoError(t, err, "as people type it, and after a refusal")
	assert.Equal(t, registry.Initials("QX"), p.By)
	who, err := s.Who(secret)
	require.NoError(t, err)
	assert.Equal(t, registry.Initials("QX"), who.By)

	_, _, err = s.Pair(c, "QX")
	assert.Equal(t, registry.Invalid, registry.CodeOf(err), "it is used up")
}

func TestACodeThatNamesNobodyAsks(t *testing.T) {
	s, _ := at(t)
	c := code(t, s, "")
	_, _, err := s.Pair(c, "")
	assert.Equal(t, registry.Invalid, registry.CodeOf(err))
	p, _, err := s.Pair(c, "ZB")
	require.NoError(t, err)
	assert.Equal(t, registry.Initials("ZB"), p.By)
}

func TestACodeAndAPhoneRunOut(t *testing.T) {
	s, now := at(t)
	old, fresh := code(t, s, "QX"), ""
	*now = now.Add(phone.CodeLife)
	_, _, err := s.Pair(old, "")
	assert.Equal(t, registry.Invalid, registry.CodeOf(err))
	fresh = code(t, s, "QX")
	_, secret, err := s.Pair(fresh, "")
	require.NoError(t, err)
	*now = now.Add(phone.PhoneLife - time.Second)
	who, err := s.Who(secret)
	require.NoError(t, err)
	require.NotNil(t, who)
	*now = now.Add(time.Second)
	who, err = s.Who(secret)
	require.NoError(t, err)
	assert.Nil(t, who)
	phones, err := s.List()
	require.NoError(t, err)
	assert.Empty(t, phones)
	code(t, s, "QX")
	files, err := os.ReadDir(s.Dir)
	require.NoError(t, err)
	assert.Len(t, files, 1, "what ran out is taken away")
}

// Of many who use one code at the same moment, one gets a phone.
// What lies beside phones and codes stays: where pages are served is noted there, for whoever shows a code in
// another window.
func TestWhatRanOutIsSweptAndNothingElse(t *testing.T) {
	s, _ := at(t)
	require.NoError(t, os.MkdirAll(s.Dir, 0o700))
	beside := filepath.Join(s.Dir, "serving.json")
	require.NoError(t, os.WriteFile(beside, []byte(`{"url":"http://127.0.0.1:8421"}`), 0o600))
	for range 2 {
		_, _, err := s.NewCode("QX")
		require.NoError(t, err)
	}
	require.FileExists(t, beside)
}

func TestACodeIsUsedOnce(t *testing.T) {
	s, _ := at(t)
	c := code(t, s, "QX")
	var paired atomic.Int32
	var all sync.WaitGroup
	for range 16 {
		all.Go(func() {
			if _, _, err := s.Pair(c, ""); err == nil {
				paired.Add(1)
			}
		})
	}
	all.Wait()
	assert.Equal(t, int32(1), paired.Load())
}

func TestARemovedPhoneStaysRemoved(t *testing.T) {
	s, now := at(t)
	p, secret, err := s.Pair(code(t, s, "QX"), "")
	require.NoError(t, err)
	*now = now.Add(time.Hour)
	_, err = s.Who(secret)
	require.NoError(t, err)
	phones, err := s.List()
	require.NoError(t, err)
	require.Len(t, phones, 1)
	assert.Equal(t, *now, phones[0].Seen)

	require.NoError(t, s.Remove(p.ID))
	who, err := s.Who(secret)
	require.NoError(t, err)
	assert.Nil(t, who)
	for _, id := range []string{p.ID, "", "../../etc", "..........", strings.Repeat("a", 11)} {
		assert.Equal(t, registry.NotFound, registry.CodeOf(s.Remove(id)), id)
	}
}

func TestNoSecretIsWrittenDown(t *testing.T) {
	s, _ := at(t)
	c := code(t, s, "QX")
	unused := code(t, s, "ZB")
	_, secret, err := s.Pair(c, "")
	require.NoError(t, err)
	files, err := filepath.Glob(filepath.Join(s.Dir, "*"))
	require.NoError(t, err)
	require.Len(t, files, 2)
	_, own, _ := strings.Cut(secret, ".")
	for _, file := range files {
		text, err := os.ReadFile(file)
		require.NoError(t, err)
		info, err := os.Stat(file)
		require.NoError(t, err)
		assert.Equal(t, os.FileMode(0o600), info.Mode())
		for _, s := range []string{c, strings.ReplaceAll(c, "-", ""), unused,
			strings.ReplaceAll(unused, "-", ""), own} {
			assert.NotContains(t, file+string(text), s)
		}
	}
}

func TestAForgedSecretIsNobody(t *testing.T) {
	s, _ := at(t)
	p, secret, err := s.Pair(code(t, s, "QX"), "")
	require.NoError(t, err)
	for _, forged := range []string{"", ".", p.ID, p.ID + ".", p.ID + "." + strings.Repeat("A", 43), secret +
		"A", "../x." + secret,
		strings.ToUpper(secret), p.ID + "." + strings.Repeat("A", 1<<20)} {
		who, err := s.Who(forged)
		require.NoError(t, err)
		assert.Nil(t, who, forged[:min(len(forged), 40)])
	}
}

func TestADamagedFileIsOnePhoneLess(t *testing.T) {
	s, _ := at(t)
	one, secret, err := s.Pair(code(t, s, "QX"), "")
	require.NoError(t, err)
	other, _, err := s.Pair(code(t, s, "ZB"), "")
	require.NoError(t, err)
	require.NoError(t, os.Truncate(filepath.Join(s.Dir, "phone-"+one.ID+".json"), 0))
	listed, err := s.List()
	require.NoError(t, err)
	require.Len(t, listed, 1)
	assert.Equal(t, other.ID, listed[0].ID)
	who, err := s.Who(secret)
	require.NoError(t, err)
	assert.Nil(t, who)
	_, _, err = s.Pair(code(t, s, "QX"), "")
	require.NoError(t, err)
}
