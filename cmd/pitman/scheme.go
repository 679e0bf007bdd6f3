package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/pelletier/go-toml/v2"
	"github.com/spf13/cobra"

	"pitman/labels"
	"pitman/labels/colour"
	"pitman/labels/scheme"
	"pitman/registry"
	"pitman/registry/archive"
	"pitman/registry/house"
	"pitman/registry/whole"
)

func (a *app) schemeCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "scheme",
		Short: "Choose the colours, patterns and words of labels, and check that people can tell them apart",
		Long: `A scheme gives every drive and stage a colour, a pattern and a word. It stands in
house.toml under [scheme]; what is left out there is the default's.

  pitman scheme show -o scheme.pdf         see it, in colour and as a black-and-white printer makes it
  pitman scheme suggest '#0a6e5c' > mine.toml
  pitman scheme check mine.toml            edit mine.toml and check it, as often as you like
  pitman scheme save mine.toml             put it into house.toml`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	cmd.AddCommand(a.schemeShowCommand(), a.schemeCheckCommand(), a.schemeSuggestCommand(),
		a.schemeSaveCommand())
	return cmd
}

// scheme is the house's own, or the one in a file.
func (a *app) scheme(file ...string) (*labels.Scheme, error) {
	if len(file) > 0 {
		text, err := archive.ReadSmall(file[0])
		if err != nil {
			return nil, registry.Errorf(registry.Invalid,
				"scheme file %s cannot be read (%v): name a file made by pitman scheme suggest", file[0],
				withoutPath(err))
		}
		return scheme.Parse(filepath.Base(file[0]), text)
	}
	h, err := house.Open(a.dir())
	if err != nil {
		return nil, err
	}
	return schemeOf(h.Config)
}

// faultLines say where each fault of a scheme stands: file, line and setting.
func (a *app) faultLines(r *scheme.Report, file ...string) (lines []string) {
	name, text := archive.ConfigFile, []byte(nil)
	if len(file) > 0 {
		name = filepath.Base(file[0])
		text, _ = archive.ReadSmall(file[0]) // it was read before; without it the setting alone tells
	} else {
		text, _ = archive.ReadSmall(filepath.Join(a.dir(), archive.ConfigFile))
	}
	for _, f := range r.Faults {
		where := name
		if line := scheme.Locate(text, f.Setting); line > 0 {
			where = fmt.Sprintf("%s:%d", name, line)
		}
		lines = append(lines, fmt.Sprintf("%s: scheme.%s: %s", where, f.Setting, f.Says))
	}
	return lines
}

// dots is the fineness of the printer that takes the scheme's usual stock; 0 where it is not known.
func (a *app) dots(s *labels.Scheme) int {
	table, err := stockTable(a.dir())
	if err != nil {
		return 0 // labels say what is wrong with it
	}
	for _, name := range []string{s.Stock, s.SlipStock} {
		if stock, err := labels.FindStock(table, name); err == nil && stock.DPI > 0 {
			return stock.DPI
		}
	}
	return 0
}

// schemeOrDefault is the house's own, or the default where there is no house yet.
func (a *app) schemeOrDefault() (*labels.Scheme, error) {
	s, err := a.scheme()
	if registry.CodeOf(err) == registry.NotFound {
		return labels.Default(), nil
	}
	return s, err
}

func schemeOf(config house.Config) (*labels.Scheme, error) {
	text, err := toml.Marshal(map[string]any{"scheme": config.Scheme})
	if err != nil {
		return nil, err
	}
	return scheme.Parse(archive.ConfigFile, text)
}

func (a *app) schemeShowCommand() *cobra.Command {
	var out outFile
	cmd := &cobra.Command{
		Use:   "show [FILE]",
		Short: "List the scheme's bands, or draw a sample sheet with -o",
		Args:  cobra.MaximumNArgs(1),
		RunE: func(_ *cobra.Command, args []string) error {
			s, err := a.scheme(args...)
			if err != nil {
				return err
			}
			if out.name != "" {
				if err := out.check(); err != nil {
					return err
				}
				if err := out.pages(a, "Colour scheme", labels.SampleSheet(s)); err != nil {
					return err
				}
				return a.print(printed{File: out.name, Sheets: 1, Tags: []string{}}, func(w io.Writer) {
					fmt.Fprintf(w,
						"Sample sheet in %s: print it, and look at it in poor light and from across the "+
							"room.\n", out.name)
				})
			}
			return a.print(s, func(w io.Writer) {
				columns(w, func(w io.Writer) {
					fmt.Fprintln(w, "band\tword\tcolour\tink\tpattern")
					for _, g := range []struct {
						keys  []string
						bands map[string]labels.Band
					}{{labels.Drives, s.Drive}, {labels.Stages, s.Stage}} {
						for _, key := range g.keys {
							b := g.bands[key]
							fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\n", key, b.Word, b.Colour, b.Ink, b.Pattern)
						}
					}
				})
			})
		},
	}
	out.flags(cmd)
	return cmd
}

