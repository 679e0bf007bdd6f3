package photo

import (
	"bytes"
	"context"
	"encoding/binary"
	"hash/crc32"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
)

var (
	red   = color.RGBA{220, 20, 20, 255}
	green = color.RGBA{20, 200, 20, 255}
	blue  = color.RGBA{20, 20, 220, 255}
	white = color.RGBA{250, 250, 250, 255}
)

// corners is a picture of 64 × 32 dots with another colour in each quarter: red and green above, blue and
// white below.
func corners() *image.RGBA {
	img := image.NewRGBA(image.Rect(0, 0, 64, 32))
	for y := range 32 {
		for x := range 64 {
			img.SetRGBA(x, y, [2][2]color.RGBA{{red, green}, {blue, white}}[y/16][x/32])
		}
	}
	return img
}

func asJPEG(t testing.TB, img image.Image) []byte {
	var b bytes.Buffer
	require.NoError(t, jpeg.Encode(&b, img, &jpeg.Options{Quality: 95}))
	return b.Bytes()
}

func asPNG(t testing.TB, img image.Image) []byte {
	var b bytes.Buffer
	require.NoError(t, png.Encode(&b, img))
	return b.Bytes()
}

// exifBlock is a TIFF block that says how the camera was held, and where it was: 51 degrees north.
func exifBlock(order binary.AppendByteOrder, orientation uint16) []byte {
	b := []byte("II*\x00")
	if order.String() == "BigEndian" {
		b = []byte("MM\x00*")
	}
	b = order.AppendUint32(b, 8)
	b = order.AppendUint16(b, 2)
	for _, e := range []struct{ tag, kind, value uint16 }{{0x010f, 3, 7}, {0x0112, 3, orientation}} {
		b = order.AppendUint16(b, e.tag)
		b = order.AppendUint16(b, e.kind)
		b = order.AppendUint32(b, 1)
		b = order.AppendUint16(b, e.value)
		b = order.AppendUint16(b, 0)
	}
	b = order.AppendUint32(b, 0)
	return append(b, "51 degrees north, camera of QX"...)
}

// withExif puts a block behind the start of a JPEG file.
func withExif(raw, block []byte) []byte {
	content := append([]byte("Exif\x00\x00"), block...)
	segment := binary.BigEndian.AppendUint16([]byte{0xff, 0xe1}, uint16(len(content)+2))
	segment = append(segment, content...)
	return append(append(append([]byte{}, raw[:2]...), segment...), raw[2:]...)
}

// chunk puts a chunk into a PNG file behind its head.
func chunk(raw []byte, name string, content []byte) []byte {
	c := binary.BigEndian.AppendUint32(nil, uint32(len(content)))
	c = append(append(c, name...), content...)
	c = binary.BigEndian.AppendUint32(c, crc32.ChecksumIEEE(c[4:]))
	const head = 8 + 25
	return append(append(append([]byte{}, raw[:head]...), c...), raw[head:]...)
}

// webpOf writes a lossless WebP file of two colours, by the bitstream's description in RFC 9649, section 3:
// the left half green, the right black.
func webpOf(w, h int, dots bool) []byte {
	var bits []byte
	n := 0
	put := func(value, count int) {
		for i := range count {
			if n%8 == 0 {
				bits = append(bits, 0)
			}
			bits[n/8] |= byte(value>>i&1) << (n % 8)
			n++
		}
	}
	put(0x2f, 8)
	put(w-1, 14)
	put(h-1, 14)
	put(0, 1) // no transparency
	put(0, 3)
	put(0, 3) // no transform, no colour cache, one group of codes
	put(0b11, 2)
	put(1, 1) // two greens
	put(0, 8)
	put(200, 8)
	for _, value := range []int{0, 0, 255, 0} { // red, blue, transparency, distance: one symbol each
		put(0b001|0b100, 3)
		put(value, 8)
	}
	if dots {
		for range h {
			for x := range w {
				put(map[bool]int{true: 1}[x < w/2], 1)
			}
		}
	}
	return riff(append([]byte("VP8L"), sized(bits)...))
}

func sized(content []byte) []byte {
	b := append(binary.LittleEndian.AppendUint32(nil, uint32(len(content))), content...)
	if len(content)%2 == 1 {
		b = append(b, 0)
	}
	return b
}

func riff(chunks ...[]byte) []byte {
	content := append([]byte("WEBP"), bytes.Join(chunks, nil)...)
	return append([]byte("RIFF"), sized(content)...)
}

