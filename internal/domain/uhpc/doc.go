// Package uhpc holds the rules of the ultra-high performance concrete at a girder
// end: its specimens and their strengths, the statistics of a set, the release of
// a casting by strength, the limits of a batch, the curing log, and the volume to
// mix.
//
// Every limit is a setting of package basis with its source; none is an agency's
// requirement until an owner enters it as such. Ages come from clock instants,
// never from calendar dates, so a casting after midnight or across a change of
// summer time has its true age.
package uhpc
