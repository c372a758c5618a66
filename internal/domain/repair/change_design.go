package repair

import (
	"strconv"
	"strings"

	"endcast/internal/domain/encasement"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/units"
)

// StudIn is one stud of a draft.
type StudIn struct {
	Mark string       `json:"mark"`
	Row  int          `json:"row"`
	Col  int          `json:"col"`
	X    units.Length `json:"x"`
	Z    units.Length `json:"z"`
	Face string       `json:"face"`
}

// DesignIn is the content of a design revision.
type DesignIn struct {
	StudDiameter units.Length `json:"stud_diameter"`
	StudHeight   units.Length `json:"stud_height"`
	StudFu       units.Stress `json:"stud_fu"`
	Fc           units.Stress `json:"fc"`
	PanelX       units.Length `json:"panel_x"`
	PanelZ       units.Length `json:"panel_z"`
	PanelWidth   units.Length `json:"panel_width"`
	PanelHeight  units.Length `json:"panel_height"`
	PanelLeft    units.Length `json:"panel_left"`
	PanelRight   units.Length `json:"panel_right"`
	PanelGap     units.Length `json:"panel_gap"`
	Studs        []StudIn     `json:"studs"`
	Note         string       `json:"note"`
	Typed        Typed        `json:"typed"`
}

// DesignFrom turns a design of package encasement into the content of a revision.
func DesignFrom(d encasement.Design) DesignIn {
	in := DesignIn{StudDiameter: d.StudDiameter, StudHeight: d.StudHeight, StudFu: d.StudFu, Fc: d.Fc,
		PanelX: d.Panel.X, PanelZ: d.Panel.Z, PanelWidth: d.Panel.Width, PanelHeight: d.Panel.Height,
		PanelLeft: d.Panel.ThicknessLeft, PanelRight: d.Panel.ThicknessRight, PanelGap: d.Panel.Gap}
	for _, s := range d.Studs {
		in.Studs = append(in.Studs, StudIn{s.Mark, s.Row, s.Col, s.X, s.Z, string(s.Face)})
	}
	return in
}

// SaveDesign writes a draft: into the latest revision while it is a draft or
// came back, otherwise as a new revision. A revision that was submitted or
// approved is never altered.
type SaveDesign struct {
	Design DesignIn `json:"design"`
}

// Kind implements Change.
func (SaveDesign) Kind() string { return "design.save" }

// Apply implements Change.
func (ch SaveDesign) Apply(s *Scope, c Context) error {
	r, err := s.One()
	if err != nil {
		return err
	}
	return r.saveDraft(s, c, ch.Design)
}

// saveDraft writes a draft at one end, see SaveDesign.
func (r *Record) saveDraft(s *Scope, c Context, in DesignIn) error {
	d := r.LatestDesign()
	if d == nil || d.State != DesignDraft {
		rev := 1
		if d != nil {
			rev = d.Revision + 1
		}
		r.Designs = append(r.Designs, Design{ID: c.NewID(), EndID: r.End.ID, Revision: rev, State: DesignDraft, DesignedBy: c.Actor.ID, CreatedAt: c.Now})
		d = &r.Designs[len(r.Designs)-1]
	}
	d.StudDiameter, d.StudHeight, d.StudFu, d.Fc = in.StudDiameter, in.StudHeight, in.StudFu, in.Fc
	d.PanelX, d.PanelZ, d.PanelWidth, d.PanelHeight = in.PanelX, in.PanelZ, in.PanelWidth, in.PanelHeight
	d.PanelLeft, d.PanelRight, d.PanelGap = in.PanelLeft, in.PanelRight, in.PanelGap
	d.Note, d.Typed = in.Note, in.Typed
	if d.Typed == nil {
		d.Typed = Typed{}
	}
	d.DesignedBy = c.Actor.ID
	if sv := r.LatestSurvey(); sv != nil {
		id := sv.ID
		d.SurveyID = &id
	}
	id := d.ID
	old := map[string]int{}
	for i, st := range r.Studs {
		if st.DesignID == id && !st.Removed {
			old[st.Mark] = i
		}
	}
	for _, st := range in.Studs {
		row := Stud{EndID: r.End.ID, DesignID: id, Mark: st.Mark, Row: st.Row, Col: st.Col, X: st.X, Z: st.Z, Face: st.Face}
		if i, ok := old[st.Mark]; ok {
			row.ID = r.Studs[i].ID
			r.Studs[i] = row
			delete(old, st.Mark)
			continue
		}
		row.ID = c.NewID()
		r.Studs = append(r.Studs, row)
	}
	for _, i := range old {
		r.Studs[i].Removed = true
	}
	return r.validateDesign(s, id)
}

