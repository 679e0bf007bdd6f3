package scheme

import "strings"

// Locate tells where a file sets what a fault of a scheme names, such as "drive.hand.colour": its line, or
// that of the table or band that it belongs to; 0 where the file leaves it to the default.
func Locate(text []byte, setting string) int {
	lines := settingLines(string(text))
	for at := setting; ; {
		if line, ok := lines["scheme."+at]; ok {
			return line
		}
		i := strings.LastIndexByte(at, '.')
		if i < 0 || strings.Count(at, ".") < 2 {
			return 0
		}
		at = at[:i]
	}
}

// settingLines maps each dotted key to its line. A band written in one line has all its values there.
func settingLines(text string) map[string]int {
	lines := make(map[string]int)
	table, n := "", 0
	for line := range strings.Lines(text) {
		n++
		line = strings.TrimSpace(line)
		switch {
		case strings.HasPrefix(line, "["):
			name, _, _ := strings.Cut(strings.TrimLeft(line, "["), "]")
			table = plainKey(name)
			lines[table] = n
		case line != "" && line[0] != '#':
			if key, _, ok := strings.Cut(line, "="); ok {
				lines[strings.TrimPrefix(table+"."+plainKey(key), ".")] = n
			}
		}
	}
	return lines
}

func plainKey(key string) string {
	return strings.NewReplacer(" ", "", "\t", "", `"`, "", "'", "").Replace(key)
}
