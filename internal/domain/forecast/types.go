package forecast

import "time"

// Window is one planned window of the past.
type Window struct {
	Starts time.Time
	// Steps that were finished in it; zero for a lost one.
	Steps int
	Lost  bool
	// Excluded is the written reason for leaving the window out of the sample; empty keeps it in.
	Excluded string
}

// Kind is one kind of access with what is left to do in it.
type Kind struct {
	Name string
	// Remaining steps that are worked in windows of this kind, whole program.
	Remaining int
	// History holds past planned windows in any order.
	History []Window
	// Ahead holds the starts of windows already planned, rising. Beyond the last one windows follow at Every.
	Ahead []time.Time
	// Every is the usual distance between windows of this kind; zero lets the history tell it (its median distance).
	Every time.Duration
	// Tail is what follows the last step of this kind before its ends are closed: curing to the last test, closing.
	Tail time.Duration
}

// WhatIf alters the future of one kind, for a question that a manager asks.
type WhatIf struct {
	Kind string
	// Windows multiplies the number of windows in a time: 2 halves the distance between them.
	Windows float64
	// Yield multiplies the steps finished in a window, as another crew would; 1.5 is half as much again.
	Yield float64
}

// Input of one forecast.
type Input struct {
	From  time.Time // today
	Due   time.Time // contract date; zero where there is none
	Kinds []Kind
	Ifs   []WhatIf
	Runs  int    // 4,000 where zero
	Least int    // past windows below which a result is called thin; LeastSample where zero
	Seed  uint64 // any number; the same seed gives the same dates
}

// LeastSample is the number of past windows below which a result is marked as thin: common practice, no source.
const LeastSample = 10

// DefaultRuns is the number of runs where none is asked for.
const DefaultRuns = 4000

// horizon ends a run that would never finish.
const horizon = 5000 // windows

// KindResult is the forecast of one kind of access.
type KindResult struct {
	Name      string
	Remaining int
	Sample    []int // steps a window, oldest first, after exclusions
	Excluded  int
	Lost      int     // windows of the sample that were lost
	Mean      float64 // steps a planned window
	Every     time.Duration
	// Done dates at 50, 85 and 95 %; zero where Endless.
	P50, P85, P95 time.Time
	Chance        float64 // of being done on or before the due date; 0 without one
	// Latest is the share of runs in which this kind was the last to finish.
	Latest float64
	// Endless says why there is no date: no window of the sample finished a step, or there is no sample.
	Endless string
	Thin    bool // fewer windows than Least
	Least   int
	// Naive is the plain division: remaining over mean, times the distance, and the tail.
	Naive time.Time
}

// Result of one forecast.
type Result struct {
	Kinds         []KindResult
	P50, P85, P95 time.Time
	Chance        float64
	// Months counts runs by the month of their finish, rising.
	Months []Month
	Runs   int
	// Endless names the kind that keeps the program from any date; empty where all have one.
	Endless string
}

// Month is one bar of the distribution.
type Month struct {
	First time.Time // of the month, in From's zone
	Runs  int
}
