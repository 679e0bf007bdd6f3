package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"pitman/cmd/pitman/meanwhile"
	"pitman/registry"
	"pitman/registry/archive"
	"pitman/registry/house"
	"pitman/registry/sqlite"
)

func (a *app) backupCommand() *cobra.Command {
	var identity string
	cmd := &cobra.Command{
		Use:   "backup [FILE]",
		Short: "Copy the whole house into one file, while others go on working",
		Long: `Writes the registry, house.toml, tables and lists as they stand at one moment into
one file, unpacks it again and checks it. Only then does the file appear under its name. It is an
ordinary .tar.gz file, readable by you alone.

Without FILE it goes into the house's backups folder; there, [backup] keep in house.toml says how many stay.
A backup on the same disk does not outlive the disk: give a FILE on another one, too.

Once a month an earlier backup is restored for trial. One that is encrypted needs its key for that:
bring it on a stick, and give it with --identity.`,
		Example: `  pitman backup
  pitman backup /media/usb/lantern-row-2031-05-04.tar.gz`,
		Args: cobra.MaximumNArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			file := ""
			if len(args) == 1 {
				file = args[0]
				if file == "" {
					return registry.Errorf(registry.Invalid,
						"the name of the backup file is empty: type one, or leave it out for a dated one")
				}
			}
			keys, err := archive.ReadKeys(identity)
			if err != nil {
				return err
			}
			return a.with(func(d *workplace) error {
				d.house.TrialKeys = keys
				done := meanwhile.NewProgress(a.stderr, "copying and checking the house, seconds", 0).Clock()
				b, err := d.house.Backup(cmd.Context(), d.db, file)
				done()
				if err != nil {
					return err
				}
				err = a.print(b, func(w io.Writer) {
					fmt.Fprintf(w, "%s  %s, %s, unpacked again and checked\n", b.File,
						plural(int(b.Machines), "machine"), fileSize(b.Bytes))
					for _, name := range b.Removed {
						fmt.Fprintf(w, "removed %s, since [backup] keep is %d\n", name, d.Config.Backup.Keep)
					}
					if b.Also != "" {
						fmt.Fprintf(w, "and in %s, read there again\n", b.Also)
					}
					if t := b.Trial; t != nil && t.Untried {
						fmt.Fprintf(w,
							"Trial of the month: %s is encrypted and no key is here, so nobody knows whether "+
								"it can be restored: try it with pitman backup --identity KEYFILE\n", t.File)
					} else if t != nil {
						fmt.Fprintf(w, "Trial of the month: %s can be restored, %s, %s\n", t.File,
							plural(int(t.Machines), "machine"), plural(t.Faults, "fault"))
					}
				})
				if err == nil {
					err = errors.Join(b.Undone...)
				}
				if err == nil && len(b.Faults) > 0 {
					err = registry.Errorf(registry.Conflict,
						"the backup is whole, but the house that it copies has %s: run pitman verify",
						plural(len(b.Faults), "fault"))
				}
				return err
			})
		},
	}
	cmd.Flags().StringVar(&identity, "identity", "", "the `FILE` with a key, to try an encrypted backup with")
	return cmd
}

func (a *app) restoreCommand() *cobra.Command {
	var last, identity string
	cmd := &cobra.Command{
		Use:   "restore FILE --house NEW",
		Short: "Make a house out of a backup, in a folder that is not there yet",
		Long: `Unpacks a backup into a new house, checks it, and never writes over one that is there.

Tags given after the backup was made are tied to machines, but the backup does not know their
numbers. Say the highest tag on the shelves with --last, and none is given twice; on a terminal it
is asked for. Otherwise the new house goes on at a fresh thousand, which is above them all unless
more than a thousand were given since.`,
		Example: `  pitman restore /media/usb/lantern-row-2031-05-04.tar.gz --house ./lantern-row
  pitman restore backup.tar.gz --house ./lantern-row --last LR4711Y`,
		Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			tag, err := a.lastTag(last)
			if err != nil {
				return err
			}
			dir := a.dir()
			keys, err := archive.ReadKeys(identity)
			if err != nil {
				return err
			}
			r, err := house.Restore(cmd.Context(), args[0], dir, tag, keys...)
			if err != nil {
				return err
			}
			err = a.print(r, func(w io.Writer) {
				fmt.Fprintf(w, "%s  %s, as of %s UTC\n", dir, plural(int(r.Machines), "machine"),
					r.At.UTC().Format("2006-01-02 15:04"))
				saysNextNumber(w, r.NextNumber, tag)
				fmt.Fprintf(w,
					"Log again what came in since then, or was done; forget again whoever was forgotten "+
						"since.\n")
			})
			if err == nil && len(r.Faults) > 0 {
				err = registry.Errorf(registry.Conflict,
					"the house was restored, but has %s: run pitman --house %s verify",
					plural(len(r.Faults), "fault"), dir)
			}
			return err
		},
	}
	cmd.Flags().StringVar(&identity, "identity", "", "the `FILE` with the key of an encrypted backup")
	lastFlag(cmd, &last)
	return cmd
}

