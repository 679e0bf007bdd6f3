// Package whole writes files that are there whole or not at all: whoever opens one, after a crash as well,
// finds what stood there before or all that was written.
package whole
