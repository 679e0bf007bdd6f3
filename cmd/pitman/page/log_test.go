package page_test

import (
	"context"
	"net/http"
	"net/url"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/stock"
	"pitman/serials"
)

// A phone that reads a tag which was printed ahead comes to the form that logs what it hangs on; once it is
// logged, the same tag shows the machine.
func TestABlankTagLeadsToTheFormThatLogsIt(t *testing.T) {
	st := newStage(t)
	tags, err := st.server.BlankTags(context.Background(), "QX", 2,
		func(stock.Tx, []registry.Tag) error { return nil })
	require.NoError(t, err)
	v := st.paired("QX")
	home := "/m/" + string(tags[0])
	status, to := v.get("/M/" + string(tags[0]))
	assert.Equal(t, http.StatusSeeOther, status)
	assert.Contains(t, to, "/log?tag="+string(tags[0]))
	form := v.form("/log?tag=" + string(tags[0]))
	_, shown := v.get("/log?tag=" + string(tags[0]))
	assert.Contains(t, shown, `value="`+string(tags[0])+`"`)
	status, to = v.post("/log", fill(form, "maker", "Harrow & Finch", "serial", "K20417", "drive", "hand",
		"tag", string(tags[0])))
	assert.Equal(t, http.StatusSeeOther, status, to)
	_, text := v.get(home)
	assert.Contains(t, text, "Its tag hangs on it already")
	assert.Contains(t, text, "K20417")
	// once is once, and what was not printed ahead is none
	for tag, said := range map[registry.Tag]string{tags[0]: "belongs to something that was logged already",
		registry.NewTag("PM", 900): "was not printed as a blank one", "PM1": "tag"} {
		status, text = v.post("/log",
			fill(v.form("/log"), "maker", "Ostermann", "serial", "B1", "drive", "hand",
				"tag", string(tag)))
		assert.GreaterOrEqual(t, status, 400, tag)
		assert.Contains(t, text, said)
	}
}

// A tag written by hand without its check character, or with a nought for an O, is offered to be compared
// with the label, on the page where one looks things up.
func TestAHandWrittenTagIsOffered(t *testing.T) {
	st := newStage(t)
	tag := st.logged(registry.Hand)
	v := st.paired("QX")
	_, text := v.post("/find", url.Values{"text": {string(tag[:len(tag)-1])}})
	assert.Contains(t, text, `href="/m/`+string(tag)+`"`)
	assert.Contains(t, text, "if that is what the label reads")
	_, text = v.post("/find", url.Values{"text": {"shelf 3"}})
	assert.NotContains(t, text, "if that is what the label reads")
	assert.Contains(t, text, "Nothing here has")
}

// A table that cannot be read is named beside the year, as the answer to the form and on the machine's page
// ever after.
func TestATableThatIsNotReadIsToldBesideTheYear(t *testing.T) {
	st := newStage(t)
	v := st.paired("QX")
	_, text := v.get("/m/" + string(st.logged(registry.Hand)))
	assert.NotContains(t, text, "is not read")
	real := st.server.Intake.Tables
	st.server.Intake.Tables = func() (*serials.Tables, error) {
		return serials.LoadFS(fstest.MapFS{"torn.csv": {Data: []byte("maker,x\nTorn,1\n")}})
	}
	status, to := v.post("/log", fill(v.form("/log"), "maker", "Torn", "serial", "1", "drive", "hand"))
	require.Equal(t, http.StatusSeeOther, status, to)
	const unread = `<p class="caution">the table torn.csv is not read: line 1: `
	_, text = v.get(to)
	assert.Contains(t, text, "Logged as")
	assert.Contains(t, text, unread)
	_, text = v.get(to)
	assert.NotContains(t, text, "Logged as")
	assert.Contains(t, text, unread)
	st.server.Intake.Tables = func() (*serials.Tables, error) {
		return nil, registry.Errorf(registry.NotFound, "the tables are gone")
	}
	_, text = v.get(to)
	assert.Contains(t, text, `<p class="caution">the tables are gone`)
	st.server.Intake.Tables = real
	_, text = v.get(to)
	assert.NotContains(t, text, `<p class="caution">`)
}
