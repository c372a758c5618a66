// Package tablet holds the rules of entries that were made on a tablet, away from
// the record and perhaps long ago: how they are read, whether they still meet the
// record that they were made against, and what the tablet's clock is worth.
//
// An entry is read strictly: an unknown field is a program newer or older than this
// one, and guessing at it could put a finding where it does not belong.
package tablet
