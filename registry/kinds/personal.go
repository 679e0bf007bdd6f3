package kinds

import (
	"reflect"
	"strings"
	"sync"
)

// Personal says whether the name of a person can stand in a column of a kind: its field is marked so.
func Personal(kind, column string) bool {
	known, ok := personal.Load(kind)
	if !ok {
		names := map[string]bool{}
		if rec := New(kind); rec != nil {
			for _, f := range reflect.VisibleFields(reflect.TypeOf(rec).Elem()) {
				if name, option, _ := strings.Cut(f.Tag.Get("db"), ","); option == "personal" {
					names[name] = true
				}
			}
		}
		known, _ = personal.LoadOrStore(kind, names)
	}
	return known.(map[string]bool)[column]
}

var personal sync.Map // of map[string]bool, by kind
