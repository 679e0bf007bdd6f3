// Package labels says what stands on a workshop's labels and slips, draws them, and judges the colours they
// are drawn in. It is pure: it knows no database and no command.
//
// The way from a machine to paper has four steps, each with one owner:
//
//	Machine, Slip, Base, Shelf                     what is known, in the workshop's words
//	  .Face(scheme)   → Face                       what will be printed, and its fingerprint
//	  Draw(face, ...) → Drawing                    where it stands: shapes and runs of text in mm
//	  Sheet(...)      → []Drawing, one a page      labels placed on the stock that is in the printer
//
// A Drawing is a display list that PDF, SVG and PNG writers only replay, so the three cannot disagree. Shapes
// are worked out as they are written, since a house's whole stock is drawn at once. Package characters shows
// a Face on a terminal, for want of a printer.
//
// A Scheme names a colour, an ink, a word and a pattern for every drive and stage. Whether people can tell
// its bands apart is judged by package scheme.
package labels
