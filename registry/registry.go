// Package registry holds the words that every room of the workshop's domain shares: tags, initials, stages
// and drives, what an action and a change are, refusals and faults, and the one table of moves. It keeps no
// record and knows no other room.
//
// The rooms stand in the folders below, each with one idea and one type whose methods are what people do
// there; package house puts them together. DEVELOPERS.md has the map.
package registry
