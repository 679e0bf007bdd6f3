package refusal_test

import (
	"errors"
	"fmt"
	"strings"
	"syscall"
	"testing"

	"github.com/mattn/go-sqlite3"
	"github.com/stretchr/testify/assert"

	"pitman/registry"
	"pitman/registry/sqlite/refusal"
)

// What the disk and the neighbours do is told as what to do about it, however deep in the chain of errors it
// stands.
func TestFaultsOfTheDiskAreExplained(t *testing.T) {
	for _, c := range []struct {
		fault sqlite3.Error
		says  string
	}{
		{sqlite3.Error{Code: sqlite3.ErrBusy},
			"house.db was in use for over 60 seconds, nothing was written"},
		{sqlite3.Error{Code: sqlite3.ErrFull},
			"the disk is full, nothing was written: make room beside house.db"},
		{sqlite3.Error{Code: sqlite3.ErrIoErr, SystemErrno: syscall.ENOSPC}, "the disk is full"},
		{sqlite3.Error{Code: sqlite3.ErrIoErr, SystemErrno: syscall.EIO}, "the disk failed under house.db"},
		{sqlite3.Error{Code: sqlite3.ErrReadonly}, "house.db or its folder cannot be written"},
		{sqlite3.Error{Code: sqlite3.ErrNotADB}, "house.db is damaged or not a registry"},
	} {
		err := refusal.Explain(fmt.Errorf("SELECT 1: %w", c.fault), "house.db")
		assert.Equal(t, registry.Conflict, registry.CodeOf(err), c.says)
		assert.ErrorContains(t, err, c.says)
	}
	err := refusal.Explain(sqlite3.Error{Code: sqlite3.ErrReadonly}, "house.db")
	assert.ErrorIs(t, err, refusal.ErrReadOnly)
	assert.True(t, strings.HasSuffix(err.Error(), "or copy the house elsewhere"), err)
	other := errors.New("other")
	assert.Equal(t, other, refusal.Explain(other, "house.db"))
}
