package repair

import "endcast/internal/domain/demand"

// Statics is what the reactions at an end by statics follow from, with every vehicle
// of the program, or in words why they cannot be made.
func (r *Record) Statics(s *Scope) (demand.Input, string) { return r.statics(s, s.Vehicles(), nil) }

// Load is the part as package demand reads it.
func (x LoadPart) Load() demand.Part { return x.part() }