func lastFlag(cmd *cobra.Command, last *string) {
	cmd.Flags().StringVar(last, "last", "", "the highest `TAG` on the shelves, blank ones included")
}

// lastTag is the highest tag that was given, as far as anybody says: a backup cannot know it.
func (a *app) lastTag(typed string) (tag registry.Tag, err error) {
	take := func(answer string) (err error) {
		if tag = ""; answer != "" {
			tag, err = registry.ParseTag(answer)
		}
		return err
	}
	if typed == "" && a.onTerminal() && !a.json {
		return tag, a.asker().until("Highest tag on the shelves, blank ones included? (Enter if nobody can "+
			"look)",
			take)
	}
	return tag, take(typed)
}

// saysNextNumber tells where the numbers of tags go on, and what that rests on.
func saysNextNumber(w io.Writer, next int64, last registry.Tag) {
	fmt.Fprintf(w, "The next tag's number is %d.\n", next)
	if last == "" {
		fmt.Fprintf(w,
			"Tags given since then are not in the backup. Look at the shelves before you log: where a "+
				"tag has the number %d or more, throw this copy away and do it again with --last and the "+
				"highest tag "+
				"there, else a tag stands on two machines.\n", next)
	}
}

func (a *app) verifyCommand() *cobra.Command {
	var quick bool
	cmd := &cobra.Command{
		Use:   "verify",
		Short: "Check the whole registry, and name the way to mend each fault",
		Long: `Checks the file itself, the links between its rows, that the history replays to what
stands there now, every tag's check character, and the rules that nothing may break. Exit status 1
if there is any fault.

With --quick it looks only at what a start of desk or serve asks each time: the schema, the counters,
the end of the chain, house.toml, tables and lists.`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			var wrong []registry.Fault
			var unsure string
			open := func(h *house.House) (db *sqlite.DB, err error) {
				if db, wrong, err = h.ToVerify(); err == nil {
					unsure = h.Unsure(cmd.Context(), db)
				}
				return db, err
			}
			return a.withHouse(open, func(d *workplace) error {
				look := d.house.Verify
				if quick {
					look = d.house.VerifyQuick
				}
				faults, err := look(cmd.Context(), d.db)
				if err != nil {
					return err
				}
				faults = append(wrong, faults...)
				for _, f := range d.house.ListFaults() {
					said := func(g registry.Fault) bool { return strings.HasSuffix(g.What, f.What) }
					if !slices.ContainsFunc(faults, said) {
						faults = append(faults, f)
					}
				}
				unread, err := d.house.TableFaults()
				if err != nil {
					return err
				}
				faults = append(faults, unread...)
				known, err := d.db.Summary(cmd.Context())
				if err != nil {
					return err
				}
				for i, f := range faults {
					faults[i].Mend = withCommands(f.Mend, f.Next)
				}
				result := struct {
					OK       bool             `json:"ok"`
					Machines int64            `json:"machines"`
					Actions  int64            `json:"actions"`
					Faults   []registry.Fault `json:"faults"`
					Notes    []string         `json:"notes"`
				}{len(faults) == 0, known.Machines, known.Actions, append([]registry.Fault{}, faults...),
					append([]string{}, d.Config.Waived()...)}
				if unsure != "" {
					result.Notes = append(result.Notes, unsure)
				}
				err = a.print(result, func(w io.Writer) {
					for _, f := range faults {
						fmt.Fprintf(w, "%s: %s\n    To mend it: %s.\n", f.Subject, f.What, f.Mend)
					}
					for _, note := range result.Notes {
						fmt.Fprintf(w, "Note: %s.\n", note)
					}
					if len(faults) == 0 && quick {
						fmt.Fprintln(w, "No fault at a quick look.")
					} else if len(faults) == 0 {
						fmt.Fprintf(w, "No fault: %s and %s checked.\n",
							plural(int(known.Machines), "machine"), plural(int(known.Actions), "action"))
					}
				})
				if err == nil && len(faults) > 0 {
					err = errQuiet
				}
				return err
			})
		},
	}
	cmd.Flags().BoolVar(&quick, "quick", false, "look only at what each start of desk and serve asks")
	return cmd
}

// soundToStart refuses to begin a day of work on a registry in which a quick look finds a fault.
func soundToStart(ctx context.Context, d *workplace) error {
	faults, err := d.house.VerifyQuick(ctx, d.db)
	if err != nil || len(faults) == 0 {
		return err
	}
	return registry.Errorf(registry.Conflict, "%s: %s; nothing is begun on it", faults[0].Subject,
		faults[0].What).
		Then(append([]registry.NextStep{registry.Next(registry.DoVerify, "")}, faults[0].Next...)...)
}

// fileSize is a number of bytes for people.
func fileSize(bytes int64) string {
	if bytes < 1<<20 {
		return fmt.Sprintf("%d KiB", (bytes+1<<10-1)>>10)
	}
	return fmt.Sprintf("%.1f MiB", float64(bytes)/(1<<20))
}
