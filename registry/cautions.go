package registry

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
}

// Text is the sentence shown; empty for NoCaution.
func (c Caution) Text() string { return Cautions[c] }

// Sentences about mains electricity that stand on more than one screen.
const (
	// DoNotPlugIn stands on every screen of an electric machine without a standing pass, from the moment it
	// is logged.
	DoNotPlugIn = "do not plug in: not safety tested"

	// SafetyCaution says who decides.
	SafetyCaution = "A competent person decides, and local electrical codes come first. This records that " +
		"person's result beside the published limits; it does not declare a machine safe."

	// ElectronicsWarning comes before an insulation test on a machine with circuit boards.
	ElectronicsWarning = "This machine has electronics: a 500 V test can destroy them. Follow its maker's " +
		"instructions; a competent person may choose another method."
)
