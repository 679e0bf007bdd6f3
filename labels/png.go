package labels

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"image/png"
	"io"
	"math"
	"sync"
)

// pngs are quick rather than small: a batch of a thousand labels is waited for.
var pngs = png.Encoder{CompressionLevel: png.BestSpeed, BufferPool: &pngBuffers{}}

type pngBuffers struct{ pool sync.Pool }

func (p *pngBuffers) Get() *png.EncoderBuffer {
	b, _ := p.pool.Get().(*png.EncoderBuffer)
	return b
}

func (p *pngBuffers) Put(b *png.EncoderBuffer) { p.pool.Put(b) }

// WritePNG writes the drawing on white at the device's dots per inch, and says so in the file, so that it
// prints at its size. In black and white the picture has one bit for each dot.
func (d *Drawing) WritePNG(w io.Writer, on Device) error {
	img, err := d.image(on)
	if err != nil {
		return err
	}
	var buf bytes.Buffer
	if err := pngs.Encode(&buf, img); err != nil {
		return fmt.Errorf("writing the PNG: %w", err)
	}
	// image/png writes no pHYs chunk (PNG specification, 11.3.5.3: pixels per metre); it goes right after the
	// header's 8 bytes of signature and 25 of IHDR.
	const header = 33
	perMetre := uint32(math.Round(float64(on.DPI) / 0.0254))
	chunk := append([]byte("pHYs"), 0, 0, 0, 0, 0, 0, 0, 0, 1)
	binary.BigEndian.PutUint32(chunk[4:], perMetre)
	binary.BigEndian.PutUint32(chunk[8:], perMetre)
	out := append([]byte(nil), buf.Bytes()[:header]...)
	out = binary.BigEndian.AppendUint32(out, uint32(len(chunk)-4))
	out = append(out, chunk...)
	out = binary.BigEndian.AppendUint32(out, crc32.ChecksumIEEE(chunk))
	out = append(out, buf.Bytes()[header:]...)
	if _, err := w.Write(out); err != nil {
		return fmt.Errorf("writing the PNG: %w", err)
	}
	return nil
}
