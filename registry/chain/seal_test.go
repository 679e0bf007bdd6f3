package chain_test

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry/chain"
)

func onlyDonor(column string) bool { return column == "donor" }

// The form of a change whose texts are sealed, written out by hand.
func TestASealedTextEntersByItsDigest(t *testing.T) {
	const fields = `{"donor":[null,"Ines Vale"],"maker":[null,"Tamarisk"]}`
	salt := strings.Repeat("0a", 16)
	digest := sha256.Sum256([]byte(salt + "Ines Vale"))
	told := hex.EncodeToString(digest[:])
	h := chain.New("")
	h.Action(7, "2031-05-04T09:30:00.000Z", "QX", "log", "Ines Vale", 0, "", salt)
	h.Change(12, 7, "machine", 3, "PM13S", fields, "donor 1 "+salt+"\n")
	want := sha256.Sum256([]byte("13:house chain 1,0:," +
		"13:sealed action,1:7,24:2031-05-04T09:30:00.000Z,2:QX,3:log,64:" + told + ",1:0,0:," +
		`13:sealed change,2:12,1:7,7:machine,1:3,5:PM13S,45:{"donor":[null,""],"maker":[null,"Tamarisk"]},` +
		"1:1,5:donor,1:1,64:" + told + "," +
		"4:link,1:2,0:,"))
	require.Equal(t, hex.EncodeToString(want[:]), h.Sum(2, ""))
}

// What is forgotten leaves the sum as it was; whatever else is done to it does not.
func TestForgettingLeavesTheSum(t *testing.T) {
	const fields = `{"donor":["Bo \"Q\" Lark","Ines Vale"],"note":["","Ines Vale"],"year_from":[null,1931]}`
	marks := chain.Seal(fields, onlyDonor, nil)
	require.Equal(t, 2, strings.Count(marks, "\n"), "the note is not personal here")
	sum := func(fields, marks string) string {
		h := chain.New("")
		h.Change(1, 1, "machine", 1, "PM13S", fields, marks)
		return h.Sum(1, "")
	}
	whole := sum(fields, marks)
	cut, digests := chain.Forget(fields, marks, chain.Side{Column: "donor", At: 1})
	assert.Equal(t, `{"donor":["Bo \"Q\" Lark",""],"note":["","Ines Vale"],"year_from":[null,1931]}`, cut)
	assert.Equal(t, whole, sum(cut, digests))
	assert.Equal(t, 1, chain.Count(digests))
	again, both := chain.Forget(cut, digests, chain.Side{Column: "donor", At: 0}, chain.Side{Column: "donor", At: 1})
	assert.Equal(t, whole, sum(again, both))
	assert.NotContains(t, again+both, "Lark")
	for name, other := range map[string]string{
		"another name in its place": sum(strings.Replace(cut, `Lark",""`, `Lark","Ada"`, 1), digests),
		"the marks taken away":      sum(cut, ""),
		"another text":              sum(strings.Replace(fields, "Vale\"],\"note", "Dale\"],\"note", 1), marks),
		"a text that has no mark":   sum(strings.Replace(fields, "1931", "1932", 1), marks),
		"a mark changed":            sum(fields, strings.Replace(marks, "donor 0", "donor 1", 1)),
		"a text emptied by hand":    sum(cut, marks),
		"a text put into the marks": sum(fields, marks+"Ines Vale"),
		"a mark told twice":         sum(fields, marks+marks),
		"a mark without its end":    sum(fields, strings.TrimSuffix(marks, "\n")),
	} {
		assert.NotEqual(t, whole, other, name)
	}
}

func TestWhatCameForgottenIsMarked(t *testing.T) {
	marks := chain.Seal(`{"donor":[null,""],"note":["a",""]}`, onlyDonor,
		map[string][2]bool{"donor": {false, true}, "note": {true, true}})
	assert.Equal(t, "donor 1 ~\nnote 1 ~\n", marks, "a text that is there was not forgotten")
	assert.Equal(t, 0, chain.Count(marks), "it was not forgotten here")
}

// FuzzEachText holds the quick reader of a change's fields against the library's.
func FuzzEachText(f *testing.F) {
	f.Add([]byte("donor"), []byte("Ines \"Q\" Vale\\"), []byte("\n<é>"))
	f.Fuzz(func(t *testing.T, column, before, after []byte) {
		name := strings.ToValidUTF8(strings.NewReplacer(`"`, "", `\`, "", "<", "", ">", "", "&", "").
			Replace(string(column)), "")
		texts := [2]any{strings.ToValidUTF8(string(before), ""), strings.ToValidUTF8(string(after), "")}
		text, err := json.Marshal(map[string][2]any{name: texts, "n": {nil, 12}})
		require.NoError(t, err)
		found := map[int]string{}
		require.True(t, chain.EachText(string(text), func(s chain.Text) { found[s.At] = s.Is(string(text)) }), string(text))
		if name != "n" && !strings.ContainsFunc(name, func(r rune) bool { return r < ' ' }) {
			assert.Equal(t, map[int]string{0: texts[0].(string), 1: texts[1].(string)}, found)
		}
		chain.EachText(string(before), func(s chain.Text) { s.Is(string(before)) })
		chain.ParseMarks(string(after))
		chain.Forget(string(before), string(after), chain.Side{Column: name})
		h := chain.New("")
		h.Change(1, 1, "", 1, "", string(before), string(after))
	})
}
