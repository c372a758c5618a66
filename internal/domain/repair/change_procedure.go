package repair

import (
	"strings"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/resistance"
	"endcast/internal/domain/units"
)

// ProcedureIn is the content of a procedure pack as somebody enters it.
type ProcedureIn struct {
	Name           string       `json:"name"`
	Body           string       `json:"body"`
	Edition        string       `json:"edition"`
	Tag            string       `json:"tag"`
	ZoneHeight     units.Length `json:"zone_height"`
	ZoneSearch     float64      `json:"zone_search"` // part of the web depth, 0 to 1
	LowestRow      units.Length `json:"lowest_row"`
	Averaging      string       `json:"averaging"`
	YieldingSound  float64      `json:"yielding_sound"`
	YieldingHoled  float64      `json:"yielding_holed"`
	CripplingSound float64      `json:"crippling_sound"`
	CripplingHoled float64      `json:"crippling_holed"`
	DeviationFlag  float64      `json:"deviation_flag"`
	DeviationLimit float64      `json:"deviation_limit"`
	HoleLimit      float64      `json:"hole_limit"`
	FewestReadings int          `json:"fewest_readings"`
	Note           string       `json:"note"`
	Typed          Typed        `json:"typed"`
}

// ShippedProcedure is the procedure that ships as a form starts from it.
func (s *Scope) ShippedProcedure() ProcedureIn {
	d := resistance.Default(s.Basis())
	return ProcedureIn{Tag: string(basis.Memory), ZoneHeight: d.ZoneHeight, ZoneSearch: d.ZoneSearch, LowestRow: d.LowestRow, Averaging: string(d.Averaging),
		YieldingSound: 1, YieldingHoled: 1, CripplingSound: 1, CripplingHoled: 1, DeviationFlag: d.DeviationFlag, DeviationLimit: d.DeviationLimit,
		HoleLimit: d.HoleLimit, FewestReadings: d.FewestReadings, Typed: Typed{}}
}

// validate notes what a pack cannot hold. The limits catch a wrong unit or a
// misplaced point; they are no judgement of the text.
func (in ProcedureIn) validate(bad *fault.Invalid) {
	text := func(field, value string, most int, why string) {
		need(bad, field, value, why)
		if n := len([]rune(value)); n > most {
			bad.Add(field, value, "has %d characters, at most %d", n, most)
		}
	}
	text("name", in.Name, 120, "name the procedure as its document does")
	text("body", in.Body, 120, "name the body that issued it")
	text("edition", in.Edition, 120, "name edition, year and clause: that is what the checker opens")
	switch basis.Tag(in.Tag) {
	case basis.Read, basis.SecondHand, basis.Memory, basis.Proposal, basis.Common:
	default:
		bad.Add("tag", in.Tag, "must say how the values came: read, read second-hand, from memory, our proposal, or common practice")
	}
	within(bad, "zone_height", float64(in.ZoneHeight), 10, 2000)
	within(bad, "zone_search", in.ZoneSearch, 0, 1)
	within(bad, "lowest_row", float64(in.LowestRow), 0, 500)
	switch resistance.Averaging(in.Averaging) {
	case resistance.RowMinimum, resistance.ZoneMean, resistance.Thinnest:
	default:
		bad.Add("averaging", in.Averaging, "must be row_minimum, zone_mean or thinnest")
	}
	within(bad, "yielding_sound", in.YieldingSound, 0.05, 2)
	within(bad, "yielding_holed", in.YieldingHoled, 0.05, 2)
	within(bad, "crippling_sound", in.CripplingSound, 0.05, 2)
	within(bad, "crippling_holed", in.CripplingHoled, 0.05, 2)
	within(bad, "deviation_flag", in.DeviationFlag, 0, 10)
	within(bad, "deviation_limit", in.DeviationLimit, 0, 10)
	within(bad, "hole_limit", in.HoleLimit, 0, 10)
	within(bad, "fewest_readings", float64(in.FewestReadings), 0, 400)
	if n := len([]rune(in.Note)); n > 2000 {
		bad.Add("note", in.Note, "has %d characters, at most 2000", n)
	}
}

// EnterProcedure puts a procedure pack on record, transcribed from its text by
// the person who enters it. It is not in force, and cannot be before another
// person has compared it with the text.
type EnterProcedure struct {
	Procedure ProcedureIn `json:"procedure"`
}

// Kind implements Change.
func (EnterProcedure) Kind() string { return "procedure.enter" }

// Reach implements Reaching.
func (EnterProcedure) Reach() Reach { return Reach{Alone: true} }

// Apply implements Change.
func (ch EnterProcedure) Apply(s *Scope, c Context) error {
	var bad fault.Invalid
	in := ch.Procedure
	in.validate(&bad)
	if err := bad.Err(); err != nil {
		return err
	}
	version := 1
	for _, p := range s.Procedures {
		if strings.EqualFold(p.Name, strings.TrimSpace(in.Name)) {
			version = max(version, p.Version+1)
		}
	}
	s.Procedures = append(s.Procedures, Procedure{ID: c.NewID(), ProgramID: s.Program.ID, Name: strings.TrimSpace(in.Name), Version: version, Body: in.Body,
		Edition: in.Edition, Tag: in.Tag, ZoneHeight: in.ZoneHeight, ZoneSearch: in.ZoneSearch, LowestRow: in.LowestRow, Averaging: in.Averaging,
		YieldingSound: in.YieldingSound, YieldingHoled: in.YieldingHoled, CripplingSound: in.CripplingSound, CripplingHoled: in.CripplingHoled,
		DeviationFlag: in.DeviationFlag, DeviationLimit: in.DeviationLimit, HoleLimit: in.HoleLimit, FewestReadings: in.FewestReadings, Note: in.Note,
		Typed: in.Typed.orNone(), TranscribedBy: c.Actor.ID, TranscribedName: c.Actor.Name, TranscribedAt: c.Now})
	return nil
}