func take(t *testing.T, raw []byte) (*Picture, image.Image) {
	t.Helper()
	p, err := Take(t.Context(), bytes.NewReader(raw))
	require.NoError(t, err)
	img, err := jpeg.Decode(bytes.NewReader(p.Bytes))
	require.NoError(t, err)
	assert.Equal(t, image.Pt(p.Width, p.Height), img.Bounds().Size())
	require.NoError(t, CheckStored(p.Name(), p.Bytes), "whatever is taken in is sound")
	return p, img
}

func near(t *testing.T, want color.RGBA, got color.Color, what string) {
	t.Helper()
	r, g, b, _ := got.RGBA()
	for i, have := range []uint32{r >> 8, g >> 8, b >> 8} {
		assert.InDelta(t, []uint8{want.R, want.G, want.B}[i], have, 30, "%s: %v is not %v", what, got, want)
	}
}

// The words of the Exif standard for each orientation: the side of the seen picture that the file's first row
// and first column are.
var sides = []struct{ row, column string }{
	{"top", "left"}, {"top", "right"}, {"bottom", "right"}, {"bottom", "left"},
	{"left", "top"}, {"right", "top"}, {"right", "bottom"}, {"left", "bottom"},
}

// held stores a picture as a camera would that was held so: the dot in row r and column c of the file is the
// one that is so many dots from the sides which the standard names.
func held(seen *image.RGBA, row, column string) *image.RGBA {
	w, h := seen.Rect.Dx(), seen.Rect.Dy()
	fw, fh := w, h
	if row == "left" || row == "right" {
		fw, fh = h, w
	}
	file := image.NewRGBA(image.Rect(0, 0, fw, fh))
	for r := range fh {
		for c := range fw {
			var x, y int
			for _, at := range []struct {
				side string
				n    int
			}{{row, r}, {column, c}} {
				switch at.side {
				case "top":
					y = at.n
				case "bottom":
					y = h - 1 - at.n
				case "left":
					x = at.n
				case "right":
					x = w - 1 - at.n
				}
			}
			file.SetRGBA(c, r, seen.RGBAAt(x, y))
		}
	}
	return file
}

func TestEveryOrientationComesOutUpright(t *testing.T) {
	for i, side := range sides {
		file := held(corners(), side.row, side.column)
		for name, raw := range map[string][]byte{
			"JPEG, big":    withExif(asJPEG(t, file), exifBlock(binary.BigEndian, uint16(i+1))),
			"JPEG, little": withExif(asJPEG(t, file), exifBlock(binary.LittleEndian, uint16(i+1))),
			"PNG":          chunk(asPNG(t, file), "eXIf", exifBlock(binary.BigEndian, uint16(i+1))),
		} {
			p, img := take(t, raw)
			require.Equal(t, [2]int{64, 32}, [2]int{p.Width, p.Height}, "%s %d", name, i+1)
			near(t, red, img.At(8, 8), name)
			near(t, green, img.At(56, 8), name)
			near(t, blue, img.At(8, 24), name)
			near(t, white, img.At(56, 24), name)
			assert.NotContains(t, string(p.Bytes), "north", "where it was taken is gone")
			assert.NotContains(t, string(p.Bytes), "Exif")
		}
	}
}

func TestWebPIsTakenAndTurned(t *testing.T) {
	raw := webpOf(40, 20, true)
	p, img := take(t, raw)
	assert.Equal(t, [2]int{40, 20}, [2]int{p.Width, p.Height})
	near(t, color.RGBA{0, 200, 0, 255}, img.At(8, 8), "left")
	near(t, color.RGBA{0, 0, 0, 255}, img.At(32, 8), "right")

	// The same with its first row on the right: VP8X, the dots, EXIF.
	turned := riff(append([]byte("VP8X"), sized([]byte{0b1000, 0, 0, 0, 39, 0, 0, 19, 0, 0})...), raw[12:],
		append([]byte("EXIF"), sized(exifBlock(binary.LittleEndian, 6))...))
	p, img = take(t, turned)
	assert.Equal(t, [2]int{20, 40}, [2]int{p.Width, p.Height})
	near(t, color.RGBA{0, 200, 0, 255}, img.At(8, 8), "above")
	near(t, color.RGBA{0, 0, 0, 255}, img.At(8, 32), "below")
}

func TestALargePictureIsMadeSmaller(t *testing.T) {
	img := image.NewGray(image.Rect(0, 0, 4097, 300))
	for i := range img.Pix {
		img.Pix[i] = uint8(255 * (i % 2)) // fine stripes, whose mean is grey
	}
	p, small := take(t, asPNG(t, img))
	assert.Equal(t, Longest, p.Width)
	assert.Equal(t, 149, p.Height)
	near(t, color.RGBA{128, 128, 128, 255}, small.At(1000, 70), "the mean of what falls together")

	p, _ = take(t, asPNG(t, image.NewGray(image.Rect(0, 0, 3, 5000))))
	assert.Equal(t, [2]int{1, Longest}, [2]int{p.Width, p.Height}, "no side is lost")
	p, _ = take(t, asPNG(t, image.NewGray(image.Rect(0, 0, 2048, 2048))))
	assert.Equal(t, 2048, p.Width)
}