// SubmitDesign puts the latest draft before the owner's engineer.
type SubmitDesign struct{}

// Kind implements Change.
func (SubmitDesign) Kind() string { return "design.submit" }

// Apply implements Change. A design whose checks do not pass may be submitted
// only with a note that says why.
func (SubmitDesign) Apply(s *Scope, c Context) error {
	r, err := s.One()
	if err != nil {
		return err
	}
	d := r.LatestDesign()
	if d == nil || d.State != DesignDraft {
		return fault.New(fault.Refused, "there is no draft to submit")
	}
	if err := r.validateDesign(s, d.ID); err != nil {
		return err
	}
	if len(r.StudsOf(d.ID)) == 0 {
		return fault.New(fault.Refused, "revision %d has no studs", d.Revision)
	}
	if r.LatestSurvey() == nil {
		return fault.New(fault.Refused, "this end has no survey for a design to stand on")
	}
	// The draft itself, not the revision in force that it may replace.
	ev, err := r.evaluateDesign(s, d, nil)
	if err != nil {
		return err
	}
	if !ev.Passes() && strings.TrimSpace(d.Note) == "" {
		return fault.New(fault.Refused, "%s does not pass; mend it, or say in the design note why it should be reviewed as it is", ev.Governing)
	}
	d.State, d.SubmittedAt = DesignSubmitted, &c.Now
	d.InputDigest = r.designDigest(s, d)
	return nil
}

// ReviewDesign is a decision of the owner's engineer on the submitted revision.
type ReviewDesign struct {
	DesignID string `json:"design_id"`
	Decision string `json:"decision"` // approved, approved_as_noted, returned
	Reasons  string `json:"reasons"`
	// Notes are what an approval as noted asks for, one an entry; without any the
	// reasons are the one note.
	Notes []string `json:"notes,omitempty"`
	// Digest is what the reviewer had on the screen; the decision is refused when
	// the record has moved since.
	Digest string `json:"digest"`
}

// Kind implements Change.
func (ReviewDesign) Kind() string { return "design.review" }

// What a decision means, printed with it.
const (
	MeaningApproved  = "I reviewed this revision with its checks against the survey it stands on and approve it for construction."
	MeaningNoted     = "I reviewed this revision with its checks and approve it for construction with the corrections noted."
	MeaningReturned  = "I reviewed this revision and return it for the reasons given; it is not for construction."
	MeaningConfirmed = "I compared the approved revision with what was found since and confirm that it still holds."
)

// Apply implements Change. Nobody reviews a design of their own.
func (ch ReviewDesign) Apply(s *Scope, c Context) error {
	r, err := s.One()
	if err != nil {
		return err
	}
	return r.review(s, c, ch)
}

// review puts a decision on the submitted revision of one end, see ReviewDesign.
func (r *Record) review(s *Scope, c Context, ch ReviewDesign) error {
	d := r.LatestDesign()
	if d == nil || d.ID != ch.DesignID {
		return fault.New(fault.Conflict, "a later revision exists; review that one")
	}
	if d.State != DesignSubmitted {
		return fault.New(fault.Refused, "revision %d is not waiting for review", d.Revision)
	}
	if d.DesignedBy == c.Actor.ID {
		return fault.New(fault.Refused, "revision %d is your own design; another person must review it", d.Revision)
	}
	now := r.designDigest(s, d)
	if ch.Digest != now {
		return fault.New(fault.Conflict, "what this design stands on has moved since you opened it; look again before deciding")
	}
	var bad fault.Invalid
	meaning := ""
	switch ch.Decision {
	case DesignApproved:
		meaning = MeaningApproved
	case DesignApprovedNoted:
		meaning = MeaningNoted
	case DesignReturned:
		meaning = MeaningReturned
	default:
		bad.Add("decision", ch.Decision, "must be approved, approved as noted or returned")
	}
	notes := ch.notes()
	if ch.Decision == DesignReturned && strings.TrimSpace(ch.Reasons) == "" || ch.Decision == DesignApprovedNoted && len(notes) == 0 {
		bad.Add("reasons", ch.Reasons, "say what is noted, or why it is returned")
	}
	if len(notes) > mostNotes {
		bad.Add("reasons", "", "an approval has at most %d notes, got %d", mostNotes, len(notes))
	}
	for _, n := range notes {
		tooLong(&bad, "reasons", n, longestNoteLine)
	}
	if err := bad.Err(); err != nil {
		return err
	}
	if held := r.HoldingQuestions(s, d.ID); len(held) > 0 && ch.Decision != DesignReturned {
		numbers := make([]string, len(held))
		for i, q := range held {
			numbers[i] = strconv.Itoa(q.Number)
		}
		return fault.New(fault.Refused, "revision %d cannot be approved while question %s is open", d.Revision, strings.Join(numbers, ", "))
	}
	if ch.Decision != DesignReturned {
		for i := range r.Designs {
			o := &r.Designs[i]
			if o.ID != d.ID && (o.State == DesignApproved || o.State == DesignApprovedNoted) {
				o.State = DesignSuperseded
			}
		}
	}
	d.State = ch.Decision
	row := Review{ID: c.NewID(), EndID: r.End.ID, DesignID: d.ID, Decision: ch.Decision, Reasons: ch.Reasons,
		Meaning: meaning, Reviewer: c.Actor.ID, ReviewerName: c.Actor.Name, ReviewerRole: string(c.Actor.Role), At: c.Now, InputDigest: now, StandsOn: r.StandsOn(s, d)}
	r.Reviews = append(r.Reviews, row)
	if ch.Decision == DesignApprovedNoted {
		for i, n := range notes {
			r.ReviewNotes = append(r.ReviewNotes, ReviewNote{ID: c.NewID(), EndID: r.End.ID, DesignID: d.ID, ReviewID: row.ID, Number: i + 1, Note: n})
		}
	}
	return nil
}

