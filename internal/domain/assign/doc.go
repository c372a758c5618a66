// Package assign proposes who works where in one access window.
//
// An end that can be worked in the window offers a course: the steps that may follow one another there tonight, in
// the order of the sequence. A crew that takes an end works the first k steps of its course, one after another, and
// keeps the end for the window (two crews at one girder end are in each other's way: common practice, no source).
// What is scarce besides time (forms, cores, batches of the mixer) is counted over all crews. The proposal has the
// greatest sum of worth that fits.
//
// This is the multiple-choice knapsack with several knapsacks. At the size of a night (tens of ends, a few crews) a
// branch and bound finds the best one, or stops at a limit of nodes and says how far from the bound it may be.
// What a person has chosen is kept: pinned courses are placed first, and a person's choice that cannot fit is told,
// never dropped in silence.
package assign
