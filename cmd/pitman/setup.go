package main

import (
	"fmt"
	"os"
	"path/filepath"
	"runtime"
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
	if icon := iconFor(dir); icon.path != "" {
		make, err := q.yes("Make an icon that opens the desk of this house? It goes to " + icon.path)
		if err != nil {
			return false, err
		}
		if make {
			if err := icon.write(); err != nil {
				return false, err
			}
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

// iconFor says what opens the desk where this program runs; nothing where there is no desktop.
func iconFor(dir string) icon {
	program, err := os.Executable()
	if err != nil {
		return icon{}
	}
	if dir, err = filepath.Abs(dir); err != nil {
		return icon{}
	}
	switch {
	case runtime.GOOS == "windows":
		return icon{filepath.Join(xdg.UserDirs.Desktop, "Sewing desk.cmd"),
			fmt.Sprintf("@echo off\r\n\"%s\" --house \"%s\" desk\r\nif errorlevel 1 pause\r\n", program, dir),
			0o644}
	case runtime.GOOS == "linux" && (os.Getenv("DISPLAY") != "" || os.Getenv("WAYLAND_DISPLAY") != ""):
		// The Desktop Entry Specification: what stands within quotation marks has a backslash before some
		// characters.
		quote := strings.NewReplacer(`\`, `\\\\`, `"`, `\\"`, "`", "\\\\`", "$", `\\$`, "%", "%%")
		return icon{filepath.Join(xdg.DataHome, "applications", "pitman-desk.desktop"),
			fmt.Sprintf("[Desktop Entry]\nType=Application\nName=Sewing desk\nComment=One screen for the "+
				"sewing day\nTerminal=true\nExec=\"%s\" --house \"%s\" desk\n",
				quote.Replace(program), quote.Replace(dir)), 0o755}
	}
	return icon{}
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
