// Package serials finds out how old a sewing machine is from the number stamped on it.
//
// Makers numbered their machines in rising order, some behind a letter prefix. A table says which numbers a maker stamped
// in which years; the rows of all tables for one maker and prefix together make a line of numbers, and dating is finding
// the place of a number on that line. Tables are plain CSV files that people edit; what a table cannot mean is told by
// Check, and what it does say is served even where it contradicts itself, with the contradiction stated. Nothing is guessed:
// an answer carries the years that remain possible, what they rest on, and why.
//
// A serial is read as a prefix, which is empty or ends with the last letter, and the number behind it.
//
// # Rules
//
// Where the number lies decides the basis. "Row" is a table row with that prefix.
//
//	number lies                                    from         to           best           basis
//	in one row of one year                         its year     its year     its year       range
//	in one row of several years                    row from     row to       straight line  interpolated
//	in rows that say the same                      as one row                               as one row
//	in rows that differ                            earliest     latest       none           overlap, clash stated
//	at the first number of an open row             its year     its year     its year       range
//	in an open row, another row above              row from     that from    none           between
//	in the last row, and that is open              row from     unknown      none           after
//	in an open row and in closed ones that fit it  as in the closed ones
//	in no row, rows below and above                below to     above from   none           between
//	above the last row                             row to       unknown      none           after
//	below the first row                            unknown      row from     none           before
//	no row has the prefix, or no table the maker   unknown      unknown      none           none
//
// The row below is the one that begins highest, the row above the one that begins lowest. An open row has no last number: it
// ends where the next row begins. The straight line spreads the numbers of a row evenly over its years. An open row of several
// years gives its bracket even at its first number. Rows that say the same may stand in two files: two sources that agree.
//
// A worn serial has ? for characters that cannot be read; they may stand for prefix letters too. Its basis is pattern.
//
//	filling                                counts as
//	in one row of one year                 one hit for the year
//	in one row of several years            one hit, spread evenly over the years
//	in two rows                            one hit in each of them
//	in an open row, another row above      one hit, spread evenly over the bracket
//	in the last row, and that is open      one hit under the row's first year; "to" is unknown
//	the same, and evidence closes it       one hit, spread evenly over the bracket
//	in no row                              none; told in a note, and then there is no best year
//	all of them in no row                  no shares; years bracketed by the rows around the lowest and the highest
//	leading ? of the number                1 to 9; 0 to 9 where the table writes leading zeros
//	leading ? that can be a prefix letter  any prefix letter of the maker as well
//
// The shares of the years add up to 1. There is a best year only when one year remains.
//
// Other evidence bounds the years: a patent on bed, arm or nowhere in particular and a patent date mean "not before", a dated
// sighting "not after", a model both. A patent on a part that can be replaced is told and does not bind.
//
//	serial says           evidence              answer
//	years                 leaves all            as the serial says
//	one row of years      leaves some           the years left; best moved to the nearest of them; basis as it was
//	differing rows        leaves one row        its years, evidence
//	differing rows        leaves several        the years left, overlap
//	open end              closes it             both ends, evidence
//	open end              leaves it open        the stricter end, basis as it was
//	worn                  leaves some           the shares of the years left, pattern
//	nothing               sets bounds           the bounds, evidence
//	years                 excludes them         no years, both bounds, the contradiction stated
//	anything              contradicts itself    no years, both bounds, the contradiction stated
//
// One year left is the best year, whatever the basis; but not where a worn serial has fillings outside every row.
package serials
