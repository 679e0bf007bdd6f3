package main

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// What one action did to several records is told record by record, so that a head stands with its own base.
func TestChangesAreToldRecordByRecord(t *testing.T) {
	assert.Equal(t, []string{
		"stage: ready → reserved",
		"order set base: PM4Z", "order set head: PM32", "order set stands: yes",
		"order set base: PM24", "order set head: PM16", "order set stands: yes",
	}, changeLines(map[string][2]any{
		"order_set.10.head": {nil, "PM16"}, "order_set.10.base": {nil, "PM24"},
		"order_set.10.stands": {nil, 1.0}, "order_set.10.number": {nil, "ORD1"},
		"order_set.9.head": {nil, "PM32"}, "order_set.9.base": {nil, "PM4Z"},
		"order_set.9.stands": {nil, 1.0}, "order_set.9.number": {nil, "ORD1"},
		"stage": {"ready", "reserved"}, "stage_since": {"", "2031-05-04T10:00:00Z"},
	}))
}
