package field

import "endcast/views/ui"

// Gate is one of the two decisions of an end that hang on strength.
type Gate struct {
	Head    Head
	Title   string // to strip the form
	State   ui.Mark
	Lines   []ui.Mark // of the rule, each with what was found
	Past    []Fact    // decisions, the last first
	Form    *GateForm // nil for those who may not decide
	Problem string
	Caution string
}

// GateForm passes or refuses a gate.
type GateForm struct {
	Sent
	Action, Version, From string
	Reasons               ui.Field
	MayPass               bool // the whole rule is met
	Meaning               string
}
