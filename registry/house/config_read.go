package house

import (
	"bytes"
	"errors"
	"io/fs"
	"reflect"
	"strings"

	"github.com/pelletier/go-toml/v2"

	"pitman/registry"
	"pitman/registry/archive"
)

func readConfig(path string) (Config, error) {
	text, err := archive.ReadSmall(path)
	if errors.Is(err, fs.ErrNotExist) {
		return Defaults(), nil
	}
	if err != nil {
		return Config{}, err
	}
	return ParseConfig(text)
}

// ParseConfig reads a house.toml. What it leaves out stays as in registry.Defaults.
func ParseConfig(text []byte) (Config, error) {
	config := Defaults()
	d := toml.NewDecoder(bytes.NewReader(text)).DisallowUnknownFields()
	if err := d.Decode(&config); err != nil {
		return config, explain(err)
	}
	if err := config.Validate(); err != nil {
		return config, registry.Errorf(registry.Invalid, "%s: %v", archive.ConfigFile, err)
	}
	return config, nil
}

// explain gives a fault in house.toml its line and says what to do.
func explain(err error) error {
	var unknown *toml.StrictMissingError
	if errors.As(err, &unknown) && len(unknown.Errors) > 0 {
		first := unknown.Errors[0]
		line, _ := first.Position()
		key := first.Key()
		if section := sectionOf(key[len(key)-1]); section != "" {
			return registry.Errorf(registry.Invalid,
				"%s:%d: %q belongs under [%s]: take the # from that heading, or move the line there",
				archive.ConfigFile, line, key[len(key)-1], section)
		}
		return registry.Errorf(registry.Invalid,
			"%s:%d: %q is no setting of pitman: correct its spelling, or put # before it",
			archive.ConfigFile, line, strings.Join(key, "."))
	}
	var wrong *toml.DecodeError
	if errors.As(err, &wrong) {
		line, _ := wrong.Position()
		if key, want := strings.Join(wrong.Key(), "."), wanted(wrong.Error()); want != "" && key != "" {
			return registry.Errorf(registry.Invalid, "%s:%d: %s takes %s: type that", archive.ConfigFile,
				line,
				key, want)
		}
		return registry.Errorf(registry.Invalid, "%s:%d: %s: correct that line", archive.ConfigFile, line,
			strings.TrimPrefix(wrong.Error(), "toml: "))
	}
	return registry.Errorf(registry.Invalid, "%s: %v: correct it", archive.ConfigFile, err)
}

// wanted says what a setting takes, for people, where the decoder names a type of the program; empty for any
// other fault.
func wanted(fault string) string {
	_, kind, _ := strings.Cut(fault, " of type ")
	switch {
	case !strings.Contains(fault, "cannot decode TOML"):
		return ""
	case kind == "bool":
		return "true or false"
	case kind == "string":
		return "a text in quotation marks"
	case strings.HasPrefix(kind, "int"), strings.HasPrefix(kind, "float"):
		return "a number"
	case strings.HasPrefix(kind, "[]"):
		return "a list in square brackets"
	}
	return ""
}

// sectionOf finds the section that has a setting of this name: whoever takes the # from a line easily forgets
// the heading above it.
func sectionOf(setting string) string {
	for _, section := range reflect.VisibleFields(reflect.TypeFor[Config]()) {
		if section.Type.Kind() != reflect.Struct {
			continue
		}
		for _, field := range reflect.VisibleFields(section.Type) {
			if field.Tag.Get("toml") == setting {
				return section.Tag.Get("toml")
			}
		}
	}
	return ""
}
