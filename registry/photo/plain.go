package photo

import (
	"bytes"
	"encoding/binary"
)

// onlyDots says whether a JPEG file has what its dots need and nothing beside, as Take writes it: tables, one
// frame, one scan, the end (ITU-T T.81, B.1.1 and B.2). What a camera or a program adds stands in segments of
// its own; what is no marker, too long a table, or behind the end, a decoder passes over with whatever is
// hidden there.
func onlyDots(raw []byte) bool {
	at := 2
	for at+4 <= len(raw) && raw[at] == 0xff {
		size := int(binary.BigEndian.Uint16(raw[at+2:]))
		if size < 2 || at+2+size > len(raw) {
			return false
		}
		marker, content := raw[at+1], raw[at+4:at+2+size]
		at += 2 + size
		switch marker {
		case 0xdb:
			if !tables(content, func([]byte) int { return 1 + 64 }) {
				return false
			}
		case 0xc4:
			if !tables(content, func(rest []byte) int {
				n := 1 + 16
				for _, symbols := range rest[1:min(n, len(rest))] {
					n += int(symbols)
				}
				return n
			}) {
				return false
			}
		case 0xc0: // height, width, and three bytes for each of the colours
			if len(content) < 6 || len(content) != 6+3*int(content[5]) || content[5] > 4 {
				return false
			}
		case 0xda: // two bytes for each of the colours
			return len(content) > 0 && len(content) == 4+2*int(content[0]) && content[0] <= 4 &&
				endsWithScan(raw[at:])
		default:
			return false
		}
	}
	return false
}

// tables says whether a segment is a row of tables, each with its class and number in front.
func tables(content []byte, size func(rest []byte) int) bool {
	for len(content) > 0 {
		n := size(content)
		if class, number := content[0]>>4, content[0]&15; class > 1 || number > 3 || n > len(content) {
			return false
		}
		content = content[n:]
	}
	return true
}

// endsWithScan says whether the first marker in a scan, but those that stand in it, is the end of the file.
func endsWithScan(scan []byte) bool {
	for {
		at := bytes.IndexByte(scan, 0xff)
		if at < 0 || at+1 >= len(scan) {
			return false
		}
		marker := scan[at+1]
		scan = scan[at+2:]
		switch {
		case marker == 0xd9:
			return len(scan) == 0
		case marker != 0 && (marker < 0xd0 || marker > 0xd7):
			return false
		}
	}
}
