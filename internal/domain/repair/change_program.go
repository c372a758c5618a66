package repair

import (
	"strconv"
	"strings"

	"endcast/internal/domain/calc"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/sequence"
)

func numberText(n int) string { return strconv.Itoa(n) }

// CreateProgram starts a program with the default sequence.
type CreateProgram struct {
	Program Program `json:"program"`
}

// Kind implements Change.
func (CreateProgram) Kind() string { return "program.create" }

// Apply implements Change. The identifier comes with the program, since
// memberships are made beside it.
func (ch CreateProgram) Apply(s *Scope, c Context) error {
	var bad fault.Invalid
	if !isProgramCode(ch.Program.Code) {
		bad.Add("code", ch.Program.Code, "must have 1 to 40 small letters, digits and hyphens, a letter or digit first: it is part of the address")
	}
	ch.Program.titleFacts(&bad)
	if err := bad.Err(); err != nil {
		return err
	}
	p := ch.Program
	p.Version, p.CreatedAt = 1, c.Now
	if p.Timezone == "" {
		p.Timezone = "UTC"
	}
	if p.MockupRoles == nil {
		p.MockupRoles = []string{}
	}
	s.Program = p
	for _, st := range sequence.DefaultSequence() {
		st.ID = c.NewID()
		s.Steps = append(s.Steps, RowOfStep(p.ID, st))
	}
	s.Changed()
	return nil
}

// isProgramCode reports whether a code can be the part of an address that names
// a program.
func isProgramCode(code string) bool {
	if len(code) < 1 || len(code) > 40 || code[0] == '-' {
		return false
	}
	return strings.Trim(code, "abcdefghijklmnopqrstuvwxyz0123456789-") == ""
}

// titleFacts notes what cannot be taken of the facts that a person may edit.
func (p Program) titleFacts(bad *fault.Invalid) {
	need(bad, "name", p.Name, "a program needs a name")
	for _, f := range []struct {
		field, value string
		most         int
	}{{"name", p.Name, 200}, {"owner", p.Owner, 200}, {"carries", p.Carries, 200}, {"contract", p.Contract, 100}} {
		if n := len([]rune(f.value)); n > f.most {
			bad.Add(f.field, f.value, "has %d characters, at most %d", n, f.most)
		}
	}
	if p.Units != "us" && p.Units != "si" {
		bad.Add("units", p.Units, "must be us or si")
	}
	if p.PhotoPolicy != PhotosAsTaken && p.PhotoPolicy != PhotosSealed && p.PhotoPolicy != PhotosNoPlace {
		bad.Add("photo_policy", p.PhotoPolicy, "must be one of the ways that are offered")
	}
	if y := p.BuiltYear; y != nil && (*y < 1800 || *y > 2200) {
		bad.Add("built_year", strconv.Itoa(*y), "must lie from 1800 to 2200, got %d", *y)
	}
	if p.FieldStart != nil && p.CompletionDue != nil && !p.CompletionDue.After(*p.FieldStart) {
		bad.Add("completion_due", p.CompletionDue.Format("2006-01-02"), "must lie after the start of field work, %s", p.FieldStart.Format("2006-01-02"))
	}
}

// EditProgram changes the title facts of a program.
type EditProgram struct {
	Program Program `json:"program"`
	// From is the TitleDigest of the program that the edit was made from; empty
	// asks for no comparison.
	From string `json:"from,omitempty"`
}

// TitleDigest names the title facts of a program as they stand, for an edit to
// say what it was made from.
func (p Program) TitleDigest() string {
	return calc.Digest([]any{p.Name, p.Owner, p.Carries, p.Contract, p.BuiltYear, p.Units, p.Timezone, p.CompletionDue, p.FieldStart, p.PhotoPolicy})
}

// Kind implements Change.
func (EditProgram) Kind() string { return "program.edit" }

// Apply implements Change.
func (ch EditProgram) Apply(s *Scope, c Context) error {
	var bad fault.Invalid
	ch.Program.titleFacts(&bad)
	if err := bad.Err(); err != nil {
		return err
	}
	if err := from(ch.From, s.Program.TitleDigest(), "the title facts"); err != nil {
		return err
	}
	p := &s.Program
	p.Name, p.Owner, p.Carries, p.Contract = ch.Program.Name, ch.Program.Owner, ch.Program.Carries, ch.Program.Contract
	p.BuiltYear, p.Units, p.Timezone = ch.Program.BuiltYear, ch.Program.Units, ch.Program.Timezone
	p.CompletionDue, p.FieldStart, p.PhotoPolicy = ch.Program.CompletionDue, ch.Program.FieldStart, ch.Program.PhotoPolicy
	return nil
}

// from refuses an edit that was made from something that has moved since.
func from(was, is, what string) error {
	if was != "" && was != is {
		return fault.New(fault.Conflict, "%s changed since you opened them; nothing of yours was stored yet", what)
	}
	return nil
}

// AcceptMockup records that the trial casting of the program was accepted.
type AcceptMockup struct {
	Note string `json:"note"`
}

// Kind implements Change.
func (AcceptMockup) Kind() string { return "mockup.accept" }

// Apply implements Change.
func (ch AcceptMockup) Apply(s *Scope, c Context) error {
	var bad fault.Invalid
	need(&bad, "note", ch.Note, "say what was cast, cut and tested")
	notAfter(&bad, "captured_at", c.Captured, c.Now)
	if err := bad.Err(); err != nil {
		return err
	}
	at := c.Captured
	s.Program.MockupAcceptedAt, s.Program.MockupAcceptedBy, s.Program.MockupNote = &at, c.Actor.Name+", "+sequence.RoleWords(c.Actor.Role), ch.Note
	return nil
}

// WithdrawMockup takes the acceptance of the trial casting back: no casting is
// released until another one is accepted.
type WithdrawMockup struct {
	Reason string `json:"reason"`
}

// Kind implements Change.
func (WithdrawMockup) Kind() string { return "mockup.withdraw" }

// Apply implements Change.
func (ch WithdrawMockup) Apply(s *Scope, c Context) error {
	var bad fault.Invalid
	need(&bad, "reason", ch.Reason, "say why the acceptance no longer holds")
	if err := bad.Err(); err != nil {
		return err
	}
	if s.Program.MockupAcceptedAt == nil {
		return fault.New(fault.Refused, "no trial casting is accepted, so none can be withdrawn")
	}
	s.Program.MockupAcceptedAt, s.Program.MockupAcceptedBy = nil, ""
	for i, m := range s.Mockups {
		if m.State == MockupAccepted {
			m.State, m.StateWhy = MockupWithdrawn, ch.Reason+" ("+signed(c.Actor)+")"
			s.Mockups[i] = m
		}
	}
	s.Program.MockupNote = "Withdrawn by " + c.Actor.Name + ", " + sequence.RoleWords(c.Actor.Role) + ": " + ch.Reason
	return nil
}
