package page

import (
	"errors"

	"pitman/registry/pin"
	"pitman/registry/stock"
)

// signed does what a form is for. Where it is to be signed, the form comes back with a field for the PIN, and
// what comes with that is done with the signature.
func (s *Server) signed(v *visit, f *form, a answers) (done, error) {
	result, err := f.do(v, a)
	var wanted *pin.Wanted
	if errors.As(err, &wanted) {
		f.Fields = append(f.Fields, field{Name: "pin", Label: "PIN of " + string(wanted.Who), Kind: "pin",
			Hint: "Who forgot it asks a coordinator of the house."})
		if a.get("pin") == "" {
			return result, err
		}
		var proof *pin.Proof
		if proof, err = s.Pins.Give(v.ctx(), wanted.Who, a.get("pin")); err != nil {
			return result, err
		}
		again := *v
		again.Request = v.WithContext(stock.WithProof(v.ctx(), proof))
		result, err = f.do(&again, a)
	}
	if _, without := s.noPIN.LoadAndDelete(v.by); without && err == nil {
		result.said += " You signed without a PIN, since nobody here has one yet: set one at the computer."
	}
	return result, err
}
