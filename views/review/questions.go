package review

import (
	"endcast/internal/domain/fault"
	"endcast/views/ui"
)

// Questions are the questions on a revision, with the forms that are open to the reader.
type Questions struct {
	List    []Question
	Open    int
	Holding []string // numbers of those that hold the approval
	Ask     *AskForm
	Instead string // why nothing can be asked
}

// Question is one question with what was said after it.
type Question struct {
	Number, Place, Text, By, When string
	LineHref                      string // of the line of the sheet on this page
	Mark                          ui.Mark
	Holds                         bool
	Said                          []Said
	Form                          *SayForm
	FormHref, FormLabel           string // where the form is, when it is not shown
}

// Said is one thing said after a question.
type Said struct{ What, Text, By, When string }

// SayForm answers a question, asks it again or withdraws it.
type SayForm struct {
	Action, Entry, Problem string
	Bad                    *fault.Invalid
	Choice, Text           ui.Field
}

// AskForm asks a question. Holds is the label of the box, empty where it is not offered.
type AskForm struct {
	Action, Entry, Problem, Unit string
	Bad                          *fault.Invalid
	Text, Face, X, Z, Line       ui.Field
	Holds, Rule                  string
	On                           bool
}
