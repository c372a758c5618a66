package repair

import (
	"slices"
	"strconv"
	"strings"

	"endcast/internal/domain/basis"
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
	need(&bad, "code", ch.Program.Code, "a program needs a short code for its address")
	need(&bad, "name", ch.Program.Name, "a program needs a name")
	if ch.Program.Units != "us" && ch.Program.Units != "si" {
		bad.Add("units", ch.Program.Units, "must be us or si")
	}
	if err := bad.Err(); err != nil {
		return err
	}
	p := ch.Program
	p.Version, p.CreatedAt = 1, c.Now
	if p.Timezone == "" {
		p.Timezone = "UTC"
	}
	s.Program = p
	for _, st := range sequence.DefaultSequence() {
		st.ID = c.NewID()
		s.Steps = append(s.Steps, RowOfStep(p.ID, st))
	}
	s.Changed()
	return nil
}

// EditProgram changes the title facts of a program.
type EditProgram struct {
	Program Program `json:"program"`
}

// Kind implements Change.
func (EditProgram) Kind() string { return "program.edit" }

// Apply implements Change.
func (ch EditProgram) Apply(s *Scope, c Context) error {
	var bad fault.Invalid
	need(&bad, "name", ch.Program.Name, "a program needs a name")
	if ch.Program.Units != "us" && ch.Program.Units != "si" {
		bad.Add("units", ch.Program.Units, "must be us or si")
	}
	if err := bad.Err(); err != nil {
		return err
	}
	p := &s.Program
	p.Name, p.Owner, p.Carries, p.Contract = ch.Program.Name, ch.Program.Owner, ch.Program.Carries, ch.Program.Contract
	p.BuiltYear, p.Units, p.Timezone = ch.Program.BuiltYear, ch.Program.Units, ch.Program.Timezone
	p.CompletionDue, p.FieldStart = ch.Program.CompletionDue, ch.Program.FieldStart
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
	if err := bad.Err(); err != nil {
		return err
	}
	at := c.Captured
	s.Program.MockupAcceptedAt, s.Program.MockupAcceptedBy, s.Program.MockupNote = &at, c.Actor.Name+", "+sequence.RoleWords(c.Actor.Role), ch.Note
	return nil
}

// EditBasis changes one setting of the design basis, with its source.
type EditBasis struct {
	Key    string  `json:"key"`
	Value  float64 `json:"value"`
	Typed  string  `json:"typed"`
	Source string  `json:"source"`
}

// Kind implements Change.
func (EditBasis) Kind() string { return "basis.edit" }

// Apply implements Change. Every end of the scope is recomputed with it.
func (ch EditBasis) Apply(s *Scope, c Context) error {
	var bad fault.Invalid
	need(&bad, "source", ch.Source, "name the document, edition and clause that the value comes from")
	if _, ok := basis.Lookup(basis.Key(ch.Key)); !ok {
		bad.Add("key", ch.Key, "no setting of that name")
	} else if _, err := s.Basis().With(basis.Key(ch.Key), ch.Value); err != nil {
		bad.Add("value", ch.Typed, "%s", strings.TrimPrefix(err.Error(), "design basis: "))
	}
	if err := bad.Err(); err != nil {
		return err
	}
	row := BasisSetting{ProgramID: s.Program.ID, Key: ch.Key, Value: ch.Value, Typed: ch.Typed, Source: ch.Source, SetBy: c.Actor.ID, SetAt: c.Now}
	if i := slices.IndexFunc(s.Settings, func(x BasisSetting) bool { return x.Key == ch.Key }); i >= 0 {
		s.Settings[i] = row
	} else {
		s.Settings = append(s.Settings, row)
	}
	s.Changed()
	return nil
}

// SetWindow plans an access window or records what became of it.
type SetWindow struct {
	Window Window `json:"window"` // an empty ID makes a new one
}

// Kind implements Change.
func (SetWindow) Kind() string { return "window.set" }

// Apply implements Change.
func (ch SetWindow) Apply(s *Scope, c Context) error {
	w := ch.Window
	var bad fault.Invalid
	need(&bad, "kind", w.Kind, "name the kind of access")
	if !w.EndsAt.After(w.StartsAt) {
		bad.Add("ends_at", w.EndsAt.String(), "must lie after the start, %s", w.StartsAt)
	}
	if !slices.Contains([]string{"planned", "granted", "shortened", "lost", "used"}, w.State) {
		bad.Add("state", w.State, "must be planned, granted, shortened, lost or used")
	}
	if (w.State == "lost" || w.State == "shortened") && (strings.TrimSpace(w.Party) == "" || strings.TrimSpace(w.Reason) == "") {
		bad.Add("reason", w.Reason, "a lost or shortened window needs its party and reason")
	}
	if err := bad.Err(); err != nil {
		return err
	}
	w.ProgramID = s.Program.ID
	if w.ID == "" {
		w.ID = c.NewID()
		s.Windows = append(s.Windows, w)
		return nil
	}
	i := slices.IndexFunc(s.Windows, func(x Window) bool { return x.ID == w.ID })
	if i < 0 {
		return fault.New(fault.NotFound, "this program has no such window")
	}
	s.Windows[i] = w
	return nil
}
