package repair

import (
	"fmt"
	"slices"
	"strings"

	"endcast/internal/domain/calc"
	"endcast/internal/domain/fault"
)

// SetWindowKind says what a kind of access asks for: what is confirmed before work, set-up and hand-back, how often
// windows come.
type SetWindowKind struct {
	forShifts
	Name          string   `json:"name"`
	Confirmations []string `json:"confirmations"`
	SetupMin      int      `json:"setup_min"`
	HandbackMin   int      `json:"handback_min"`
	EveryDays     float64  `json:"every_days"`
	Note          string   `json:"note"`
	// From is the Digest that the edit was made from, NoneBefore for a new one; empty asks for no comparison.
	From string `json:"from,omitempty"`
}

// NoneBefore as From says that there was none when the form was opened.
const NoneBefore = "none"

// Digest names what a kind of access asks for as it stands.
func (k WindowKind) Digest() string { return calc.Digest(k) }

// Digest names a crew as it stands.
func (k Crew) Digest() string { return calc.Digest(k) }

// Digest names what a step takes as it stands.
func (e StepEffort) Digest() string { return calc.Digest(e) }

// Digest names a thing on hand as it stands.
func (k ShiftStock) Digest() string { return calc.Digest(k) }

// stands compares what an edit was made from with what is on record at i, which is negative for nothing.
func stands[T interface{ Digest() string }](list []T, i int, was, what string) error {
	is := NoneBefore
	if i >= 0 {
		is = list[i].Digest()
	}
	return from(was, is, what)
}

// Kind implements Change.
func (SetWindowKind) Kind() string { return "shift.kind" }

// Apply implements Change.
func (ch SetWindowKind) Apply(s *Scope, c Context) error {
	var bad fault.Invalid
	k := WindowKind{ProgramID: s.Program.ID, Name: strings.TrimSpace(ch.Name), Confirmations: lines(ch.Confirmations), SetupMin: ch.SetupMin,
		HandbackMin: ch.HandbackMin, EveryDays: ch.EveryDays, Note: strings.TrimSpace(ch.Note)}
	need(&bad, "name", k.Name, "name the kind of access")
	tooLong(&bad, "name", k.Name, 120)
	tooLong(&bad, "note", k.Note, 2000)
	within(&bad, "setup_min", float64(k.SetupMin), 0, 1440)
	within(&bad, "handback_min", float64(k.HandbackMin), 0, 1440)
	within(&bad, "every_days", k.EveryDays, 0, 366)
	if len(k.Confirmations) > 30 {
		bad.Add("confirmations", "", "has %d lines, at most 30", len(k.Confirmations))
	}
	if err := bad.Err(); err != nil {
		return err
	}
	i := slices.IndexFunc(s.Shifts.Kinds, func(x WindowKind) bool { return x.Name == k.Name })
	if err := stands(s.Shifts.Kinds, i, ch.From, "the facts of this kind of access"); err != nil {
		return err
	}
	if i < 0 {
		k.ID = c.NewID()
		s.Shifts.Kinds = append(s.Shifts.Kinds, k)
		return nil
	}
	k.ID = s.Shifts.Kinds[i].ID
	s.Shifts.Kinds[i] = k
	return nil
}

// lines are texts without blanks and repeats.
func lines(in []string) []string {
	out := []string{}
	for _, l := range in {
		if l = strings.TrimSpace(l); l != "" && !slices.Contains(out, l) {
			out = append(out, l)
		}
	}
	return out
}

// SetCrew names a gang, what it is qualified for and where it works. An empty ID makes a new one.
type SetCrew struct {
	forShifts
	ID      string   `json:"id,omitempty"`
	Name    string   `json:"name"`
	Trades  []string `json:"trades"`
	Kinds   []string `json:"kinds"`
	Note    string   `json:"note"`
	Retired bool     `json:"retired"`
	From    string   `json:"from,omitempty"` // as in SetWindowKind
}

// Kind implements Change.
func (SetCrew) Kind() string { return "shift.crew" }

