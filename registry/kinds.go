package registry

// kinds makes an empty record of each kind that is stored. Whatever must know all of them, such as a bundle, finds them here.
var kinds = []func() Record{
	func() Record { return &Machine{} },
	func() Record { return &Base{} },
	func() Record { return &Work{} },
	func() Record { return &FunctionTest{} },
	func() Record { return &SafetyTest{} },
	func() Record { return &Spare{} },
	func() Record { return &Supply{} },
	func() Record { return &Need{} },
	func() Record { return &Arrival{} },
	func() Record { return &Order{} },
	func() Record { return &OrderLine{} },
	func() Record { return &OrderSet{} },
	func() Record { return &KitItem{} },
}

// NewRecord makes an empty record of a kind, or nil when there is no such kind.
func NewRecord(kind string) Record {
	for _, fresh := range kinds {
		if rec := fresh(); rec.Kind() == kind {
			return rec
		}
	}
	return nil
}
