package casting

import (
	"endcast/internal/domain/fault"
	"endcast/views/settings"
	"endcast/views/ui"
)

// MockupList is the mock-ups of a program and who must accept them.
type MockupList struct {
	State    ui.Mark
	Says     string // what stands between the program and its first casting
	Note     string // of an acceptance
	By       string
	New      string // where to record one; "" for those who may not
	Rows     []MockupRow
	Withdraw *MockupForm // nil where nothing is to be withdrawn, or not by the reader
	Roles    *MockupRoles
	Deciders string
	Log      []settings.LogLine
	Zone     string
}

// MockupRow is one mock-up of the list.
type MockupRow struct {
	Number, Href, Cast, StandsFor, Size, Sections, Lacks string
	State                                                ui.Mark
	Decided                                              []string
}

// MockupForm is a form with one text.
type MockupForm struct {
	Action, Entry, From string
	Bad                 *fault.Invalid
	Refused             string
	Text                ui.Field
}

// MockupRoles sets which roles decide.
type MockupRoles struct {
	Action, Entry string
	Bad           *fault.Invalid
	Choices       []EndChoice // ID is the role
}

// MockupEntry is the form that records a mock-up or corrects its record.
type MockupEntry struct {
	Action, Entry, From, Act, Submit string
	Bad                              *fault.Invalid
	Refused, Zone                    string
	Cast, StandsFor, Obstructions    ui.Field
	Sizes                            []ui.Field
	Filling                          []ui.Field
	LeakFree                         bool
	Leaks                            ui.Field
	Sections, Voids, Spread, Note    ui.Field
	Reason                           *ui.Field // of a correction
}

// MockupView is the page of one mock-up.
type MockupView struct {
	Number, Action, Zone string
	State                ui.Mark
	Why                  string
	Moved                string // what it was accepted on has changed since
	Lacks                []string
	Facts                []Fact
	Pours                []MockupPour
	Opinions             []MockupOpinion
	Refused              string
	Bad                  *fault.Invalid
	Cast                 *MockupCast
	Correct              *MockupEntry
	Decide               *MockupDecide
	Withdraw             *MockupForm
	Fixed                bool // what was sent last belongs to a form in a fold
}

// MockupPour is a casting of a mock-up.
type MockupPour struct {
	Number, Href, When, Batches, Report string
	Sets                                []Set
	Open                                bool
}

// MockupOpinion is where one role stands.
type MockupOpinion struct {
	Role, By, Meaning, Text string
	Mark                    ui.Mark
}

// MockupCast opens a casting of the mock-up.
type MockupCast struct {
	Action, Entry          string
	Started, Head, Weather ui.Field
}

// MockupDecide takes the decision of the reader's role.
type MockupDecide struct {
	Action, Entry, From, As string
	Meaning                 string
	MayAccept               bool   // a section was cut
	Proven                  bool   // a sound set of strengths is on record
	WhyNot                  string // why it cannot be accepted yet
	Waived, Reasons         ui.Field
}
