package demand_test

import (
	"fmt"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/demand"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/units"
)

// One end from the parts of the bridge to its rating factors.
func ExampleRate() {
	span := demand.Span{Length: 80 * units.Foot, Girders: 5, Spacing: 8 * units.Foot, Deck: 8 * units.Inch,
		EdgeLeft: 2 * units.Foot, EdgeRight: 2 * units.Foot, OverhangLeft: 3 * units.Foot, OverhangRight: 3 * units.Foot}
	var b basis.Basis
	loads, err := demand.Reactions(nil, b, demand.Input{
		Span: span, End: demand.End{Girder: 3, Side: girder.Far},
		Parts: []demand.Part{
			demand.Slab(b, 8*units.Inch),
			{Name: "No attachments", Bucket: demand.DC2, Kind: demand.Line, Where: demand.Each},
			{Name: "No wearing surface", Bucket: demand.DW, Kind: demand.Line, Where: demand.Each},
		},
		Trucks: demand.Builtin(), Methods: []demand.Method{demand.LRFR},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	list := demand.Rate(nil, b, demand.RatingInput{Nominal: 190 * units.Kip, Phi: 1, Loads: loads, Trucks: demand.Builtin()[:2],
		Methods: []demand.Method{demand.LRFR}, Span: span.Length, Condition: demand.Good})
	for _, r := range list {
		fmt.Printf("%s %s %.2f: %s\n", r.Vehicle, r.Level.Words(), r.RF, r.Verdict.Words())
	}
	// Output:
	// HL-93 inventory 0.96: does not carry the load
	// HL-93 operating 1.24: carries the load
}
