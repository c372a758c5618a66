package repair

import (
	"errors"
	"fmt"
	"strings"

	"endcast/internal/domain/calc"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/sequence"
)

// EditSequence replaces the program's sequence by an edited one. Steps that are
// no longer named are retired and keep what was done under them.
type EditSequence struct {
	Steps []sequence.Step `json:"steps"` // those in use; an empty ID makes a new one
	// From is the SequenceDigest that the edit was made from; empty asks for no
	// comparison.
	From string `json:"from,omitempty"`
}

// Kind implements Change.
func (EditSequence) Kind() string { return "sequence.edit" }

// SequenceDigest names the sequence as it stands, for an edit to say what it was
// made from.
func (s *Scope) SequenceDigest() string { return calc.Digest(s.Sequence()) }

// Apply implements Change. A problem of one step is told at the field
// "s" + place in Steps + "." + name of the field.
func (ch EditSequence) Apply(s *Scope, c Context) error {
	if err := from(ch.From, s.SequenceDigest(), "the steps of the sequence"); err != nil {
		return err
	}
	edited := append([]sequence.Step(nil), ch.Steps...)
	place := make(map[string]int, len(edited))
	for i := range edited {
		if edited[i].ID == "" {
			edited[i].ID = c.NewID()
		}
		place[edited[i].ID] = i
	}
	var bad fault.Invalid
	s.keepCodes(edited, &bad)
	revised, err := sequence.Revise(s.Sequence(), edited, c.Now)
	var inv *sequence.Invalid
	switch {
	case errors.As(err, &inv):
		for _, p := range inv.Problems {
			field := p.Field
			if i, ok := place[p.StepID]; ok {
				field = fmt.Sprintf("s%d.%s", i, p.Field)
			}
			bad.Add(field, "", "%s", p.Text)
		}
	case err != nil:
		return err
	}
	if err := bad.Err(); err != nil {
		return err
	}
	at := map[string]int{}
	for i, row := range s.Steps {
		at[row.ID] = i
	}
	for _, st := range revised {
		row := RowOfStep(s.Program.ID, st)
		if i, ok := at[st.ID]; ok {
			s.Steps[i] = row
		} else {
			s.Steps = append(s.Steps, row)
		}
	}
	s.Changed()
	return nil
}

// keepCodes refuses another code for a step on record, and a code of a retired
// step for a new one: photographs and the choice of ends are filed under it.
func (s *Scope) keepCodes(edited []sequence.Step, bad *fault.Invalid) {
	was := map[string]sequence.Step{}
	retired := map[string]string{}
	for _, st := range s.Sequence() {
		was[st.ID] = st
		if st.Retired {
			retired[strings.ToLower(st.Code)] = st.ID
		}
	}
	for i, st := range edited {
		if old, ok := was[st.ID]; ok {
			if old.Code != st.Code {
				bad.Add(fmt.Sprintf("s%d.code", i), st.Code, "the code of a step on record stays %s: photographs and chosen ends are filed under it", old.Code)
			}
			continue
		}
		if id := retired[strings.ToLower(strings.TrimSpace(st.Code))]; id != "" {
			bad.Add(fmt.Sprintf("s%d.code", i), st.Code, "is the code of a retired step: bring that one back, or take another code")
		}
	}
}
