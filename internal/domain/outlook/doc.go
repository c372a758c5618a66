// Package outlook says what uncertainty and time do to a corroded girder end.
//
// Chance repeats the capacity of an end with its readings, its steel and its model
// scattered, and counts how often it falls below the demand. Decline carries the
// thickness map forward at a rate of loss and finds the year in which the capacity
// falls below the demand. Rank puts the ends of a bridge in an order of repair by
// a stated key. All three compute capacity by the rules of package resistance and
// by no others.
//
// The chance is that of the numbers computed from this survey with the scatter
// that the design basis states. It is not a chance of collapse, and a rate seen in
// the past need not hold. Both support an engineer's judgement and do not replace
// it: the owner's manual and a licensed engineer decide.
package outlook
