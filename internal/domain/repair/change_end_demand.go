package repair

import (
	"endcast/internal/domain/calc"
	"endcast/internal/domain/demand"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/units"
)

// EndDemandIn is how the demand at an end is to come.
type EndDemandIn struct {
	How             string       `json:"how"`
	DC1             *units.Force `json:"dc1"` // unfactored, of ByHandParts
	DC2             *units.Force `json:"dc2"`
	DW              *units.Force `json:"dw"`
	Live            *units.Force `json:"live"` // HL-93 with share and impact
	Condition       string       `json:"condition"`
	LossMeasured    bool         `json:"loss_measured"`
	WearingMeasured bool         `json:"wearing_measured"`
	Source          string       `json:"source"`
	Typed           Typed        `json:"typed"`
}

// EditEndDemand says how the demand at one end or several comes. Approved designs
// whose factored reaction moves by it go out of date.
type EditEndDemand struct {
	Demand EndDemandIn `json:"demand"`
	// From is the EndDemandDigest that the edit of one end was made from; empty asks
	// for no comparison.
	From string `json:"from,omitempty"`
}

// Kind implements Change.
func (EditEndDemand) Kind() string { return "end.demand" }

// Apply implements Change, to every end of the scope.
func (ch EditEndDemand) Apply(s *Scope, c Context) error {
	if len(s.Ends) == 0 {
		return fault.New(fault.Malformed, "this entry concerns one end or several, got none")
	}
	in := ch.Demand
	var bad fault.Invalid
	sourced(&bad, in.Source, "name the calculation or the drawing that it follows")
	parts := []struct {
		field string
		v     *units.Force
	}{{"dc1", in.DC1}, {"dc2", in.DC2}, {"dw", in.DW}, {"live", in.Live}}
	switch in.How {
	case ByHandTotal, ByStatics:
		for _, x := range parts {
			if x.v != nil {
				bad.Add(x.field, "", "belongs to parts by hand alone")
			}
		}
	case ByHandParts:
		for _, x := range parts {
			low := 0.0
			if x.field == "live" {
				low = 1
			}
			if x.v == nil {
				bad.Add(x.field, "", "all four parts are needed; write 0 for a dead load that is not there")
				continue
			}
			within(&bad, x.field, float64(*x.v), low, 1e8)
		}
	default:
		bad.Add("how", in.How, "must be by_hand_total, by_hand_parts or by_statics")
	}
	if demand.Condition(in.Condition).Words() == "unknown" {
		bad.Add("condition", in.Condition, "must be good, fair, poor or empty for not stated")
	}
	if err := bad.Err(); err != nil {
		return err
	}
	if len(s.Ends) == 1 {
		if err := from(ch.From, s.Ends[0].EndDemandDigest(), "how the demand of this end comes"); err != nil {
			return err
		}
	}
	for _, r := range s.Ends {
		r.EndDemands = []EndDemand{{EndID: r.End.ID, How: in.How, DC1: in.DC1, DC2: in.DC2, DW: in.DW, Live: in.Live, Condition: in.Condition,
			LossMeasured: in.LossMeasured, WearingMeasured: in.WearingMeasured, Source: in.Source, Typed: in.Typed.orNone(),
			SetBy: c.Actor.ID, SetByName: c.Actor.Name, SetAt: c.Now}}
	}
	return s.resolvable()
}

// EndDemandDigest names how the demand comes as it stands.
func (r *Record) EndDemandDigest() string { return calc.Digest(r.EndDemands) }
