package reports

import (
	"slices"

	"pitman/registry"
)

// Roles are the people a task can be for.
var Roles = []string{"bench", "tester", "coordinator"}

// What people can be good at beside the skills that jobs ask for, by the names in house.toml.
const (
	SkillTest       = "test"
	SkillPack       = "pack"
	SkillCoordinate = "coordinate"
)

// Skills lists them.
var Skills = []string{registry.SkillWood, registry.SkillBench, SkillTest, registry.SkillElectrical, SkillPack,
	SkillCoordinate}

// ParseRole reads a role.
func ParseRole(s string) (string, error) { return registry.OneOf("for", s, Roles) }

// ForWhom reads for whom a worklist is: a role, or one person's initials.
func ForWhom(s string) (string, error) {
	role, err := ParseRole(s)
	if err == nil {
		return role, nil
	}
	if by, e := registry.ParseInitials(s); e == nil {
		return string(by), nil
	}
	return "", registry.Errorf(registry.Invalid,
		"for %q is not known: type bench, tester or coordinator, or a person's initials", s).On("for")
}

// isFor says whether a line is for a role, or for a person by initials; for nobody named, each line is.
func (w *Reports) isFor(t *Task, who string) bool {
	if who == "" || slices.Contains(Roles, who) {
		return who == "" || t.For == who
	}
	by := registry.Initials(who)
	if slices.Contains(t.notBy, by) {
		return false
	}
	if t.Skill == registry.SkillElectrical {
		return by.In(w.Stock.Config.Safety.Competent)
	}
	if skills, listed := w.Config.Skills[who]; listed {
		return slices.Contains(skills, t.Skill)
	}
	named := w.Stock.Config.House
	return t.Skill != SkillCoordinate || len(named.Coordinators) == 0 || named.Coordinator(by)
}
