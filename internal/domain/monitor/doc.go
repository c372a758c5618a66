// Package monitor turns strain records into an answer: does the repair of a
// girder end carry load?
//
// The way of a sample: a Calibration turns what the logger wrote into
// microstrain, millimeters or degrees; a Screen lists what is wrong with the
// stream; an Analyzer lays it on an even grid, takes the slow drift off, finds the
// passages of trucks on every channel and joins what belongs to one truck; Judge
// compares the passages of two states of the end, per truck against a control
// gauge that the repair cannot change, and says engaged, not engaged, not enough
// data or indicative only. Pyramid keeps the extremes of millions of samples for a
// picture.
//
// Everything here is pure and streams with memory that does not grow with the
// record. Samples of strain are in microstrain (millionths), displacements in mm,
// temperatures in degrees Celsius, accelerations in m/s2, strengths in MPa. Times
// are nanoseconds since 1970 in UTC.
//
// No published acceptance rule for "repair engaged" was found; the limits are
// settings of package basis, tagged as our proposal. A verdict supports an
// engineer's judgment and does not replace it, nor a load test where the owner's
// code asks for one.
package monitor
