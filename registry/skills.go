package registry

// The skills that jobs ask for.
const (
	SkillWood       = "wood"
	SkillBench      = "bench"
	SkillElectrical = "electrical" // for a competent person, whatever the list of skills says
)

// EndsPass says whether a job of this skill ends the safety pass of what takes the mains: wood is worked at
// the base, and all else at the head.
func EndsPass(skill string) bool { return skill != SkillWood }
