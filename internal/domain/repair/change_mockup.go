package repair

import (
	"slices"
	"strings"
	"time"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/sequence"
	"endcast/internal/domain/uhpc"
	"endcast/internal/domain/units"
)

// MockupIn is what is recorded of a mock-up. Its batches and specimens are those of
// castings that name it.
type MockupIn struct {
	CastAt       time.Time     `json:"cast_at"`
	StandsFor    string        `json:"stands_for"`
	Width        *units.Length `json:"width"`
	Height       *units.Length `json:"height"`
	Thickness    *units.Length `json:"thickness"`
	Head         *units.Length `json:"head"`
	Obstructions string        `json:"obstructions"`
	Flow         *units.Length `json:"flow"`
	FillMin      *float64      `json:"fill_min"`
	LeakFree     bool          `json:"leak_free"`
	Leaks        string        `json:"leaks"`
	SectionsCut  int           `json:"sections_cut"`
	Voids        string        `json:"voids"`
	FiberSpread  string        `json:"fiber_spread"`
	Note         string        `json:"note"`
	Typed        Typed         `json:"typed"`
}

// validate refuses what cannot be true of a mock-up.
func (in MockupIn) validate(bad *fault.Invalid, s *Scope, c Context) {
	sys := units.System(s.Program.Units)
	notAfter(bad, "cast_at", in.CastAt, c.Now)
	need(bad, "stands_for", in.StandsFor, "say which ends it stands for")
	for _, d := range []struct {
		field string
		v     *units.Length
		least units.Length
		most  units.Length
	}{{"width", in.Width, 10, 10000}, {"height", in.Height, 10, 10000}, {"thickness", in.Thickness, 10, 2000}, {"head", in.Head, 0, 10000}, {"flow", in.Flow, 100, 400}} {
		if d.v != nil && !(*d.v >= d.least && *d.v <= d.most) {
			bad.Add(d.field, number(float64(*d.v)), "must lie from %s to %s, got %s", d.least.Format(sys, -1), d.most.Format(sys, -1), d.v.Format(sys, -1))
		}
	}
	if in.FillMin != nil && !(*in.FillMin > 0 && *in.FillMin <= 600) {
		bad.Add("fill_min", number(*in.FillMin), "time to fill must lie from 0 to 600 minutes, got %s", number(*in.FillMin))
	}
	if in.SectionsCut < 0 || in.SectionsCut > 100 {
		bad.Add("sections_cut", numberText(in.SectionsCut), "sections cut must lie from 0 to 100, got %d", in.SectionsCut)
	}
	if !in.LeakFree {
		need(bad, "leaks", in.Leaks, "say where it leaked, or that it did not")
	}
	if in.SectionsCut > 0 {
		need(bad, "voids", in.Voids, "say what the cut sections show: voids, or none")
		need(bad, "fiber_spread", in.FiberSpread, "say how the fibers lie in the cut sections")
	}
	for _, t := range []struct{ field, v string }{{"stands_for", in.StandsFor}, {"obstructions", in.Obstructions}, {"leaks", in.Leaks}, {"voids", in.Voids}, {"fiber_spread", in.FiberSpread}, {"note", in.Note}} {
		tooLong(bad, t.field, t.v, 4000)
	}
}

// put writes what was recorded into a row.
func (in MockupIn) put(m Mockup) Mockup {
	m.CastAt, m.StandsFor, m.Width, m.Height, m.Thickness, m.Head = stored(in.CastAt), in.StandsFor, in.Width, in.Height, in.Thickness, in.Head
	m.Obstructions, m.Flow, m.FillMin, m.LeakFree, m.Leaks = in.Obstructions, in.Flow, in.FillMin, in.LeakFree, in.Leaks
	m.SectionsCut, m.Voids, m.FiberSpread, m.Note, m.Typed = in.SectionsCut, in.Voids, in.FiberSpread, in.Note, in.Typed.orNone()
	return m
}

// RecordMockup is a trial casting as it was made. It concerns no end yet.
type RecordMockup struct {
	MockupIn
}

// Kind implements Change.
func (RecordMockup) Kind() string { return "mockup.record" }

// Reach implements Reaching.
func (RecordMockup) Reach() Reach { return Reach{Alone: true} }

