package main

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"pitman/registry"
)

func TestWhereNoPrintQueueIs(t *testing.T) {
	assert.ErrorContains(t, canPrint("shed", "windows"), "Windows does not have")
	for _, name := range []string{"-o", "a b", "../x"} {
		assert.Equal(t, registry.Invalid, registry.CodeOf(canPrint(name, "linux")), name)
	}
	t.Setenv("PATH", t.TempDir())
	assert.ErrorContains(t, canPrint("shed", "linux"), "this system has no print queue")
}
