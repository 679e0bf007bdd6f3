package stamp

// Digits is the number part of a worn serial: digits and question marks.
type Digits struct {
	Text        string
	LeadingZero bool // a leading worn character may be a zero
}

// choices returns how many digits the character at i may be, and the lowest of them.
func (d Digits) choices(i int) (count, lowest uint64) {
	switch {
	case d.Text[i] != '?':
		return 1, uint64(d.Text[i] - '0')
	case i == 0 && !d.LeadingZero:
		return 9, 1
	}
	return 10, 0
}

// All returns how many numbers fit.
func (d Digits) All() uint64 {
	n := uint64(1)
	for i := range d.Text {
		c, _ := d.choices(i)
		n *= c
	}
	return n
}

// upTo returns how many numbers fit that are n or less.
func (d Digits) upTo(n uint64) uint64 {
	power, free := uint64(1), d.All()
	for range d.Text {
		power *= 10
	}
	if n >= power {
		return free
	}
	count := uint64(0)
	for i := range d.Text { // the digits before i equal those of n
		power /= 10
		digit := n / power % 10
		c, low := d.choices(i)
		free /= c // ways to fill what stands behind i
		if digit > low {
			count += min(digit-low, c) * free
		}
		if digit < low || digit >= low+c {
			return count
		}
	}
	return count + 1
}

// In returns how many numbers fit from first to last.
func (d Digits) In(first, last uint64) uint64 {
	if first > last {
		return 0
	}
	n := d.upTo(last)
	if first > 0 {
		n -= d.upTo(first - 1)
	}
	return n
}

// Ends returns the lowest and the highest number that fits.
func (d Digits) Ends() (low, high uint64) {
	for i := range d.Text {
		c, l := d.choices(i)
		low = low*10 + l
		high = high*10 + l + c - 1
	}
	return low, high
}