// CheckProcedure states that a person other than the one who entered it compared
// every value of a pack with the licensed text.
type CheckProcedure struct {
	ProcedureID string `json:"procedure_id"`
	Note        string `json:"note"` // the copy that was opened, and what was compared
	From        string `json:"from,omitempty"`
}

// Kind implements Change.
func (CheckProcedure) Kind() string { return "procedure.check" }

// Reach implements Reaching.
func (CheckProcedure) Reach() Reach { return Reach{Alone: true} }

// Apply implements Change.
func (ch CheckProcedure) Apply(s *Scope, c Context) error {
	p, err := s.pack(ch.ProcedureID, ch.From)
	if err != nil {
		return err
	}
	if p.Retired() {
		return fault.New(fault.Refused, "%s is retired", p.Title())
	}
	if p.Checked() {
		return fault.New(fault.Refused, "%s was checked by %s already", p.Title(), p.CheckedName)
	}
	if p.TranscribedBy == c.Actor.ID {
		return fault.New(fault.Refused, "you entered %s yourself; another person must compare it with the text", p.Title())
	}
	var bad fault.Invalid
	need(&bad, "note", ch.Note, "name the copy of the text that you compared it with")
	if err := bad.Err(); err != nil {
		return err
	}
	by, at := c.Actor.ID, c.Now
	p.CheckedBy, p.CheckedName, p.CheckedAt, p.CheckNote = &by, c.Actor.Name, &at, ch.Note
	return nil
}

// PutProcedureInForce makes every evaluation of the program follow a checked
// pack, or, with no identifier, the procedure that ships. Every end of the scope
// is recomputed with it.
type PutProcedureInForce struct {
	ProcedureID string `json:"procedure_id"`
	Reason      string `json:"reason"`
	// From is the InForceDigest that the choice was made from; empty asks for no
	// comparison.
	From string `json:"from,omitempty"`
}

// Kind implements Change.
func (PutProcedureInForce) Kind() string { return "procedure.force" }

// Reach implements Reaching.
func (PutProcedureInForce) Reach() Reach { return Reach{Program: true} }

// Apply implements Change.
func (ch PutProcedureInForce) Apply(s *Scope, c Context) error {
	var bad fault.Invalid
	need(&bad, "reason", ch.Reason, "say why the program follows this procedure")
	if err := bad.Err(); err != nil {
		return err
	}
	if err := from(ch.From, s.InForceDigest(), "the procedure in force"); err != nil {
		return err
	}
	var next *Procedure
	if ch.ProcedureID != "" {
		if next = s.Procedure(ch.ProcedureID); next == nil {
			return fault.New(fault.NotFound, "the program has no such procedure")
		}
		switch {
		case next.Retired():
			return fault.New(fault.Refused, "%s is retired", next.Title())
		case !next.Checked():
			return fault.New(fault.Refused, "%s has not been compared with its text by a second person; it may be looked at beside, not put in force", next.Title())
		case next.InForce:
			return fault.New(fault.Refused, "%s is in force already", next.Title())
		}
	}
	was := s.InForce()
	if was == nil && next == nil {
		return fault.New(fault.Refused, "the procedure that ships is in force already")
	}
	at := c.Now
	if was != nil {
		was.InForce, was.ForceSince, was.ForceReason = false, &at, ch.Reason
	}
	if next != nil {
		next.InForce, next.ForceSince, next.ForceReason = true, &at, ch.Reason
	}
	return nil
}

// RetireProcedure takes a pack out of use for good. One in force is replaced first.
type RetireProcedure struct {
	ProcedureID string `json:"procedure_id"`
	Reason      string `json:"reason"`
	From        string `json:"from,omitempty"`
}

// Kind implements Change.
func (RetireProcedure) Kind() string { return "procedure.retire" }

// Reach implements Reaching.
func (RetireProcedure) Reach() Reach { return Reach{Alone: true} }

// Apply implements Change.
func (ch RetireProcedure) Apply(s *Scope, c Context) error {
	p, err := s.pack(ch.ProcedureID, ch.From)
	if err != nil {
		return err
	}
	if p.Retired() {
		return fault.New(fault.Refused, "%s is retired already", p.Title())
	}
	if p.InForce {
		return fault.New(fault.Refused, "%s is in force; put another one in force first", p.Title())
	}
	var bad fault.Invalid
	need(&bad, "reason", ch.Reason, "say why it is not to be used")
	if err := bad.Err(); err != nil {
		return err
	}
	at := c.Now
	p.RetiredAt, p.RetiredReason = &at, ch.Reason
	return nil
}

// pack finds a pack and compares it with what the change was made from.
func (s *Scope) pack(id, was string) (*Procedure, error) {
	p := s.Procedure(id)
	if p == nil {
		return nil, fault.New(fault.NotFound, "the program has no such procedure")
	}
	return p, from(was, p.Digest(), "this procedure")
}
