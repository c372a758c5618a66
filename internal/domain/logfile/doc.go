// Package logfile reads the text tables that data loggers write: temperatures of a
// curing panel, later strains of many channels. A file is read as a stream, row by
// row, in memory that does not grow with its length, and is either taken whole or
// refused whole with the line and the column at which it cannot be believed.
//
// How the parts meet: Sniff says what kind of file a few bytes begin. Unpack opens
// gzip and zip within limits. Guess proposes a Map (which column is the time, which
// are values, in what unit) from the first lines and lists as Doubts what it cannot
// know. Read walks the rows of one or several files by a confirmed Map; what is odd
// but believable is listed in its Report. Thin keeps the extremes of a long series
// for a drawing.
//
// Every value comes out in one coherent unit of its quantity (degrees Celsius, mm,
// microstrain) and every time as an instant. Nothing here knows a clock, a file
// system or a list of time zones: the zone is passed in.
package logfile