// Apply implements Change.
func (ch RecordMockup) Apply(s *Scope, c Context) error {
	var bad fault.Invalid
	ch.validate(&bad, s, c)
	if err := bad.Err(); err != nil {
		return err
	}
	next := 1
	for _, m := range s.Mockups {
		next = max(next, m.Number+1)
	}
	s.Mockups = append(s.Mockups, ch.put(Mockup{ID: c.NewID(), ProgramID: s.Program.ID, Number: next, State: MockupRecorded,
		ByUser: c.Actor.ID, ByName: c.Actor.Name, ByRole: string(c.Actor.Role), CapturedAt: c.Captured, ArrivedAt: c.Now}))
	return nil
}

// CorrectMockup adds to the record of a mock-up or puts it right. Decisions that were
// made on what stood there before count no more; an accepted one is withdrawn first.
type CorrectMockup struct {
	Number int `json:"number"`
	MockupIn
	Reason string `json:"reason"`
	// From is the MockupRecordDigest that the correction was made on; empty asks for
	// no comparison.
	From string `json:"from,omitempty"`
}

// Kind implements Change.
func (CorrectMockup) Kind() string { return "mockup.correct" }

// Reach implements Reaching.
func (CorrectMockup) Reach() Reach { return Reach{Alone: true} }

// Apply implements Change.
func (ch CorrectMockup) Apply(s *Scope, c Context) error {
	m, err := s.mockup(ch.Number)
	if err != nil {
		return err
	}
	if m.State == MockupAccepted || m.State == MockupWithdrawn {
		return fault.New(fault.Refused, "mock-up %d is %s: its record stays as it was decided on", m.Number, mockupWords(m.State))
	}
	if err := from(ch.From, MockupRecordDigest(*m), "the record of the mock-up"); err != nil {
		return err
	}
	if err := reasoned(ch.Reason, "say what is added or put right"); err != nil {
		return err
	}
	var bad fault.Invalid
	ch.validate(&bad, s, c)
	if err := bad.Err(); err != nil {
		return err
	}
	*m = ch.put(*m)
	m.State, m.StateWhy = MockupRecorded, ch.Reason+" ("+signed(c.Actor)+")"
	return nil
}

// MeaningMockupAccepted and MeaningMockupNot are what a decision on a mock-up says.
const (
	MeaningMockupAccepted = "I looked at the record of this mock-up, its cut sections and its strengths, and accept it as proof of the way in which the ends are to be cast."
	MeaningMockupNot      = "I looked at the record of this mock-up and do not accept it, for the reasons given."
)

// DecideMockup is the decision of one role on a mock-up. Once each role that the
// program names has accepted it, two persons at least, castings may be released.
type DecideMockup struct {
	Number   int    `json:"number"`
	Decision string `json:"decision"` // accepted or not_accepted
	Reasons  string `json:"reasons"`  // needed where it is not accepted
	Waived   string `json:"waived"`   // why it is accepted without a sound set of strengths
	// From is the MockupDigest that the decision was made on; empty asks for no
	// comparison.
	From string `json:"from,omitempty"`
}

// Kind implements Change.
func (DecideMockup) Kind() string { return "mockup.decide" }

// Reach implements Reaching: an accepted mock-up concerns every end.
func (DecideMockup) Reach() Reach { return Reach{Program: true} }

