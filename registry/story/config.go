package story

import (
	"slices"

	"pitman/registry"
)

// StoryConfig is the [story] section: what a machine's story tells beyond its age, its pictures and what was
// done.
type StoryConfig struct {
	Tells    []string `toml:"tells"`    // of StoryTells; nothing of it unless named
	Unpaired string   `toml:"unpaired"` // what a phone sees that nobody paired: nothing or story
	Belongs  string   `toml:"belongs"`  // to whom a lost machine belongs, as such a phone is told it
}

// DefaultConfig tells nothing of people, and nothing to phones that nobody paired.
func DefaultConfig() StoryConfig { return StoryConfig{Tells: []string{}, Unpaired: "nothing"} }

// StoryTells are what a story leaves out until the house names it.
var StoryTells = []string{"donor", "notes", "people", "places", "partner"}

// Told says whether the house tells this.
func (c StoryConfig) Told(what string) bool { return slices.Contains(c.Tells, what) }

// ForAll says whether phones that nobody paired see stories.
func (c StoryConfig) ForAll() bool { return c.Unpaired == "story" }

// Validate refuses what no story could tell.
func (c StoryConfig) Validate() error {
	for _, what := range c.Tells {
		if _, err := registry.OneOf("tells in [story]", what, StoryTells); err != nil {
			return err
		}
	}
	if _, err := registry.OneOf("unpaired in [story]", c.Unpaired, []string{"nothing", "story"}); err != nil {
		return err
	}
	_, err := registry.CleanText("belongs in [story]", c.Belongs, registry.MaxText)
	return err
}
