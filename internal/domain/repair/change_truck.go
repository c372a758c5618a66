package repair

import (
	"slices"
	"strings"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/demand"
	"endcast/internal/domain/fault"
)

// EditTruck enters a vehicle of the program, changes one that ships by its code, or
// retires one. Every rating follows.
type EditTruck struct {
	Truck  demand.Truck `json:"truck"`
	Retire bool         `json:"retire"` // the code alone is read then, and the source, which says why
	Typed  Typed        `json:"typed"`
	// From is the TruckDigest that the edit was made from; empty asks for no
	// comparison.
	From string `json:"from,omitempty"`
}

// Kind implements Change.
func (EditTruck) Kind() string { return "truck.edit" }

// Reach implements Reaching.
func (EditTruck) Reach() Reach { return Reach{Program: true} }

// Apply implements Change. Every end of the scope is recomputed with it.
func (ch EditTruck) Apply(s *Scope, c Context) error {
	t := ch.Truck
	t.Code = strings.TrimSpace(t.Code)
	var bad fault.Invalid
	at := slices.IndexFunc(s.Vehicles(), func(x demand.Truck) bool { return x.Code == t.Code })
	if ch.Retire {
		sourced(&bad, t.Source, "say why the vehicle is not rated any more")
		if at < 0 {
			return fault.New(fault.NotFound, "the program has no vehicle %s", t.Code)
		}
		why := t.Source
		t = s.Vehicles()[at]
		t.Source = why
		if t.Title() == demand.HL93 {
			return fault.New(fault.Refused, "%s makes the demand that designs stand on; it may be changed, not retired", t.Code)
		}
	} else {
		sourced(&bad, t.Source, "name the permit, the rule or the drawing that the vehicle comes from")
		if t.Tag == "" {
			t.Tag = basis.Read
		}
		refuse(&bad, "", t.Validate())
		if len(bad.Fields) == 0 {
			bad = s.fits(t)
		}
	}
	if err := bad.Err(); err != nil {
		return err
	}
	if err := from(ch.From, s.TruckDigest(t.Code), "this vehicle"); err != nil {
		return err
	}
	row := rowOfTruck(t)
	row.ProgramID, row.Retired, row.Typed = s.Program.ID, ch.Retire, ch.Typed.orNone()
	row.SetBy, row.SetByName, row.SetAt = c.Actor.ID, c.Actor.Name, c.Now
	if i := slices.IndexFunc(s.Trucks, func(x Truck) bool { return x.Code == t.Code }); i >= 0 {
		row.ID = s.Trucks[i].ID
		s.Trucks[i] = row
	} else {
		row.ID = c.NewID()
		s.Trucks = append(s.Trucks, row)
	}
	s.Changed()
	return s.resolvable()
}

// fits refuses a vehicle that the others of the program do not go with.
func (s *Scope) fits(t demand.Truck) fault.Invalid {
	var bad fault.Invalid
	all := slices.DeleteFunc(slices.Clone(s.Vehicles()), func(x demand.Truck) bool { return x.Code == t.Code })
	all = append(all, t)
	in := demand.RatingInput{Nominal: 1, Phi: 1, Trucks: all}
	if inv, ok := in.Validate().(*fault.Invalid); ok {
		for _, f := range inv.Fields {
			_, name, _ := strings.Cut(f.Field, "].")
			bad.Add(name, f.Typed, "%s", f.Reason)
		}
	}
	return bad
}

func rowOfTruck(t demand.Truck) Truck {
	row := Truck{Code: t.Code, Name: t.Name, Class: string(t.Class), Gross: t.Gross, Lane: t.Lane, LanePoint: t.LanePoint, LaneAlone: t.LaneAlone, Load: t.Load,
		Method: string(t.Method), OneLane: t.OneLane, Gamma: t.Gamma, Over: t.Over, Source: t.Source, Tag: string(t.Tag)}
	for _, a := range t.Axles {
		row.AxleLoads, row.AxleGaps, row.GapsMax = append(row.AxleLoads, a.Load), append(row.AxleGaps, a.Gap), append(row.GapsMax, a.GapMax)
	}
	return row
}

// Truck is the program's own row of a vehicle, nil where the shipped one stands or
// there is none.
func (s *Scope) Truck(code string) *Truck {
	for i := range s.Trucks {
		if s.Trucks[i].Code == code {
			return &s.Trucks[i]
		}
	}
	return nil
}

// TruckDigest names a vehicle as it stands.
func (s *Scope) TruckDigest(code string) string {
	for _, t := range s.Vehicles() {
		if t.Code == code {
			return calc.Digest([]any{t, s.Truck(code)})
		}
	}
	return calc.Digest([]any{code, s.Truck(code)})
}
