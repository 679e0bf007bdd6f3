package stock

import (
	"fmt"
	"time"
)

// ClockSlack is how far the clocks of two desks or two houses may differ, and who notices is not bothered.
const ClockSlack = 24 * time.Hour

// ClockBehind says that this computer's clock stands more than a day before what was done here last; "" when
// it does not. What is done under such a clock is dated wrongly.
func (w *Stock) ClockBehind() string {
	now, last := w.Now(), w.lastDone()
	if last.Sub(now) <= ClockSlack {
		return ""
	}
	return fmt.Sprintf("The clock of this computer says %s, and something was done here on %s: set the "+
		"clock right.",
		w.LocalDay(now), w.LocalDay(last))
}
