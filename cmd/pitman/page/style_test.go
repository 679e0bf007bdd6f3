package page_test

import (
	"context"
	"fmt"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/labels/colour"
)

// inkOnPaper finds the colours of each visible text on a page, and of what tells a field from the page: the
// border of a field, against what is around it. A see-through background counts as the one behind it.
const inkOnPaper = `(function () {
	function plain(c) { var n = c.match(/[\d.]+/g).map(Number); return n.length < 4 || n[3] === 1 ? n.slice(0, 3) : null; }
	function behind(e) { for (; e; e = e.parentElement) { var c = plain(getComputedStyle(e).backgroundColor); if (c) { return c; } } return [255, 255, 255]; }
	var pairs = {};
	function pair(kind, e, ink, paper) {
		if (!ink) { pairs[kind + 'see-through ' + e.outerHTML.slice(0, 80)] = {Kind: kind, Ink: [0, 0, 0], Paper: [0, 0, 0], At: e.outerHTML.slice(0, 80)}; return; }
		pairs[kind + ink + '/' + paper] = {Kind: kind, Ink: ink, Paper: paper, At: e.outerHTML.slice(0, 80)};
	}
	document.querySelectorAll('body *').forEach(function (e) {
		if (e.closest('.skip') || !e.getClientRects().length) { return; }
		var said = Array.from(e.childNodes).some(function (n) { return n.nodeType === 3 && n.data.trim(); });
		if (said || e.matches('input, select, textarea')) { pair('text', e, plain(getComputedStyle(e).color), behind(e)); }
		if (e.matches('input:not([type=hidden]), select, textarea')) { pair('border', e, plain(getComputedStyle(e).borderTopColor), behind(e.parentElement)); }
		if (parseFloat(getComputedStyle(e).opacity) !== 1) { pair('text', e, null); }
	});
	return Object.values(pairs);
})()`

// contrasts holds every pair of colours on a page against WCAG 2.2 AA by the formula that judges labels: 4.5
// to 1 for text of any size (1.4.3), 3 to 1 for the border of a field (1.4.11).
func contrasts(ctx context.Context, t *testing.T, path string) (judged int) {
	t.Helper()
	pairs, err := chromedp.Run(ctx, chromedp.Evaluate[[]struct {
		Kind, At   string
		Ink, Paper [3]uint8
	}](inkOnPaper))
	require.NoError(t, err)
	for _, p := range pairs {
		ink, paper := colour.RGB(p.Ink[0], p.Ink[1], p.Ink[2]), colour.RGB(p.Paper[0], p.Paper[1], p.Paper[2])
		least := map[string]float64{"text": 4.5, "border": 3}[p.Kind]
		assert.GreaterOrEqual(t, colour.Contrast(ink, paper), least, fmt.Sprintf("%s: %s %s on %s: %s", path,
			p.Kind, ink, paper, p.At))
	}
	return len(pairs)
}
