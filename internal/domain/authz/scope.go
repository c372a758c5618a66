package authz

import (
	"slices"

	"github.com/google/uuid"
)

// Scope is a group of actions that a token may be given. A token acts for a person, in
// one program, within the person's role there and within its scopes: whichever is less.
type Scope string

// Scopes of a token. Every token reads.
const (
	ScopeRead      Scope = "read"
	ScopeSurveys   Scope = "surveys"
	ScopeDesigns   Scope = "designs"
	ScopeField     Scope = "field"
	ScopeCastings  Scope = "castings"
	ScopeQuality   Scope = "quality"
	ScopeDecisions Scope = "decisions"
	ScopeSettings  Scope = "settings"
)

// scopeTable gives each action within a program to one scope. An action that stands
// nowhere here is never done by a token.
var scopeTable = []struct {
	scope   Scope
	words   string
	actions []Action
}{
	{ScopeRead, "Read everything that the role reads", []Action{SeeProgram, SeeHistory, Export, SeeOriginal}},
	{ScopeSurveys, "Record and correct surveys", []Action{RecordSurvey}},
	{ScopeDesigns, "Draft and submit designs", []Action{EditDesign, SubmitDesign}},
	{ScopeField, "Record work on site: steps, cleaning, collars, checks", []Action{CompleteStep, RecordCleaning, RecordCollar, RecordStrain}},
	{ScopeCastings, "Record castings, specimens, breaks and curing", []Action{RecordPour, KeepSpecimens, RecordBreak, RecordCuring, RecordMockup}},
	{ScopeQuality, "Raise, propose, work and look again at nonconformances", []Action{RaiseNonconformance, ProposeDisposition, WorkNonconformance, VerifyNonconformance}},
	{ScopeDecisions, "Decide: reviews, holds, gates, waivers, dispositions, batches, sets, mock-ups, windows granted", []Action{ReviewDesign, ConfirmDesign, ReleaseHold, DecideStrip, DecideTraffic,
		Waive, DecideNonconformance, DecideBatch, ReviewSpecimens, DecideMockup, AcceptMockup, DecideProcedure, GrantWindow, ConfirmVerdict}},
	{ScopeSettings, "Edit ends, windows, basis, sequence, procedures, plans and title facts; import", []Action{EditEnd, PlanWindow, EditBasis, EditSequence, EnterProcedure, EditPlan, EditProgram, Import, PlanShift, ForecastSample}},
}

// Scopes returns every scope in the order in which pages list them.
func Scopes() []Scope {
	out := make([]Scope, len(scopeTable))
	for i, s := range scopeTable {
		out[i] = s.scope
	}
	return out
}

// Words says what a scope is for.
func (s Scope) Words() string {
	for _, x := range scopeTable {
		if x.scope == s {
			return x.words
		}
	}
	return ""
}

// Valid reports whether s is one of Scopes.
func (s Scope) Valid() bool { return slices.Contains(Scopes(), s) }

// ScopeOf returns the scope that an action belongs to, and false for one that no token does.
func ScopeOf(a Action) (Scope, bool) {
	for _, x := range scopeTable {
		if slices.Contains(x.actions, a) {
			return x.scope, true
		}
	}
	return "", false
}

// Token narrows a person who acts through a token.
type Token struct {
	Program uuid.UUID
	Scopes  []Scope
}

// allows reports whether the token lets an action in a program through, before the role
// of its person is asked.
func (t *Token) allows(program uuid.UUID, a Action) bool {
	if a == Public || a == OwnToken {
		return true
	}
	s, ok := ScopeOf(a)
	return ok && program == t.Program && slices.Contains(t.Scopes, s)
}
