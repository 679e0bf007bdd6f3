package main

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"pitman/labels"
	"pitman/registry"
	"pitman/registry/house"
)

func TestWhereNoPrintQueueIs(t *testing.T) {
	assert.ErrorContains(t, canPrint("shed", "windows"), "Windows does not have")
	for _, name := range []string{"-o", "a b", "../x"} {
		assert.Equal(t, registry.Invalid, registry.CodeOf(canPrint(name, "linux")), name)
	}
	t.Setenv("PATH", t.TempDir())
	assert.ErrorContains(t, canPrint("shed", "linux"), "this system has no print queue")
}

// What is said on the command line goes before what the printer's profile has.
func TestAProfileFillsWhatWasNotSaid(t *testing.T) {
	yes := true
	p := house.PrinterConfig{Right: 1.5, DPI: 203, Mono: &yes, Stock: "roll-62x29"}
	var q labelRequest
	q.asPrinterHas(p)
	assert.Equal(t, "roll-62x29", q.stock)
	assert.Equal(t, labels.Device{DPI: 203, Mono: true}, q.device(labels.Stock{}))
	said := labelRequest{stock: "a4-3x7", monoSaid: true, out: outFile{dpi: 300}}
	said.asPrinterHas(p)
	assert.Equal(t, "a4-3x7", said.stock)
	assert.Equal(t, labels.Device{DPI: 300}, said.device(labels.Stock{}))
}
