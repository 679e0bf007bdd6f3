package registry

// Fault is something in a house's registry that its rules rule out, found by a check of the whole file.
type Fault struct {
	Check   string     `json:"check"`   // which check found it
	Subject string     `json:"subject"` // the tag, or the table and row, that it concerns
	What    string     `json:"what"`    // what is wrong
	Mend    string     `json:"mend"`    // what to do about it, without saying by which command
	Next    []NextStep `json:"-"`       // how it is done
}