// Apply implements Change.
func (ch SetCrew) Apply(s *Scope, c Context) error {
	var bad fault.Invalid
	k := Crew{ID: ch.ID, ProgramID: s.Program.ID, Name: strings.TrimSpace(ch.Name), Trades: lines(ch.Trades), Kinds: lines(ch.Kinds), Note: strings.TrimSpace(ch.Note), Retired: ch.Retired}
	need(&bad, "name", k.Name, "name the crew")
	tooLong(&bad, "name", k.Name, 80)
	tooLong(&bad, "note", k.Note, 2000)
	if slices.ContainsFunc(s.Shifts.Crews, func(x Crew) bool { return strings.EqualFold(x.Name, k.Name) && x.ID != k.ID }) {
		bad.Add("name", k.Name, "another crew has this name")
	}
	if err := bad.Err(); err != nil {
		return err
	}
	i := slices.IndexFunc(s.Shifts.Crews, func(x Crew) bool { return x.ID == k.ID })
	if err := stands(s.Shifts.Crews, i, ch.From, "the facts of this crew"); err != nil {
		return err
	}
	if k.ID == "" {
		k.ID = c.NewID()
		s.Shifts.Crews = append(s.Shifts.Crews, k)
		return nil
	}
	if i < 0 {
		return fault.New(fault.NotFound, "this program has no such crew")
	}
	s.Shifts.Crews[i] = k
	return nil
}

// SetEffort says what a step takes.
type SetEffort struct {
	forShifts
	StepID  string         `json:"step_id"`
	Minutes int            `json:"minutes"`
	Trades  []string       `json:"trades"`
	Uses    map[string]int `json:"uses"`
	Source  string         `json:"source"`
	From    string         `json:"from,omitempty"` // as in SetWindowKind
}

// Kind implements Change.
func (SetEffort) Kind() string { return "shift.effort" }

// Apply implements Change.
func (ch SetEffort) Apply(s *Scope, _ Context) error {
	var bad fault.Invalid
	if !slices.ContainsFunc(s.Steps, func(x StepRow) bool { return x.ID == ch.StepID && !x.Retired }) {
		return fault.New(fault.NotFound, "the sequence has no such step")
	}
	e := StepEffort{ProgramID: s.Program.ID, StepID: ch.StepID, Minutes: ch.Minutes, Trades: lines(ch.Trades), Uses: map[string]int{}, Source: strings.TrimSpace(ch.Source)}
	within(&bad, "minutes", float64(e.Minutes), 1, 100000)
	sourced(&bad, e.Source, "say where the figure comes from")
	for name, n := range ch.Uses {
		if name = strings.TrimSpace(name); name == "" || n < 0 || n > 10000 {
			bad.Add("uses", fmt.Sprintf("%s %d", name, n), "name what is used and how many, 0 to 10000")
			continue
		}
		e.Uses[name] = n
	}
	if err := bad.Err(); err != nil {
		return err
	}
	i := slices.IndexFunc(s.Shifts.Efforts, func(x StepEffort) bool { return x.StepID == e.StepID })
	if err := stands(s.Shifts.Efforts, i, ch.From, "what this step takes"); err != nil {
		return err
	}
	if i < 0 {
		s.Shifts.Efforts = append(s.Shifts.Efforts, e)
	} else {
		s.Shifts.Efforts[i] = e
	}
	return nil
}

// SetStock says how many of a thing are on hand.
type SetStock struct {
	forShifts
	Name   string `json:"name"`
	OnHand int    `json:"on_hand"`
	Note   string `json:"note"`
	From   string `json:"from,omitempty"` // as in SetWindowKind
}

// Kind implements Change.
func (SetStock) Kind() string { return "shift.stock" }

// Apply implements Change.
func (ch SetStock) Apply(s *Scope, _ Context) error {
	var bad fault.Invalid
	k := ShiftStock{ProgramID: s.Program.ID, Name: strings.TrimSpace(ch.Name), OnHand: ch.OnHand, Note: strings.TrimSpace(ch.Note)}
	need(&bad, "name", k.Name, "name what is on hand")
	tooLong(&bad, "name", k.Name, 80)
	tooLong(&bad, "note", k.Note, 2000)
	within(&bad, "on_hand", float64(k.OnHand), 0, 1e6)
	if err := bad.Err(); err != nil {
		return err
	}
	i := slices.IndexFunc(s.Shifts.Stock, func(x ShiftStock) bool { return x.Name == k.Name })
	if err := stands(s.Shifts.Stock, i, ch.From, "what is on hand of it"); err != nil {
		return err
	}
	if i < 0 {
		s.Shifts.Stock = append(s.Shifts.Stock, k)
	} else {
		s.Shifts.Stock[i] = k
	}
	return nil
}
