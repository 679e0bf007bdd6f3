package registry

import (
	"errors"
	"fmt"
	"slices"
)

// Code says what kind of refusal an Error is, so that a caller can act on it without reading the sentence.
type Code string

const (
	Invalid  Code = "invalid"   // the input is wrong: say which field, the value, and what to type instead
	NotFound Code = "not found" // the thing named does not exist in this house
	Conflict Code = "conflict"  // the rules of the house or the present state forbid it: say what is missing
)

// Error is a refusal: data for whoever shows it. The sentence is for a person and names no command, flag or
// key; each front end says in its own way where the field is and how the next step is taken. Any other error
// is an internal one.
type Error struct {
	Code Code `json:"code"`
	// of the input or record, such as "serial"; empty when it speaks of none
	Field   string `json:"field,omitempty"`
	Message string `json:"message"` // what is wrong, and what would be right
	// what can be done now, the usual way first; more than one are choices
	Next []NextStep `json:"next,omitempty"`
	// of a tag that was refused: those that fit what was read, for a person to compare with the label and for
	// no program
	Meant []Tag `json:"-"`
}

func (e *Error) Error() string { return e.Message }

// Errorf makes an Error; the sentence names the field, the value and what to give instead.
func Errorf(code Code, format string, args ...any) *Error {
	return &Error{Code: code, Message: fmt.Sprintf(format, args...)}
}

// On names the field that the refusal speaks of.
func (e *Error) On(field string) *Error {
	e.Field = field
	return e
}

// Then adds what can be done next.
func (e *Error) Then(next ...NextStep) *Error {
	e.Next = append(e.Next, next...)
	return e
}

// OnField says of a refusal which field it speaks of, unless it knows better itself. Other errors stay as
// they are.
func OnField(field string, err error) error {
	var refused *Error
	if !errors.As(err, &refused) || refused.Field != "" {
		return err
	}
	told := *refused
	told.Next = slices.Clone(refused.Next)
	return told.On(field)
}

// Prefixed puts words before the sentence of a refusal, which keeps what comes next. The field is told anew.
func Prefixed(words string, err error) error {
	var refused *Error
	if !errors.As(err, &refused) {
		return err
	}
	return Errorf(refused.Code, "%s: %s", words, refused.Message).Then(refused.Next...)
}

// CodeOf returns the code of the first Error in err's chain, or "" for an internal error.
func CodeOf(err error) Code {
	var e *Error
	if errors.As(err, &e) {
		return e.Code
	}
	return ""
}

// FieldOf is the field that a refusal speaks of; empty for one of none, and for what is no refusal.
func FieldOf(err error) string {
	var e *Error
	if errors.As(err, &e) {
		return e.Field
	}
	return ""
}
