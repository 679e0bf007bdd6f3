package desk

import (
	"errors"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"runtime"
	"strings"

	"pitman/registry"
)

// maxListed is how large a list may be that is read here, while the screen waits.
const maxListed = 16 << 20

// pathTyped is the path that somebody typed or that a window gave, which puts quotation marks round it or
// makes an address of it.
func pathTyped(typed string) string {
	typed = strings.TrimSpace(typed)
	for _, mark := range []string{`"`, `'`} {
		if inner, is := strings.CutPrefix(typed, mark); is {
			typed = strings.TrimSuffix(inner, mark)
		}
	}
	if at, err := url.Parse(typed); err == nil && at.Scheme == "file" {
		return filepath.FromSlash(at.Path)
	}
	if rest, is := strings.CutPrefix(typed, "~/"); is {
		if home, err := os.UserHomeDir(); err == nil {
			return filepath.Join(home, rest)
		}
	}
	if runtime.GOOS != "windows" {
		return strings.ReplaceAll(typed, `\ `, " ")
	}
	return typed
}

func (s *listIn) fetch() error {
	info, err := os.Stat(s.path)
	var at *fs.PathError
	switch {
	case errors.As(err, &at):
		err = at.Err
	case err != nil:
	case !info.Mode().IsRegular():
		return registry.Errorf(registry.Invalid, "%s is no file: type the path of one that holds a list",
			s.path)
	case info.Size() > maxListed:
		return registry.Errorf(registry.Invalid, "%s has %d MB, too much for the desk: import it in a "+
			"terminal, by %s", s.path, info.Size()>>20, importCommand(s.path))
	default:
		s.text, err = os.ReadFile(s.path)
	}
	if err != nil {
		return registry.Errorf(registry.NotFound, "file %q cannot be opened (%v): type the path of one that "+
			"is there", s.path, err)
	}
	return nil
}

// importCommand is what does the same on the command line.
func importCommand(path string, more ...string) string {
	return strings.Join(append([]string{"pitman", "import", quotedPath(fromAnywhere(path))}, more...), " ")
}

// fromAnywhere is a path that counts from wherever the command is typed.
func fromAnywhere(path string) string {
	if abs, err := filepath.Abs(path); err == nil {
		return abs
	}
	return path
}

var unquoted = regexp.MustCompile(`^[A-Za-z0-9_./:\\+@-]+$`)

// quotedPath is a path as a command line takes it.
func quotedPath(path string) string {
	switch {
	case runtime.GOOS == "windows" && strings.ContainsAny(path, " &()^;,"):
		return `"` + path + `"`
	case runtime.GOOS == "windows" || unquoted.MatchString(path) && !strings.Contains(path, `\`):
		return path
	}
	return "'" + strings.ReplaceAll(path, "'", `'\''`) + "'"
}
