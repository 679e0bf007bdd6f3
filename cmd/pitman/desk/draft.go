package desk

import (
	"encoding/json"
	"os"
	"path/filepath"

	"github.com/gdamore/tcell/v2"

	"pitman/registry"
	"pitman/registry/stock"
	"pitman/registry/whole"
)

// drafts keeps what a person has half entered, one file for each of them, so that a crash, a pulled plug or
// Esc loses nothing. The file is replaced whole, so that it is always a readable one.
type drafts struct{ dir string }

// draftsFolder lies in the house folder.
const draftsFolder = "drafts"

func (f drafts) path(by registry.Initials) string {
	return filepath.Join(f.dir, draftsFolder, string(by)+".json")
}

// draft is a machine that is not logged yet.
type draft struct {
	Fields map[string][]string `json:"fields"` // what was typed, by the field's name
	At     string              `json:"at"`     // the field being typed
	Typing string              `json:"typing"` // and what stands in it so far
}

func (f drafts) write(by registry.Initials, dr draft) error {
	text, err := json.MarshalIndent(dr, "", "  ")
	if err != nil {
		return err
	}
	if err := os.MkdirAll(filepath.Join(f.dir, draftsFolder), 0o700); err != nil {
		return err
	}
	return whole.Write(f.path(by), text, 0o600)
}

// read finds a draft; one that cannot be read is left where it is and counts as none.
func (f drafts) read(by registry.Initials) (dr draft, ok bool) {
	text, err := os.ReadFile(f.path(by))
	if err != nil || json.Unmarshal(text, &dr) != nil {
		return draft{}, false
	}
	return dr, true
}

func (f drafts) remove(by registry.Initials) error {
	if err := os.Remove(f.path(by)); !os.IsNotExist(err) {
		return err
	}
	return nil
}

// machine is what the draft says so far.
func (dr draft) machine() stock.Machine {
	var m stock.Machine
	for _, field := range stock.MachineFields {
		if values, ok := dr.Fields[field.Name]; ok {
			// was accepted before; an edited file may hold anything, and is asked again
			_ = field.Set(&m, values)
		}
	}
	return m
}

// resume offers a draft when its person comes back.
type resume struct{ draft draft }

func (r *resume) typing() *editor { return nil }

func (r *resume) view(d *Desk, width int) page {
	p := page{title: "You had begun to log a machine", keys: "Enter go on with it   Esc later", cursor: -1}
	m := r.draft.machine()
	for _, field := range stock.MachineFields {
		for _, value := range field.Get(&m) {
			if value != "" {
				p.add(line{{"   " + pad(label(field.Name), labelWidth), plain},
					{clip(value, width-labelWidth-3), strong}})
			}
		}
	}
	if r.draft.Typing != "" {
		p.add(line{{"   " + pad(label(r.draft.At), labelWidth), plain},
			{clip(r.draft.Typing, width-labelWidth-3), strong}})
	}
	p.add(nil, line{{" Enter", strong}, {"   go on with it", plain}},
		line{{" x    ", strong}, {"   throw it away", plain}})
	return p
}

func (r *resume) key(d *Desk, k *tcell.EventKey) {
	switch {
	case k.Key() == tcell.KeyEnter:
		d.swap(resumeLog(d, r.draft))
	case letter(k) == 'x':
		if !d.refuse(d.drafts.remove(d.by)) {
			d.back()
			d.say("Thrown away. Nothing was logged.")
		}
	}
}