func TestWhatCanBeSeenThroughIsWhite(t *testing.T) {
	_, img := take(t, asPNG(t, image.NewNRGBA(image.Rect(0, 0, 16, 16))))
	near(t, color.RGBA{255, 255, 255, 255}, img.At(8, 8), "clear")
}

func TestThePictureOfAPictureIsTheSame(t *testing.T) {
	raw := withExif(asJPEG(t, corners()), exifBlock(binary.BigEndian, 3))
	first, _ := take(t, raw)
	again, _ := take(t, raw)
	assert.Equal(t, first.Name(), again.Name(), "sent twice, it is stored once")
	assert.Len(t, first.Name(), 64)
}

func TestWhatIsNoPictureIsNamed(t *testing.T) {
	for raw, word := range map[string]string{
		"":                                 "empty",
		"GIF89a.......":                    "GIF",
		"%PDF-1.7":                         "PDF",
		"\x00\x00\x00\x18ftypheic\x00\x00": "HEIC",
		"\x00\x00\x00\x18ftypavif\x00\x00": "AVIF",
		"\x00\x00\x00\x18ftypmp42\x00\x00": "film",
		"II*\x00abcdefgh":                  "TIFF",
		"<svg onload=alert(1)>":            "XML",
		"<!doctype html>":                  "no picture",
	} {
		_, err := Take(t.Context(), strings.NewReader(raw))
		require.Equal(t, registry.Invalid, registry.CodeOf(err), "%q: %v", raw, err)
		assert.Contains(t, err.Error(), word)
		assert.Contains(t, err.Error(), "JPEG, PNG or WebP")
	}
}

func TestATruncatedPictureIsRefused(t *testing.T) {
	for name, raw := range map[string][]byte{"JPEG": asJPEG(t, corners()), "PNG": asPNG(t, corners()),
		"WebP": webpOf(40, 20, true)} {
		for _, keep := range []int{14, len(raw) / 3, len(raw) / 2} {
			_, err := Take(t.Context(), bytes.NewReader(raw[:keep]))
			require.Equal(t, registry.Invalid, registry.CodeOf(err), "%s cut to %d of %d: %v", name, keep,
				len(raw), err)
			assert.Contains(t, err.Error(), name)
		}
	}
}

// A bomb is a small file whose head claims dots that would fill the memory.
func TestAPictureBombIsRefusedUnopened(t *testing.T) {
	small := asPNG(t, image.NewGray(image.Rect(0, 0, 1, 1)))
	head := append([]byte{}, small[16:29]...)
	binary.BigEndian.PutUint32(head, 60_000)
	binary.BigEndian.PutUint32(head[4:], 60_000)
	bomb := append([]byte{}, small[:8]...)
	ihdr := append([]byte("IHDR"), head...)
	bomb = append(binary.BigEndian.AppendUint32(bomb, 13), ihdr...)
	bomb = append(binary.BigEndian.AppendUint32(bomb, crc32.ChecksumIEEE(ihdr)), small[33:]...)

	huge := asJPEG(t, corners())
	for i := range huge {
		if huge[i] == 0xff && huge[i+1] == 0xc0 { // SOF0: precision, then height and width
			binary.BigEndian.PutUint16(huge[i+5:], 65_000)
			binary.BigEndian.PutUint16(huge[i+7:], 65_000)
			break
		}
	}
	for name, raw := range map[string][]byte{"PNG": bomb, "JPEG": huge,
		"WebP": webpOf(16_000, 16_000, false)} {
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		_, err := Take(t.Context(), bytes.NewReader(raw))
		runtime.ReadMemStats(&after)
		require.Equal(t, registry.Invalid, registry.CodeOf(err), "%s: %v", name, err)
		assert.Contains(t, err.Error(), "000 × ", name)
		assert.Less(t, after.TotalAlloc-before.TotalAlloc, uint64(1<<20), "%s was decoded", name)
	}
}

func TestAFileThatNeverEndsIsRefused(t *testing.T) {
	_, err := Take(t.Context(), endless{})
	require.Equal(t, registry.Invalid, registry.CodeOf(err))
	assert.Contains(t, err.Error(), "25 MB")
}

type endless struct{}

func (endless) Read(p []byte) (int, error) { return copy(p, "\xff\xd8\xff\xe0"), nil }

