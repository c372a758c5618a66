package repair

import (
	"strings"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/units"
)

// EndFacts are the as-built facts of an end that a person may edit.
type EndFacts struct {
	Alias           string       `json:"alias"`
	Skew            units.Angle  `json:"skew"`
	SectionID       string       `json:"section_id"`
	BearingKind     string       `json:"bearing_kind"`
	BearingFixed    bool         `json:"bearing_fixed"`
	BearingStart    units.Length `json:"bearing_start"`
	BearingLength   units.Length `json:"bearing_length"`
	BearingWidth    units.Length `json:"bearing_width"`
	StiffenerPairs  int          `json:"stiffener_pairs"`
	StiffenerWidth  units.Length `json:"stiffener_width"`
	StiffenerThick  units.Length `json:"stiffener_thick"`
	StiffenerClip   units.Length `json:"stiffener_clip"`
	StiffenerX      units.Length `json:"stiffener_x"`
	StiffenerFy     units.Stress `json:"stiffener_fy"`
	Fy              units.Stress `json:"fy"`
	Fu              units.Stress `json:"fu"`
	FyOrigin        string       `json:"fy_origin"`
	HeldAgainstRoll bool         `json:"held_against_roll"`
	DiaphragmX      units.Length `json:"diaphragm_x"`
	EndPanel        units.Length `json:"end_panel"`
	Reaction        units.Force  `json:"reaction"`
	ReactionOrigin  string       `json:"reaction_origin"`
	Access          string       `json:"access"`
	Typed           Typed        `json:"typed"`
}

// FactsOf returns the editable facts of an end.
func FactsOf(e End) EndFacts {
	return EndFacts{e.Alias, e.Skew, e.SectionID, e.BearingKind, e.BearingFixed, e.BearingStart, e.BearingLength, e.BearingWidth,
		e.StiffenerPairs, e.StiffenerWidth, e.StiffenerThick, e.StiffenerClip, e.StiffenerX, e.StiffenerFy, e.Fy, e.Fu, e.FyOrigin,
		e.HeldAgainstRoll, e.DiaphragmX, e.EndPanel, e.Reaction, e.ReactionOrigin, e.Access, e.Typed}
}

func (f EndFacts) into(e *End) {
	e.Alias, e.Skew, e.SectionID = f.Alias, f.Skew, f.SectionID
	e.BearingKind, e.BearingFixed = f.BearingKind, f.BearingFixed
	e.BearingStart, e.BearingLength, e.BearingWidth = f.BearingStart, f.BearingLength, f.BearingWidth
	e.StiffenerPairs, e.StiffenerWidth, e.StiffenerThick = f.StiffenerPairs, f.StiffenerWidth, f.StiffenerThick
	e.StiffenerClip, e.StiffenerX, e.StiffenerFy = f.StiffenerClip, f.StiffenerX, f.StiffenerFy
	e.Fy, e.Fu, e.FyOrigin = f.Fy, f.Fu, f.FyOrigin
	e.HeldAgainstRoll, e.DiaphragmX = f.HeldAgainstRoll, f.DiaphragmX
	e.EndPanel = f.EndPanel
	e.Reaction, e.ReactionOrigin, e.Access = f.Reaction, f.ReactionOrigin, f.Access
	e.Typed = f.Typed
	if e.Typed == nil {
		e.Typed = Typed{}
	}
}

// EditEnd changes the as-built facts of an end or the reaction it must carry.
type EditEnd struct {
	Facts  EndFacts `json:"facts"`
	Reason string   `json:"reason"` // why: kept in the journal
}

// Kind implements Change.
func (EditEnd) Kind() string { return "end.edit" }

// Apply implements Change.
func (ch EditEnd) Apply(s *Scope, c Context) error {
	r, err := s.One()
	if err != nil {
		return err
	}
	if strings.TrimSpace(ch.Reason) == "" {
		var bad fault.Invalid
		bad.Add("reason", ch.Reason, "say why the facts of this end change")
		return bad.Err()
	}
	ch.Facts.into(&r.End)
	r.End.UpdatedAt = c.Now
	return r.validateEnd(s)
}

// ChooseSteps sets which of the steps meant for chosen ends this end goes through.
type ChooseSteps struct {
	Codes []string `json:"codes"`
}

// Kind implements Change.
func (ChooseSteps) Kind() string { return "end.choose_steps" }

// Apply implements Change.
func (ch ChooseSteps) Apply(s *Scope, c Context) error {
	r, err := s.One()
	if err != nil {
		return err
	}
	var bad fault.Invalid
	out := []string{}
	for _, code := range ch.Codes {
		ok := false
		for _, st := range s.Sequence() {
			if st.Code == code && !st.Retired && !st.AppliesToAll {
				ok = true
			}
		}
		if !ok {
			bad.Add("steps", code, "no step of that code is meant for chosen ends")
		}
		out = append(out, code)
	}
	r.End.ChosenSteps = out
	return bad.Err()
}
