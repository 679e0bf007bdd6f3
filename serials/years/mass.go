package years

// First and Last bound the years that a table can give.
const First, Last = 1700, 2100

// Mass is how much of a distribution lies in each year. What has no end on one side stands apart: nobody
// knows which year it is.
type Mass struct {
	Year      [Last - First + 1]float64
	Low, High float64 // earlier than any year that is known, and later
	// the latest year that what is earlier can have, and the earliest of what is later; 0 if there is none
	LowEnd      int
	HighEnd     int
	Undecidable float64 // nothing is known of it
}

// Add puts w into a year.
func (m *Mass) Add(year int, w float64) { m.Year[year-First] += w }

// Even spreads w over the years from and to. 0 is an open end, and the whole then stands apart.
func (m *Mass) Even(from, to int, w float64) {
	switch {
	case from == 0 && to == 0:
		m.Undecidable += w
	case from == 0:
		m.Low += w
		m.LowEnd = max(m.LowEnd, to)
	case to == 0:
		m.High += w
		if m.HighEnd == 0 || from < m.HighEnd {
			m.HighEnd = from
		}
	default:
		each := w / float64(to-from+1)
		for y := from; y <= to; y++ {
			m.Year[y-First] += each
		}
	}
}

// Inside is what lies in known years, Outside what does not.
func (m *Mass) Inside() (sum float64) {
	for _, w := range m.Year {
		sum += w
	}
	return sum
}

// Outside is what has no year.
func (m *Mass) Outside() float64 { return m.Low + m.High + m.Undecidable }

// Scale multiplies all of it.
func (m *Mass) Scale(by float64) {
	for i := range m.Year {
		m.Year[i] *= by
	}
	m.Low, m.High, m.Undecidable = m.Low*by, m.High*by, m.Undecidable*by
}

// Weigh multiplies each year by a likelihood, and what has no year by its own.
func (m *Mass) Weigh(likelihood func(year int) float64, outside float64) {
	for i := range m.Year {
		if m.Year[i] > 0 {
			m.Year[i] *= likelihood(i + First)
		}
	}
	m.Low, m.High, m.Undecidable = m.Low*outside, m.High*outside, m.Undecidable*outside
}

// Norm makes the whole 1. It says whether there was anything.
func (m *Mass) Norm() bool {
	sum := m.Inside() + m.Outside()
	if sum <= 0 {
		return false
	}
	m.Scale(1 / sum)
	return true
}

// Interval is the shortest stretch of years that holds the share; an end is 0 when the share cannot be had
// without what lies outside on that side. Of stretches alike in length the one that holds most is taken, then
// the earliest.
func (m *Mass) Interval(share float64) (from, to int) {
	const slack = 1e-9
	best, length := 0.0, 0
	for i, first := range m.Year {
		if first == 0 { // the stretch from the next year on holds as much
			continue
		}
		sum := 0.0
		for j := i; j < len(m.Year); j++ {
			if sum += m.Year[j]; length > 0 && j-i+1 > length {
				break
			}
			if sum >= share-slack {
				if length == 0 || j-i+1 < length || sum > best+slack {
					best, length, from, to = sum, j-i+1, i+First, j+First
				}
				break
			}
		}
	}
	if length > 0 {
		return from, to
	}
	inside := m.Inside()
	switch {
	case m.High >= m.Low && inside+m.High >= share-slack:
		return m.open(m.High, share-slack, len(m.Year)-1, -1, m.HighEnd), 0
	case inside+m.Low >= share-slack:
		return 0, m.open(m.Low, share-slack, 0, 1, m.LowEnd)
	case inside+m.High >= share-slack:
		return m.open(m.High, share-slack, len(m.Year)-1, -1, m.HighEnd), 0
	}
	return 0, 0
}

// open walks inward from one end until the share is had, and returns the year at which it is; end is where
// what lies outside begins.
func (m *Mass) open(sum, share float64, at, step, end int) int {
	if sum >= share {
		return end
	}
	for ; at >= 0 && at < len(m.Year); at += step {
		if sum += m.Year[at]; sum >= share {
			break
		}
	}
	if y := at + First; step < 0 && (end == 0 || y < end) || step > 0 && y > end {
		return y
	}
	return end
}

// Median is the middle year of what lies in known years; 0 if nothing does.
func (m *Mass) Median() int {
	half, sum := m.Inside()/2, 0.0
	if half == 0 {
		return 0
	}
	for i, w := range m.Year {
		if sum += w; sum >= half-1e-12 {
			return i + First
		}
	}
	return 0
}
