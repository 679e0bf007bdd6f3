package page

import (
	"fmt"
	"strings"

	"pitman/registry/measure"
	"pitman/registry/stock"
)

// baseForms are the forms of the steps of a base, and of what only pages do.
func baseForms() map[string]asking[stock.Base] {
	return map[string]asking[stock.Base]{
		"ready":     readyBase,
		"refurbish": triageBase("refurbish", "bring it back"),
		"release":   releaseBase,
		"hold":      holdBase,
		"parts":     triageBase("parts", "strip it for parts"),
		"sale":      triageBase("sale", "sell it"),
		"scrap":     triageBase("scrap", "scrap it"),
		"measures":  measures,
		"place": func(s *Server, v *visit, b *stock.Base) (*form, error) {
			return s.moveForm(v, b.Tag, b.Place, measure.LiftCaution(b.Weight, true))
		},
		"undo": func(s *Server, v *visit, b *stock.Base) (*form, error) { return s.undoForm(v, b.Tag) },
		"photo": func(s *Server, _ *visit, b *stock.Base) (*form, error) {
			return s.photoForm(b.Tag), nil
		},
		"photo-remove": func(s *Server, v *visit, b *stock.Base) (*form, error) {
			return s.removePhotoForm(v, b.Tag)
		},
	}
}

func readyBase(s *Server, _ *visit, b *stock.Base) (*form, error) {
	return &form{Title: fmt.Sprintf("%s: ready", b.Tag), Button: "Every part is there",
		Cautions: kept(measure.LiftCaution(b.Weight, true)),
		do: func(v *visit, _ answers) (done, error) {
			return stands(s.ReadyBase(v.ctx(), v.by, b.Tag))
		}}, nil
}

func releaseBase(s *Server, _ *visit, b *stock.Base) (*form, error) {
	return &form{Title: fmt.Sprintf("%s: let it go on", b.Tag), Button: "Let it go on",
		do: func(v *visit, _ answers) (done, error) {
			return stands(s.ReleaseBase(v.ctx(), v.by, b.Tag, ""))
		}}, nil
}

func holdBase(s *Server, _ *visit, b *stock.Base) (*form, error) {
	why, err := s.why("hold")
	return &form{Title: fmt.Sprintf("%s: hold it", b.Tag), Button: "Hold it", Fields: []field{why},
		do: func(v *visit, a answers) (done, error) {
			return stands(s.HoldBase(v.ctx(), v.by, b.Tag, a.get("why")))
		}}, err
}

func triageBase(way, does string) func(*Server, *visit, *stock.Base) (*form, error) {
	return func(s *Server, _ *visit, b *stock.Base) (*form, error) {
		why, err := s.why(way)
		return &form{Title: fmt.Sprintf("%s: %s", b.Tag, does), Button: strings.ToUpper(does[:1]) + does[1:],
			Fields:   append([]field{why}, brought(way)...),
			Cautions: kept(measure.LiftCaution(b.Weight, true)),
			do: func(v *visit, a answers) (done, error) {
				ctx, err := s.BringingTyped(v.ctx(), b.Tag, way, a.get("brought"))
				if err != nil {
					return done{}, err
				}
				return stands(s.TriageBase(ctx, v.by, b.Tag, way, a.get("why")))
			}}, err
	}
}

func stands(b *stock.Base, err error) (done, error) {
	if err != nil {
		return done{}, err
	}
	return done{said: fmt.Sprintf("%s is now %s.", b.Tag, b.Stage)}, nil
}

// measures asks for all that is written of a base, beside a drawing that shows where each measure is taken.
func measures(s *Server, _ *visit, b *stock.Base) (*form, error) {
	return &form{Title: fmt.Sprintf("%s: measures and parts", b.Tag), Button: "Keep it so", Drawing: true,
		Cautions: kept(measure.LiftCaution(b.Weight, true)),
		Fields:   append(askAll(stock.BaseFields, b), whyCorrected()),
		do: func(v *visit, a answers) (done, error) {
			_, err := s.AmendBase(v.ctx(), v.by, b.Tag, a.get("why"),
				func(b *stock.Base) error { return setAll(stock.BaseFields, b, a) })
			return done{said: "Written down. The history keeps what stood there before."}, err
		}}, nil
}
