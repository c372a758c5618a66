package field

import "endcast/views/ui"

// Gate is one of the two decisions of an end that hang on strength.
type Gate struct {
	Head    Head
	Title   string // to strip the form
	State   ui.Mark
	Said    string // who decided, or what it waits for
	Lines   []GateLine
	Past    []Fact    // decisions, the last first
	Form    *GateForm // nil for those who may not decide
	Problem string
	Caution string
}

// GateLine is one line of the rule with what was found.
type GateLine struct {
	Mark ui.Mark
	Text string
}

// GateForm passes or refuses a gate.
type GateForm struct {
	Sent
	Action, Version, From string
	Reasons               ui.Field
	MayPass               bool // the whole rule is met
	Meaning               string
}
