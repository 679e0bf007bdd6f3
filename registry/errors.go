package registry

import (
	"errors"
	"fmt"
)

// Code says what kind of refusal an Error is, so that a caller can act on it without reading the sentence.
type Code string

const (
	Invalid  Code = "invalid"   // the input is wrong: say which field, the value, and what to type instead
	NotFound Code = "not found" // the thing named does not exist in this house
	Conflict Code = "conflict"  // the rules of the house or the present state forbid it: say what is missing
)

// Error is a refusal with one sentence for the person who asked. Any other error is an internal one.
type Error struct {
	Code    Code
	Message string
}

func (e *Error) Error() string { return e.Message }

// Errorf makes an Error; the sentence names the field, the value and what to type instead.
func Errorf(code Code, format string, args ...any) *Error {
	return &Error{Code: code, Message: fmt.Sprintf(format, args...)}
}

// CodeOf returns the code of the first Error in err's chain, or "" for an internal error.
func CodeOf(err error) Code {
	var e *Error
	if errors.As(err, &e) {
		return e.Code
	}
	return ""
}
