// Package forecast says when the bridge will be done, from what past access windows yielded.
//
// The method resamples history (common practice in planning work by throughput; no standard prescribes it): for each
// kind of access the steps finished in each planned window are drawn again, with replacement, until the steps that
// remain are used up; a window that was lost counts as zero, since planning on windows that were granted alone
// promises what nobody controls. The fixed tail (curing to the last test, closing) is added, and the bridge is done
// with its latest kind. Runs are seeded: the same record gives the same dates.
//
// What it takes for granted is printed beside every result (Assumptions). It knows no weather, no calendar but the
// windows', and no causes.
package forecast
