// Package registry is the workshop's domain: sewing-machine heads, treadle bases, the people who work on them, the stages
// they pass and the rules that let them pass. It says what the program does and knows neither the screen nor SQL.
//
// Every action is one transaction: a record is read, changed by a rule of this package and saved, and what changed is kept
// beside it in a history that only grows. The present state of every record is what its history replays to.
package registry
