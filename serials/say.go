package serials

// Year is the one way in which an estimate is said: 1901, about 1901, 1897–1899, 1864 or 1865, 1901 or later,
// 1876 or earlier, contradicted, unknown. A range is hard bounds; only "about" rests on likelihood.
func (e Estimate) Year() string { return e.Say(false) }

// Say says the estimate, whose single year may be likely and no more.
func (e Estimate) Say(about bool) string {
	from, to := e.From.String(), e.To.String()
	switch {
	case e.Contradicted():
		return "contradicted"
	case about && e.Best != 0:
		return "about " + e.Best.String()
	case e.From == 0 && e.To == 0:
		return "unknown"
	case e.To == 0:
		return from + " or later"
	case e.From == 0:
		return to + " or earlier"
	case e.From == e.To:
		return from
	case e.Basis == Overlap && e.To == e.From+1:
		return from + " or " + to
	}
	return from + "–" + to
}

// Year is the answer's estimate, said the one way.
func (a Answer) Year() string { return a.Say(a.About) }