func TestOneIsDecodedAtATime(t *testing.T) {
	turn <- struct{}{}
	ctx, stop := context.WithTimeout(t.Context(), 20*time.Millisecond)
	defer stop()
	_, err := Take(ctx, bytes.NewReader(asJPEG(t, corners())))
	<-turn
	assert.ErrorIs(t, err, context.DeadlineExceeded, "it waits for its turn")
	take(t, asJPEG(t, corners()))
}

func TestTheStoreKeepsEachPictureOnce(t *testing.T) {
	s := In(t.TempDir())
	names, err := s.Names()
	require.NoError(t, err)
	assert.Empty(t, names, "a house without pictures has no folder")
	p, _ := take(t, asJPEG(t, corners()))
	for range 2 {
		name, err := s.Put(p)
		require.NoError(t, err)
		assert.Equal(t, p.Name(), name)
	}
	require.NoError(t, os.WriteFile(filepath.Join(s.Dir, "mine.jpg"), nil, 0o600))
	names, err = s.Names()
	require.NoError(t, err)
	assert.Equal(t, []string{p.Name()}, names)
	stored, err := s.Read(p.Name())
	require.NoError(t, err)
	assert.Equal(t, p.Bytes, stored)

	require.NoError(t, os.WriteFile(filepath.Join(s.Dir, FileName(p.Name())), p.Bytes[:40], 0o600))
	assert.Equal(t, registry.Conflict, registry.CodeOf(s.Check(p.Name())), "a damaged one is known")
	_, err = s.Put(p)
	require.NoError(t, err)
	assert.NoError(t, s.Check(p.Name()), "and mended by the same picture")

	require.NoError(t, s.Remove(p.Name()))
	require.NoError(t, s.Remove(p.Name()))
	assert.Equal(t, registry.NotFound, registry.CodeOf(s.Check(p.Name())))
	for _, name := range []string{"", "../pitman.db", strings.Repeat("a", 63) + "/",
		strings.Repeat("A", 64)} {
		_, err := s.Read(name)
		assert.Equal(t, registry.NotFound, registry.CodeOf(err), name)
		assert.Error(t, s.Remove(name))
	}
}

func TestOnlyAStoredPictureIsSound(t *testing.T) {
	own := asJPEG(t, corners())
	assert.NoError(t, CheckStored(nameOf(own), own))
	for what, stored := range map[string][]byte{
		"where it was taken": withExif(own, exifBlock(binary.BigEndian, 1)),
		"another kind":       asPNG(t, corners()),
		"nothing":            {},
		"too large":          asJPEG(t, image.NewGray(image.Rect(0, 0, 2049, 8))),
	} {
		assert.Error(t, CheckStored(nameOf(stored), stored), what)
	}
	assert.Error(t, CheckStored(nameOf(nil), own), "another name")
}

func FuzzTake(f *testing.F) {
	for _, raw := range [][]byte{
		withExif(asJPEG(f, corners()), exifBlock(binary.LittleEndian, 6)), asPNG(f, corners()),
		chunk(asPNG(f, corners()), "eXIf", exifBlock(binary.BigEndian, 8)), webpOf(40, 20, true),
		[]byte("GIF89a"), {},
	} {
		f.Add(raw)
	}
	f.Fuzz(func(t *testing.T, raw []byte) {
		p, err := Take(t.Context(), bytes.NewReader(raw))
		if err != nil {
			assert.Equal(t, registry.Invalid, registry.CodeOf(err), "%v", err)
			return
		}
		assert.NoError(t, CheckStored(p.Name(), p.Bytes))
		assert.LessOrEqual(t, max(p.Width, p.Height), Longest)
	})
}

// What is given out as a picture is one that Take could have written, whoever put the file there.
func FuzzReadStored(f *testing.F) {
	p, err := Take(f.Context(), bytes.NewReader(asPNG(f, corners())))
	require.NoError(f, err)
	for _, raw := range [][]byte{p.Bytes, p.Bytes[:40],
		withExif(asJPEG(f, corners()), exifBlock(binary.LittleEndian, 6)),
		// A decoder passes over what is no marker; a segment of 256 bytes would hide what lies in it.
		slices.Concat([]byte("\xff\xd8\xff\x00\x01\x00Exif\x00\x00 taken by QX"), make([]byte, 240), p.Bytes[2:]),
		[]byte("<script>"), {}} {
		f.Add(raw)
	}
	f.Fuzz(func(t *testing.T, raw []byte) {
		stored, err := ReadStored(bytes.NewReader(raw))
		if err != nil {
			assert.Equal(t, registry.Conflict, registry.CodeOf(err), "%v", err)
			return
		}
		assert.Equal(t, raw, stored)
		_, err = jpeg.DecodeConfig(bytes.NewReader(stored))
		assert.NoError(t, err)
		assert.NotContains(t, string(stored), "Exif\x00")
	})
}