// Apply implements Change.
func (ch DecideMockup) Apply(s *Scope, c Context) error {
	m, err := s.mockup(ch.Number)
	if err != nil {
		return err
	}
	roles := s.MockupRoles()
	digest := s.MockupDigest(*m)
	switch {
	case !slices.Contains(roles, c.Actor.Role):
		return fault.New(fault.Forbidden, "a mock-up of this program is decided on by %s", roleList(roles, " and "))
	case m.State == MockupAccepted || m.State == MockupWithdrawn:
		return fault.New(fault.Refused, "mock-up %d is %s already", m.Number, mockupWords(m.State))
	}
	if err := from(ch.From, digest, "the record of the mock-up"); err != nil {
		return err
	}
	for _, d := range s.CurrentDecisions(*m) {
		if d.ByUser == c.Actor.ID && d.Role != string(c.Actor.Role) {
			return fault.New(fault.Forbidden, "you decided on this mock-up as %s; each role is another person", sequence.RoleWords(sequence.Role(d.Role)))
		}
	}
	var bad fault.Invalid
	switch ch.Decision {
	case MockupAccepted:
		if !s.MockupProven(*m) {
			need(&bad, "waived", ch.Waived, "no sound set of strengths of this mock-up is on record: say why it is accepted without one")
		}
		if m.SectionsCut == 0 {
			bad.Add("sections_cut", "0", "no section was cut: nobody has seen the inside of it")
		}
	case MockupNotAccepted:
		need(&bad, "reasons", ch.Reasons, "say why it is not accepted")
	default:
		bad.Add("decision", ch.Decision, "must be accepted or not_accepted")
	}
	tooLong(&bad, "reasons", ch.Reasons, 4000)
	tooLong(&bad, "waived", ch.Waived, 4000)
	if err := bad.Err(); err != nil {
		return err
	}
	row := MockupDecision{ID: c.NewID(), ProgramID: s.Program.ID, MockupID: m.ID, Role: string(c.Actor.Role), Decision: ch.Decision, Reasons: ch.Reasons, Waived: ch.Waived,
		Meaning: MeaningMockupAccepted, ByUser: c.Actor.ID, ByName: c.Actor.Name, At: c.Now, Digest: digest}
	if ch.Decision == MockupNotAccepted {
		row.Meaning = MeaningMockupNot
	}
	s.MockupDecisions = append(s.MockupDecisions, row)
	s.concludeMockup(m, roles, c)
	return nil
}

// concludeMockup sets the state of a mock-up by the decisions that count.
func (s *Scope) concludeMockup(m *Mockup, roles []sequence.Role, c Context) {
	m.State, m.StateWhy = MockupRecorded, ""
	var by []string
	people := map[string]bool{}
	for _, role := range roles {
		for _, d := range s.CurrentDecisions(*m) {
			switch {
			case d.Role != string(role):
			case d.Decision == MockupNotAccepted:
				m.State, m.StateWhy = MockupNotAccepted, d.Reasons+" ("+d.ByName+", "+sequence.RoleWords(role)+")"
				return
			default:
				by = append(by, d.ByName+", "+sequence.RoleWords(role))
				people[d.ByUser] = true
			}
		}
	}
	if len(by) < len(roles) || len(people) < len(roles) {
		return
	}
	m.State = MockupAccepted
	at := c.Now
	s.Program.MockupAcceptedAt, s.Program.MockupAcceptedBy = &at, strings.Join(by, "; ")
	s.Program.MockupNote = "Mock-up " + numberText(m.Number) + ", cast " + m.CastAt.Format("2006-01-02") + ", stands for " + m.StandsFor
}

// SetMockupRoles names the roles that must accept a mock-up. What was accepted before
// stays so.
type SetMockupRoles struct {
	Roles []string `json:"roles"`
}

// Kind implements Change.
func (SetMockupRoles) Kind() string { return "mockup.roles" }

// Reach implements Reaching.
func (SetMockupRoles) Reach() Reach { return Reach{Alone: true} }

// Apply implements Change.
func (ch SetMockupRoles) Apply(s *Scope, _ Context) error {
	var bad fault.Invalid
	seen := map[string]bool{}
	for _, r := range ch.Roles {
		role := authz.Role(r)
		if !role.Valid() || role == authz.Manager {
			bad.Add("roles", r, "no role of that name decides on a mock-up")
		}
		if seen[r] {
			bad.Add("roles", r, "is named twice")
		}
		seen[r] = true
	}
	if len(ch.Roles) == 0 {
		bad.Add("roles", "", "at least one role accepts a mock-up")
	}
	if err := bad.Err(); err != nil {
		return err
	}
	s.Program.MockupRoles = slices.Clone(ch.Roles)
	return nil
}

// MockupSets are the sets of specimens of the castings of a mock-up.
func (s *Scope) MockupSets(m Mockup) []uhpc.Set {
	var out []uhpc.Set
	for _, p := range s.Pours {
		if p.MockupID != nil && *p.MockupID == m.ID {
			out = append(out, s.SetsOf(p)...)
		}
	}
	return out
}

// MockupProven reports whether a sound set of the mock-up's strengths is on record.
func (s *Scope) MockupProven(m Mockup) bool {
	return slices.ContainsFunc(s.MockupSets(m), func(x uhpc.Set) bool { return x.Stats(s.Basis()).State == uhpc.Sound })
}