func (a *app) schemeCheckCommand() *cobra.Command {
	return &cobra.Command{
		Use: "check [FILE]",
		Short: "Compute whether words can be read and bands told apart, by every eye, in grey, in black " +
			"and white",
		Args: cobra.MaximumNArgs(1),
		RunE: func(_ *cobra.Command, args []string) error {
			s, err := a.scheme(args...)
			if err != nil {
				return err
			}
			report := scheme.Check(s, a.dots(s))
			err = a.print(report, func(w io.Writer) {
				for _, fault := range a.faultLines(report, args...) {
					fmt.Fprintln(w, fault)
				}
				if report.Pass {
					fmt.Fprintf(w, "The scheme passes: %s and %s of bands, each seen in six ways.\n",
						plural(len(report.Text), "contrast"), plural(len(report.Pairs)/6, "pair"))
				} else {
					fmt.Fprintf(w, "%s. pitman scheme suggest proposes a scheme that passes.\n",
						plural(len(report.Faults), "fault"))
				}
			})
			if err == nil && !report.Pass {
				err = errQuiet
			}
			return err
		},
	}
}

func (a *app) schemeSuggestCommand() *cobra.Command {
	return &cobra.Command{
		Use:     "suggest [COLOUR]",
		Short:   "Propose a scheme from the house's own colour; it passes every check",
		Example: "  pitman scheme suggest '#0a6e5c' > mine.toml",
		Args:    cobra.MaximumNArgs(1),
		RunE: func(_ *cobra.Command, args []string) error {
			own, err := a.schemeOrDefault()
			if err != nil {
				return err
			}
			base := own.Drive[labels.Drives[0]].Colour
			if len(args) > 0 {
				if base, err = colour.Parse(args[0]); err != nil {
					return err
				}
			}
			s, err := scheme.Suggest(own, base)
			if err != nil {
				return registry.Errorf(registry.Conflict, "%v", err)
			}
			if made := s.Drive[labels.Drives[0]].Colour; made != base {
				fmt.Fprintf(a.err, "No ink makes %s: %s is what it looks like on paper.\n", base, made)
			}
			return a.print(s, func(w io.Writer) { w.Write(scheme.TOML(s)) })
		},
	}
}

func (a *app) schemeSaveCommand() *cobra.Command {
	var evenSo bool
	cmd := &cobra.Command{
		Use:   "save FILE",
		Short: "Put a scheme into house.toml, if it passes its check",
		Args:  cobra.ExactArgs(1),
		RunE: func(_ *cobra.Command, args []string) error {
			s, err := a.scheme(args[0])
			if err != nil {
				return err
			}
			report := scheme.Check(s, a.dots(s))
			if !report.Pass && !evenSo {
				return registry.Errorf(registry.Conflict,
					"%s fails its check, nothing was saved: %s. Mend it, or save it with --even-so", args[0],
					strings.Join(a.faultLines(report, args[0]), "; "))
			}
			h, err := house.Open(a.dir())
			if err != nil {
				return err
			}
			path := filepath.Join(h.Dir, archive.ConfigFile)
			was, err := os.ReadFile(path)
			if err != nil && !errors.Is(err, os.ErrNotExist) {
				return err
			}
			now := scheme.Replace(s, was)
			if _, err := house.ParseConfig(now); err != nil {
				return fmt.Errorf("%s was left as it is: %w", archive.ConfigFile, err)
			}
			if err := whole.Write(path, now, 0o600); err != nil {
				return err
			}
			result := struct {
				House string `json:"house"`
				Pass  bool   `json:"pass"`
			}{h.Dir, report.Pass}
			return a.print(result, func(w io.Writer) {
				fmt.Fprintf(w,
					"Saved in %s. Labels printed so far stay true, in their old look: pitman label TAG -o "+
						"FILE.pdf prints one anew.\n", path)
			})
		},
	}
	cmd.Flags().BoolVar(&evenSo, "even-so", false, "save a scheme although it fails its check")
	return cmd
}
