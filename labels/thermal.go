package labels

import (
	"bufio"
	"fmt"
	"io"
)

// Label printers take pictures in languages of their own. Two are documented openly and understood by most of
// them: ESC/POS, whose "GS v 0" prints a raster, and ZPL II, whose "^GFA" field does. Both want one bit for
// each dot, most significant first, set for black, and rows of whole bytes.

// bits are a picture's rows, eight dots to a byte.
func (d *Drawing) bits(on Device) (rows [][]byte, wide int, err error) {
	on.Mono = true
	img, err := d.image(on)
	if err != nil {
		return nil, 0, err
	}
	wide = img.Rect.Dx()
	rows = make([][]byte, img.Rect.Dy())
	for y := range rows {
		rows[y] = make([]byte, (wide+7)/8)
		for x, dot := range img.Pix[y*img.Stride : y*img.Stride+wide] {
			rows[y][x/8] |= dot << (7 - x%8)
		}
	}
	return rows, wide, nil
}

// stripe is how many rows of a raster are sent at once: printers of little memory take no more.
const stripe = 256

// WriteESCPOS writes each label as an ESC/POS raster, and a form feed behind it, which takes a label printer
// to the next one.
func WriteESCPOS(w io.Writer, on Device, each ...*Drawing) error {
	out := bufio.NewWriter(w)
	out.WriteString("\x1b@") // ESC @: as after switching on
	for _, d := range each {
		rows, wide, err := d.bits(on)
		if err != nil {
			return err
		}
		across := (wide + 7) / 8
		for start := 0; start < len(rows); start += stripe {
			part := rows[start:min(start+stripe, len(rows))]
			// GS v 0, normal size, bytes across and rows down, each as two bytes, the low one first.
			out.Write([]byte{0x1d, 'v', '0', 0, byte(across), byte(across >> 8), byte(len(part)),
				byte(len(part) >> 8)})
			for _, row := range part {
				out.Write(row)
			}
		}
		out.WriteByte(0x0c)
	}
	if err := out.Flush(); err != nil {
		return fmt.Errorf("writing for the label printer: %w", err)
	}
	return nil
}

// WriteZPL writes each label as a format of ZPL II: its width and length in dots, and one picture of all of
// it.
func WriteZPL(w io.Writer, on Device, each ...*Drawing) error {
	out := bufio.NewWriter(w)
	for _, d := range each {
		rows, wide, err := d.bits(on)
		if err != nil {
			return err
		}
		across := (wide + 7) / 8
		fmt.Fprintf(out, "^XA^PW%d^LL%d^LH0,0^FO0,0^GFA,%d,%d,%d,", wide, len(rows), across*len(rows),
			across*len(rows), across)
		for _, row := range rows {
			fmt.Fprintf(out, "%X", row)
		}
		out.WriteString("^FS^XZ\n")
	}
	if err := out.Flush(); err != nil {
		return fmt.Errorf("writing for the label printer: %w", err)
	}
	return nil
}
