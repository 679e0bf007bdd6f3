package desk

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/orders"
	"pitman/registry/stock"
)

func TestPackAndShipAnOrder(t *testing.T) {
	s := sit(t, "QX")
	require.NoError(t, os.MkdirAll(filepath.Join(s.dir, "lists"), 0o700))
	require.NoError(t, os.WriteFile(filepath.Join(s.dir, "lists", "kits.csv"),
		[]byte("part,quantity,drive,needle,bobbin,plug\nneedle,2,any,,,\n"), 0o600))
	s.points("turns,Does it turn?,any,")
	s.press("o").sees("No order is open").press("Esc")
	old, young := s.add("Harrow & Finch", "K7", registry.Hand), s.add("Tamarisk", "none", registry.Hand)
	for _, m := range []*stock.Machine{old, young} {
		s.toCheck(m)
		_, _, err := s.d.Test(s.d.ctx, "QX", m.Tag, bench.TestForm{PassAll: true})
		require.NoError(t, err)
	}
	o := &orders.Order{Partner: "Marsh Lane centre", Due: "2032-03-01"}
	require.NoError(t, s.d.OpenOrder(s.d.ctx, "TV", o))
	require.NoError(t,
		s.d.AddLine(s.d.ctx, "TV", &orders.OrderLine{Order: o.Number, Wanted: orders.HandMachine, Asked: 2}))
	var slots []orders.Reservation
	for _, m := range []*stock.Machine{old, young} {
		slots = append(slots, orders.Reservation{Order: o.Number, Line: 1, Head: *s.machine(m.Tag)})
	}
	require.NoError(t, s.d.Reserve(s.d.ctx, "TV", "", slots))
	s.d.message = ""

	s.press("o").sees("Marsh Lane centre", "2 of 2 filled, 0 packed").press("1").
		sees("Pack ORD1 for Marsh Lane centre", "Still to pack: 2", string(old.Tag), "Lift close")
	// What lies on the bench beside it, and belongs to no order.
	other := s.add("Ostermann", "B9", registry.Hand)
	s.scan(string(other.Tag)).sees("is not on order ORD1")
	// The kit first; without needles in stock it stays out of the crate.
	s.scan(string(young.Tag)).sees("Put with it: 2 × needle (0 in stock)").press("Enter").sees("short of 2 × needle").press("Esc").
		sees("Still to pack: 2")
	_, err := s.d.CountSupply(s.d.ctx, "QX", "needle", 10)
	require.NoError(t, err)
	s.scan(string(young.Tag)).sees("(10 in stock)").scan(string(old.Tag)).sees(string(old.Tag)+" has to wait",
		"Put with it: ").press("Enter").sees(string(young.Tag)+" is in its crate", "Still to pack: 1")
	s.scan(string(young.Tag)).sees("was packed already")
	// An old machine is looked at twice.
	s.press(string(old.Tag), "Enter").sees("looks twice", "Second look by").press("qx", "Enter",
		"Enter").sees("same person").
		press("Esc", "Backspace", "Backspace", "mb", "Enter", "Enter")
	s.sees("Everything on it is packed",
		"ship it").press("Enter").sees("Ship ORD1").press("Enter").sees("ORD1 has left, with 2 sets and machines.",
		"Pack which order?")
	require.Equal(t, registry.Shipped, s.machine(old.Tag).Stage)
}

func TestMoreOrdersThanFigures(t *testing.T) {
	s := sit(t, "QX")
	for i := range 11 {
		require.NoError(t,
			s.d.OpenOrder(s.d.ctx, "TV",
				&orders.Order{Partner: "Marsh Lane centre", Due: fmt.Sprintf("2032-03-%02d", 11-i)}))
	}
	s.press("o").sees("1   ORD11", "9   ORD3", "    ORD2 ", "    ORD1 ")
	s.resize("UTF-8", 80, 15)
	s.misses("ORD2 ").sees("of 11   + further").press("+").sees("1   ORD").press("-").sees("1   ORD11")
	s.press("1").sees("Nothing is on it yet", "fills it from stock")
}
