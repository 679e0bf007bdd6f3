package registry

import "strings"

// Cautions are shown where a person meets the danger. They are constants, so that no edit of a house's tables
// can lose one. All are usual workshop practice; local codes and licensed people come first.

// Caution names one of them, as the job list does.
type Caution string

const (
	NoCaution      Caution = ""
	CautionRags    Caution = "oily-rags"
	CautionSolvent Caution = "solvent"
	CautionNeedle  Caution = "needle"
	CautionLifting Caution = "lifting"
	CautionMains   Caution = "mains"
	CautionMoving  Caution = "moving-parts"
	CautionDust    Caution = "old-finish"
	CautionDrying  Caution = "drying-oil"
	CautionFibre   Caution = "old-insulation"
)

var Cautions = map[Caution]string{
	CautionRags: "Oily rags heat up by themselves and can catch fire: lay them flat to dry outdoors, or " +
		"put them in a lidded metal can. Never in a heap or a plastic bag.",
	CautionSolvent: "Solvent and spirit: open a window, wear gloves and eye protection, no flame or spark " +
		"near, and keep it off old decals and shellac.",
	CautionNeedle: "Take the needle out before you clean, free or time a machine; put used needles in a " +
		"closed tin.",
	CautionLifting: "Cast iron: two people, or take the head off its base first. Lift close to the body, " +
		"never by the handwheel.",
	CautionMains: "Unplugged work: the plug is out and in your sight, and stays out. Wiring is for a " +
		"competent person.",
	CautionMoving: "Keep fingers, hair and sleeves clear of handwheel, belt and take-up lever when the " +
		"machine turns.",
	CautionDust: "Old paint, japan and grinding dust may hold lead: wipe wet, do not sand or blow it " +
		"dry, wash hands.",
	CautionDrying: "Linseed, tung and other oils that dry: rags, paper and wire wool with them on catch " +
		"fire by themselves within hours. Spread them flat outdoors until they are hard, or keep them " +
		"under water in a closed metal tin. Never in a heap, a pocket or a bin.",
	CautionFibre: "Old insulation, unplugged first: rubber and cloth that crumble leave bare wire, so " +
		"renew and do not bend them. Grey or white fibre in a lamp, foot control or motor may be asbestos: " +
		"do not cut, sand, brush or blow it; leave it as it is, and ask someone licensed for it.",
}

// Each are the cautions of a cell that names more than one, with a space between them.
func (c Caution) Each() (all []Caution) {
	for name := range strings.FieldsSeq(string(c)) {
		all = append(all, Caution(name))
	}
	return all
}

// Text is what is shown; empty for NoCaution, and where one of them is not known.
func (c Caution) Text() string {
	var said []string
	for _, one := range c.Each() {
		if Cautions[one] == "" {
			return ""
		}
		said = append(said, Cautions[one])
	}
	return strings.Join(said, " ")
}

// Sentences about mains electricity that stand on more than one screen.
const (
	// DoNotPlugIn stands on every screen of an electric machine without a standing pass, from the moment it
	// is logged.
	DoNotPlugIn = "do not plug in: not safety tested"

	// FailedSafety stands in its stead while a failed test holds the machine, and HeldUnsafe while what it did
	// under power does: such a machine was tested.
	FailedSafety = "do not plug in: failed its safety test"
	HeldUnsafe   = "do not plug in: held as unsafe"

	// SafetyCaution says who decides.
	SafetyCaution = "A competent person decides, and local electrical codes come first. This records that " +
		"person's result beside the published limits; it does not declare a machine safe."

	// ElectronicsWarning comes before an insulation test on a machine with circuit boards.
	ElectronicsWarning = "This machine has electronics: a 500 V test can destroy them. Follow its maker's " +
		"instructions; a competent person may choose another method."
)
