package main

import (
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"time"

	"github.com/adrg/xdg"

	"pitman/registry"
	"pitman/registry/archive"
	"pitman/registry/house"
	"pitman/registry/stock"
	"pitman/registry/whole"
)

// setup asks what a new house decides for itself.
type setup struct {
	competent []string
	printer   string
}

// askHouse asks one question a line; Enter takes what is offered, and all of it can be changed later, but for
// the letters.
func (a *app) askHouse(first *stock.HouseConfig) (s setup, err error) {
	q := a.asker()
	fmt.Fprintf(q.out,
		"A new house in %s. Enter takes what stands in brackets; house.toml can change all of it later.\n",
		a.dir())
	ask := func(question, offered string, take func(string) error) error {
		return q.until(fmt.Sprintf("%s [%s]", question, offered), func(answer string) error {
			if answer == "" {
				answer = offered
			}
			return take(answer)
		})
	}
	if zone := localZone(); zone != "" {
		first.Zone = zone
	}
	err = ask("What is the workshop called?", first.Name,
		func(answer string) error { first.Name = answer; return nil })
	if err != nil {
		return s, err
	}
	err = ask("Which letters does every tag begin with, 1 to 4? Choose some that no other house has.",
		first.Letters, func(answer string) error {
			first.Letters = strings.ToUpper(answer)
			return registry.CheckLetters(first.Letters)
		})
	if err != nil {
		return s, err
	}
	err = ask("Which time zone?", first.Zone, func(answer string) error {
		if _, err := time.LoadLocation(answer); err != nil || answer == "" {
			return registry.Errorf(registry.Invalid,
				"zone %q is not known: type its IANA name, such as Europe/Lisbon", answer)
		}
		first.Zone = answer
		return nil
	})
	if err != nil {
		return s, err
	}
	fmt.Fprintln(q.out,
		"Electrical safety tests are recorded only by people whom you name, as your local codes ask.")
	err = ask("Their initials, with blanks between them?", "nobody yet", func(answer string) error {
		s.competent = nil
		if answer == "nobody yet" {
			return nil
		}
		for _, word := range strings.FieldsFunc(answer, func(r rune) bool { return r == ' ' || r == ',' }) {
			by, err := registry.ParseInitials(word)
			if err != nil {
				return err
			}
			s.competent = append(s.competent, string(by))
		}
		return nil
	})
	if err != nil {
		return s, err
	}
	err = ask("Which command prints a label, such as lp -d tags?", "none: keep it as a file",
		func(answer string) error {
			if s.printer = answer; strings.HasPrefix(answer, "none") {
				s.printer = ""
			}
			return nil
		})
	return s, err
}

// settle writes the answers down in a house that was just made.
func (s setup) settle(dir string) error {
	path := filepath.Join(dir, archive.ConfigFile)
	text, err := os.ReadFile(path)
	if err != nil {
		return err
	}
	if text, err = house.Settle(text, s.competent, s.printer); err != nil {
		return err
	}
	return whole.Write(path, text, 0o600)
}

// further offers what comes after a new house: an icon, and the desk.
func (a *app) further(dir string) (opens bool, err error) {
	q := a.asker()
	icons := iconsFor(dir)
	if len(icons) > 0 {
		fmt.Fprintf(q.out, "An icon can open this house by a click. It goes to %s\n",
			filepath.Dir(icons["d"].path))
		err := q.until("Make one? d the desk, p the page in a browser, b both, Enter none:",
			func(answer string) error {
				answer = strings.ToLower(answer)
				if !slices.Contains([]string{"", "n", "d", "p", "b"}, answer) {
					return registry.Errorf(registry.Invalid, "%q is none of these: type d, p or b", answer)
				}
				for which, icon := range icons {
					if which != answer && answer != "b" {
						continue
					}
					if err := icon.write(); err != nil {
						return err
					}
				}
				return nil
			})
		if err != nil {
			return false, err
		}
	}
	answer, err := q.line("Open the desk now? [Y/n]")
	return !strings.HasPrefix(strings.ToLower(answer), "n"), err
}

// icon is a file that opens the desk by a click.
type icon struct {
	path, text string
	mode       os.FileMode
}

func (i icon) write() error {
	if err := os.MkdirAll(filepath.Dir(i.path), 0o755); err != nil {
		return err
	}
	return whole.Write(i.path, []byte(i.text), i.mode)
}

// iconsFor says what opens the desk (d) and the page (p) where this program runs; nothing where there is no
// desktop.
func iconsFor(dir string) map[string]icon {
	program, err := os.Executable()
	if err != nil {
		return nil
	}
	if dir, err = filepath.Abs(dir); err != nil {
		return nil
	}
	make := linkIcon
	switch {
	case runtime.GOOS == "windows":
		make = batchIcon
	case runtime.GOOS == "linux" && (os.Getenv("DISPLAY") != "" || os.Getenv("WAYLAND_DISPLAY") != ""):
	default:
		return nil
	}
	return map[string]icon{
		"d": make("Sewing desk", "One screen for the sewing day", program, dir, "desk"),
		"p": make("Sewing page", "The pages of the workshop in a browser", program, dir, "serve --browse"),
	}
}

// batchIcon is one for Windows.
func batchIcon(name, _, program, dir, does string) icon {
	escape := strings.NewReplacer("%", "%%")
	return icon{filepath.Join(xdg.UserDirs.Desktop, name+".cmd"),
		fmt.Sprintf("@echo off\r\nchcp 65001 >nul\r\n\"%s\" --house \"%s\" %s\r\nif errorlevel 1 pause\r\n",
			escape.Replace(program), escape.Replace(dir), does), 0o644}
}

// linkIcon is one after the Desktop Entry Specification: what stands within quotation marks has a backslash
// before some characters.
func linkIcon(name, comment, program, dir, does string) icon {
	quote := strings.NewReplacer(`\`, `\\\\`, `"`, `\\"`, "`", "\\\\`", "$", `\\$`, "%", "%%")
	file := "pitman-" + strings.ToLower(name[strings.LastIndex(name, " ")+1:]) + ".desktop"
	return icon{filepath.Join(xdg.DataHome, "applications", file),
		fmt.Sprintf("[Desktop Entry]\nType=Application\nName=%s\nComment=%s\nTerminal=true\n"+
			"Exec=\"%s\" --house \"%s\" %s\n", name, comment, quote.Replace(program), quote.Replace(dir),
			does),
		0o755}
}

// localZone is the time zone of this computer by its IANA name, or nothing where it does not say.
func localZone() string {
	if zone := os.Getenv("TZ"); zone != "" {
		if _, err := time.LoadLocation(zone); err == nil {
			return zone
		}
	}
	if to, err := os.Readlink("/etc/localtime"); err == nil {
		if _, zone, ok := strings.Cut(to, "zoneinfo/"); ok {
			return zone
		}
	}
	return ""
}
