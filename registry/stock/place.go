package stock

import "pitman/registry"

// CheckPlace refuses as a place what is the tag of a machine or base of this house: it was scanned into the
// wrong field. Any other word may be the name of a shelf, also one that a tag could be made of.
func CheckPlace(r Reader, place string) error {
	tag, err := registry.ParseTag(place)
	if err != nil {
		return nil
	}
	m, _, err := HeadOrBase(r, tag)
	if registry.CodeOf(err) == registry.NotFound {
		return nil
	}
	if err != nil {
		return err
	}
	what := "base"
	if m != nil {
		what = "machine"
	}
	return registry.Errorf(registry.Invalid,
		"place %q is the tag of a %s: type the name of a place, such as \"bay 2\"", place, what).On("place")
}