const (
	mostNotes       = 20
	longestNoteLine = 500 // characters, so that it fits on a card
)

// notes are the notes of an approval as noted: those given, or each line of the
// reasons.
func (ch ReviewDesign) notes() []string {
	list := ch.Notes
	if len(list) == 0 {
		list = strings.Split(ch.Reasons, "\n")
	}
	var out []string
	for _, n := range list {
		if n = strings.TrimSpace(n); n != "" {
			out = append(out, n)
		}
	}
	return out
}

// ConfirmDesign states that the approved revision still holds for what was
// found since it was approved.
type ConfirmDesign struct {
	DesignID string `json:"design_id"`
	Reasons  string `json:"reasons"`
	Digest   string `json:"digest"`
}

// Kind implements Change.
func (ConfirmDesign) Kind() string { return "design.confirm" }

// Apply implements Change. It refuses a revision whose checks no longer pass. What
// merely confirms is signed as it is; what needs a second look, or stopped the work, is
// signed with the reason why it still holds.
func (ch ConfirmDesign) Apply(s *Scope, c Context) error {
	r, err := s.One()
	if err != nil {
		return err
	}
	d := r.DesignInForce()
	if d == nil || d.ID != ch.DesignID || (d.State != DesignApproved && d.State != DesignApprovedNoted) {
		return fault.New(fault.Refused, "there is no approved revision to confirm")
	}
	if d.DesignedBy == c.Actor.ID {
		return fault.New(fault.Refused, "revision %d is your own design; another person must confirm it", d.Revision)
	}
	now := r.designDigest(s, d)
	if ch.Digest != now {
		return fault.New(fault.Conflict, "what this design stands on has moved since you opened it; look again before confirming")
	}
	if r.approvedDigest(d) == now {
		return fault.New(fault.Refused, "revision %d is current; there is nothing to confirm", d.Revision)
	}
	ev, err := r.evaluateDesign(s, d, nil)
	if err != nil {
		return err
	}
	if !ev.Passes() {
		return fault.New(fault.Refused, "%s does not pass with what was found; a new revision is needed", ev.Governing)
	}
	if m := r.movement(s, d, now, ev); m.Effect > Confirms && strings.TrimSpace(ch.Reasons) == "" {
		w, _ := m.Worst()
		var bad fault.Invalid
		bad.Add("reasons", "", "what was found %s (%s): say why the revision still holds", m.Effect.Words(), w.Line(units.System(s.Program.Units)))
		return bad.Err()
	}
	r.Reviews = append(r.Reviews, Review{ID: c.NewID(), EndID: r.End.ID, DesignID: d.ID, Decision: "confirmed", Reasons: ch.Reasons,
		Meaning: MeaningConfirmed, Reviewer: c.Actor.ID, ReviewerName: c.Actor.Name, ReviewerRole: string(c.Actor.Role), At: c.Now, InputDigest: now,
		StandsOn: r.standsOn(s, d, ev)})
	return nil
}
