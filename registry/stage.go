package registry

// Stage is where a unit stands on its way from the door to a training centre.
type Stage string

const (
	Logged   Stage = "logged"   // taken in, tagged, dated
	Queued   Stage = "queued"   // to be refurbished, waiting for a bench
	Bench    Stage = "bench"    // being cleaned, mended and oiled
	Check    Stage = "check"    // waiting for its function test, and for its electrical safety test
	Ready    Stage = "ready"    // tested, in stock
	Reserved Stage = "reserved" // promised to an order
	Packed   Stage = "packed"   // in its crate
	Shipped  Stage = "shipped"  // gone to the partner
	Parts    Stage = "parts"    // being stripped for spares
	Sold     Stage = "sold"
	Scrapped Stage = "scrapped"
	Held     Stage = "held" // stopped for a reason, and goes back to where it was
)

// Stages lists every stage, in the order of the work; the ways out and held come last.
var Stages = []Stage{Logged, Queued, Bench, Check, Ready, Reserved, Packed, Shipped, Parts, Sold, Scrapped,
	Held}

// ParseStage reads a stage's name.
func ParseStage(s string) (Stage, error) { return OneOf("stage", s, Stages) }

// Meaning says a stage in plain words to whoever works here.
func (s Stage) Meaning() string { return meaning[s] }

var meaning = map[Stage]string{
	Logged:   "came in, nobody decided yet",
	Queued:   "waits for a bench",
	Bench:    "being worked on",
	Check:    "waits for its tests",
	Ready:    "tested, in stock",
	Reserved: "promised to an order",
	Packed:   "in its crate",
	Shipped:  "on its way or there",
	Parts:    "gives its parts",
	Sold:     "sold",
	Scrapped: "scrapped",
	Held:     "stopped for a reason",
}

// Drive says what turns the machine. Hand and treadle machines are manual, without a motor.
type Drive string

const (
	Hand     Drive = "hand"
	Treadle  Drive = "treadle"
	Electric Drive = "electric"
)

// Drives lists every drive.
var Drives = []Drive{Hand, Treadle, Electric}

// ParseDrive reads a drive's name.
func ParseDrive(s string) (Drive, error) { return OneOf("drive", s, Drives) }

// Stitch is what the machine sews.
type Stitch string

// Stitches lists the stitch types; most domestic machines sew a lockstitch, which is taken unless said.
var Stitches = []Stitch{"lockstitch", "chainstitch", "zigzag", "overlock"}

// ParseStitch reads a stitch type.
func ParseStitch(s string) (Stitch, error) { return OneOf("stitch", s, Stitches) }
