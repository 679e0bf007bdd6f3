//go:build unix

package labels

import (
	"archive/zip"
	"errors"
	"io"
	"strconv"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// span is how long something takes by the clock, and what all processors work for it meanwhile. Others' work on
// the same computer makes the first longer, and hardly the second.
type span struct{ clock, worked time.Duration }

var began, never = time.Now(), span{time.Hour, time.Hour}

func now() span {
	var used syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &used); err != nil {
		panic(err)
	}
	return span{time.Since(began), time.Duration(used.Utime.Nano() + used.Stime.Nano())}
}

// least is the shorter of a span and what has passed since start.
func (s span) least(start span) span {
	n := now()
	return span{min(s.clock, n.clock-start.clock), min(s.worked, n.worked-start.worked)}
}

// A thousand labels beside a thousand QR symbols alone, which is what a label cannot do without: to PDF below
// 3 times, one in ten of them with a maker that needs shaping; each to a PNG of 300 dpi in one zip at most 20
// times.
func BenchmarkThousandLabels(b *testing.B) {
	s, stock := Default(), stockNamed(b, "a4-3x7")
	const n = 1000
	// the least of the runs, taken in turn
	symbols, all, pictures := never, never, never
	for b.Loop() {
		start := now()
		for i := range n {
			if _, err := encode(sample(i).Tag, s.QRLevel); err != nil {
				b.Fatal(err)
			}
		}
		symbols = symbols.least(start)
		start = now()
		faces := make([]*Face, n)
		for i := range faces {
			m := sample(i)
			if i%10 == 0 {
				m.Maker = "القبرة " + strconv.Itoa(i)
			}
			var err error
			faces[i], err = m.Face(s)
			require.NoError(b, err)
		}
		labels, refused := DrawAll(faces, stock, s, Device{})
		require.NoError(b, errors.Join(refused...))
		pages, err := Sheet(stock, labels, SheetOptions{})
		require.NoError(b, err)
		require.NoError(b, WritePDF(io.Discard, "labels", made, pages...))
		all = all.least(start)
		start = now()
		z := zip.NewWriter(io.Discard)
		for i, d := range labels {
			w, err := z.CreateHeader(&zip.FileHeader{Name: strconv.Itoa(i) + ".png", Method: zip.Store})
			require.NoError(b, err)
			require.NoError(b, d.WritePNG(w, Device{DPI: 300}))
		}
		require.NoError(b, z.Close())
		pictures = pictures.least(start)
	}
	b.ReportMetric(float64(all.clock)/float64(symbols.clock), "pdf×symbols")
	b.ReportMetric(float64(pictures.clock)/float64(symbols.clock), "png×symbols")
	b.ReportMetric(float64(all.worked)/float64(symbols.worked), "pdf×symbols-worked")
	b.ReportMetric(float64(pictures.worked)/float64(symbols.worked), "png×symbols-worked")
	b.ReportMetric(symbols.clock.Seconds(), "symbols-s")
}
