package photo

import (
	"bytes"
	"encoding/binary"
)

// Of all that a camera writes beside the dots, one number is wanted: which way up it was held. It stands in
// an Exif block, which is a small TIFF file, and each kind of picture wraps it otherwise. What is not as the
// standards say counts as upright.

// orientation is 1 to 8 as Exif counts, and 1 where nothing is said.
func orientation(kind string, raw []byte) int {
	switch kind {
	case "JPEG":
		return inTIFF(exifOfJPEG(raw))
	case "PNG":
		return inTIFF(exifOfPNG(raw))
	case "WebP":
		return inTIFF(exifOfWebP(raw))
	}
	return 1
}

// segments walks the marker segments of a JPEG file up to its dots (ITU-T T.81, B.1.1), until fn has seen
// enough.
func segments(raw []byte, fn func(marker byte, content []byte) (enough bool)) {
	for at := 2; at+4 <= len(raw) && raw[at] == 0xff; {
		marker := raw[at+1]
		if marker == 0xff { // a fill byte
			at++
			continue
		}
		size := int(binary.BigEndian.Uint16(raw[at+2:]))
		if marker == 0xda || size < 2 || at+2+size > len(raw) { // the dots begin
			return
		}
		if fn(marker, raw[at+4:at+2+size]) {
			return
		}
		at += 2 + size
	}
}

func exifOfJPEG(raw []byte) (block []byte) {
	segments(raw, func(marker byte, content []byte) bool {
		found, ok := bytes.CutPrefix(content, []byte("Exif\x00\x00"))
		if marker == 0xe1 && ok {
			block = found
		}
		return block != nil
	})
	return block
}

// progressive says whether a JPEG file brings its dots in several passes, which takes far more memory to
// decode: SOF2, marker 0xC2.
func progressive(raw []byte) (yes bool) {
	segments(raw, func(marker byte, _ []byte) bool {
		yes = marker == 0xc2
		return yes
	})
	return yes
}

// exifOfPNG finds the eXIf chunk (PNG, third edition, 11.3.3.4 and 5.3).
func exifOfPNG(raw []byte) []byte {
	for at := 8; at+12 <= len(raw); {
		size := int(binary.BigEndian.Uint32(raw[at:]))
		if size > len(raw)-at-12 {
			return nil
		}
		if string(raw[at+4:at+8]) == "eXIf" {
			return raw[at+8 : at+8+size]
		}
		at += 12 + size
	}
	return nil
}

// exifOfWebP finds the EXIF chunk of the RIFF container (RFC 9649, 2.3 and 2.7). Some programs put JPEG's
// prefix before the block.
func exifOfWebP(raw []byte) []byte {
	for at := 12; at+8 <= len(raw); {
		size := int(binary.LittleEndian.Uint32(raw[at+4:]))
		if size > len(raw)-at-8 {
			return nil
		}
		if string(raw[at:at+4]) == "EXIF" {
			return bytes.TrimPrefix(raw[at+8:at+8+size], []byte("Exif\x00\x00"))
		}
		at += 8 + size + size%2
	}
	return nil
}

// inTIFF reads the tag 0x0112 from the first directory of a TIFF block (TIFF 6.0, section 2; Exif, CIPA
// DC-008, 4.6).
func inTIFF(block []byte) int {
	if len(block) < 8 {
		return 1
	}
	var order binary.ByteOrder
	switch string(block[:4]) {
	case "II*\x00":
		order = binary.LittleEndian
	case "MM\x00*":
		order = binary.BigEndian
	default:
		return 1
	}
	at := int64(order.Uint32(block[4:]))
	if at < 8 || at+2 > int64(len(block)) {
		return 1
	}
	entries := int64(order.Uint16(block[at:]))
	for i := range entries {
		entry := at + 2 + 12*i
		if entry+12 > int64(len(block)) {
			return 1
		}
		const tagOrientation, typeShort = 0x0112, 3
		if order.Uint16(block[entry:]) != tagOrientation {
			continue
		}
		held := int(order.Uint16(block[entry+8:]))
		if order.Uint16(block[entry+2:]) != typeShort || held < 1 || held > 8 {
			return 1
		}
		return held
	}
	return 1
}
