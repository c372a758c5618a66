// Package stud holds what is known of headed studs: the shear resistance of one
// stud under three standards, the rules for the metal it is welded to and the
// room it needs, the weld collar and what may be done where it is incomplete,
// load and slip, fatigue, and how a group of studs shares a force that does not
// pass through its middle.
//
// Each rule that judges something is a struct of its inputs with one method
// Check; the numbers an owner may change come from package basis.
//
// Lengths are in mm, forces in N and stresses in MPa.
package stud
