// Package sequence is the owner's list of work steps and the rules that follow
// from it: which step an end is at, what stops it, who must act, and who may
// complete, release, return or reopen a step.
//
// The steps belong to the owner and change while work goes on. Records refer to
// steps by their ID, which never changes, so that a record made under an older
// sequence stays readable and stays counted. Everything here is a pure function
// of the steps and of plain facts about one end.
package sequence
