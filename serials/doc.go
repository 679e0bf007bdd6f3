// Package serials finds out how old a sewing machine is from the number stamped on it.
//
// Makers numbered their machines in rising order, some behind a letter prefix. A table says which numbers a
// maker stamped in which years; the rows of all tables for one maker and prefix together make a line of
// numbers, and dating is finding the place of a number on that line. Tables are plain CSV files that people
// edit; what a table cannot mean is told by Check, and what it does say is served even where it contradicts
// itself, with the contradiction stated. Nothing is guessed: an answer carries the years that remain
// possible, what they rest on, and why.
//
// A serial is read as a prefix, which is empty or ends with the last letter, and the number behind it.
//
// An answer says two things apart from each other. From and To are hard bounds: rows and dated evidence only
// ever remove years. Years is how likely each of those that remain is; marks (clues) move the likelihood and
// remove nothing. A year is said in one way everywhere, by Estimate.Say.
//
// # Rules
//
// Where the number lies decides the basis. "Row" is a table row with that prefix. Rows of one source that
// give the same years to numbers that adjoin or overlap are one row first; rows that say the very same are
// one row whatever their source. So nothing depends on the names of files, the order of rows, a row split in
// two or one that is repeated.
//
//	number lies                                    from         to           best           basis
//	in one row of one year                         its year     its year     its year       range
//	in one row of several years                    row from     row to       its place      interpolated
//	in rows that have years in common              the years in common, as one row that says those
//	in rows that have none in common               earliest     latest       none           overlap, clash
//	at the first number of an open row             its year     its year     its year       range
//	in an open row, another row above              row from     that from    none           between
//	in the last row, and that is open              row from     unknown      none           after
//	in an open row and in closed ones that fit it  as in the closed ones
//	in no row, rows below and above                below to     above from   none           between
//	above the last row                             row to       unknown      none           after
//	below the first row                            unknown      row from     none           before
//	no row has the prefix, or no table the maker   unknown      unknown      none           none
//
// The row below is the one that ends highest, the row above the one that begins lowest; of several such the
// years that leave most. An open row has no last number: it ends where the next row begins. An open row of
// several years gives its bracket even at its first number.
//
// The place within a row comes from cumulative output: a monotone cubic through the rows of the same source
// whose numbers and years adjoin, as far as none of them was allotted in a block ahead of making; else a
// straight line. A number is as good as its quarter of a year. How far such a reading may be off is learnt
// from published tables (package years), and spread over the row's years.
//
// A worn serial has ? for characters that cannot be read, or a run of dashes or underlines; they may stand
// for prefix letters too. Its basis is pattern, its bounds are those of all its fillings, and its years are
// the mean of theirs.
//
//	filling                                in the shares                             in the years
//	in one row of one year                 one hit for the year                      its year
//	in one row of several years            one hit, spread evenly over the years     by its place
//	in rows that clash                     one hit in each of them                   in equal parts
//	in an open row, another row above      one hit, spread evenly over the bracket   the same
//	in the last row, and that is open      one hit under the row's first year        outside
//	the same, and evidence closes it       one hit, spread evenly over the bracket   the same
//	in no row, rows below and above        none                                      evenly between them
//	below the first or above the last row  none                                      outside
//	leading ? of the number                1 to 9; 0 to 9 where the table writes leading zeros
//	leading ? that can be a prefix letter  any prefix letter of the maker as well
//
// The shares add up to 1, the years to 1 less what is outside. There is a best year only when one year
// remains and no filling stands in no row.
//
// Other evidence bounds the years: a patent on bed, arm or nowhere in particular and a patent date mean "not
// before", a dated sighting "not after", a model both. A patent on a part that can be replaced is told and
// does not bind. A model whose numbers a table of registers sets apart is looked up in rows that name it, and
// in no others.
//
//	serial says           evidence              answer
//	years                 leaves all            as the serial says
//	one row of years      leaves some           the years left; best moved to the nearest; basis as it was
//	clashing rows         leaves some rows      the years that these have in common, evidence
//	clashing rows         leaves clashing ones  the years left, overlap
//	open end              closes it             both ends, evidence
//	open end              leaves it open        the stricter end, basis as it was
//	worn                  leaves some           the shares of the years left, pattern
//	nothing               sets bounds           the bounds, evidence
//	years                 excludes them         no years, both bounds, contradiction said: contradicted
//	anything              contradicts itself    no years, both bounds, contradiction said: contradicted
//	open or no years      marks only            bounds as they were; "about" the year, if 80 % lie near it
//
// One year left is the best year, whatever the basis; but not where a worn serial has fillings outside every
// row.
package serials
