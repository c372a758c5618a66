package demand

import (
	"endcast/internal/domain/basis"
	"endcast/internal/domain/units"
)

// Lane loads of the vehicles that ship.
const (
	kipFoot    = float64(units.Kip) / float64(units.Foot) // N/mm in a kip per foot
	designLane = 0.64 * kipFoot
	legalLane  = 0.2 * kipFoot
)

const (
	sourceLRFD  = "AASHTO LRFD BDS 3.6.1.2 to 3.6.1.4; axles read second-hand"
	sourceLegal = "AASHTO Manual for Bridge Evaluation, appendix D6A; gross weight and wheelbase read second-hand, axles from memory"
	sourceHaul  = "NCHRP Report 575 (2007), FHWA memorandum of 15 November 2013; gross weight and wheelbase read second-hand, axles from memory"
	sourceFire  = "FHWA memorandum of November 2016; gross weight and wheelbase read second-hand, axles from memory"
	sourceHS20  = "AASHTO Standard Specifications, 17th edition, 3.7; lane load agrees with Bridge and Highway Structure Rehabilitation and Repair (McGraw-Hill, 2010), table 6.7"
)

// Names of the design loads.
const (
	HL93 = "HL-93"
	HS20 = "HS20"
)

// train makes axles from loads in kip and the gaps between them in feet.
func train(kips []float64, feet ...float64) []Axle {
	axles := make([]Axle, len(kips))
	for i, k := range kips {
		axles[i].Load = units.Force(k) * units.Kip
		if i > 0 {
			axles[i].Gap = units.Length(feet[i-1]) * units.Foot
		}
	}
	return axles
}

// upTo makes the gap before axle i variable, to a longest in feet.
func upTo(axles []Axle, i int, feet float64) []Axle {
	axles[i].GapMax = units.Length(feet) * units.Foot
	return axles
}

// Builtin returns the vehicles that ship with the program, each a fresh copy. They
// are data: an owner may change them and add others.
func Builtin() []Truck {
	haul := func(code, name string, gvw float64, axles []Axle) Truck {
		return Truck{Code: code, Name: name, Class: SpecialHauling, Axles: axles, Gross: units.Force(gvw) * units.Kip, Source: sourceHaul, Tag: basis.Memory}
	}
	legal := func(code, name string, gvw float64, axles []Axle) Truck {
		return Truck{Code: code, Name: name, Class: Legal, Axles: axles, Gross: units.Force(gvw) * units.Kip, Source: sourceLegal, Tag: basis.Memory}
	}
	fire := func(code, name string, gvw float64, axles []Axle) Truck {
		return Truck{Code: code, Name: name, Class: Emergency, Axles: axles, Gross: units.Force(gvw) * units.Kip, Source: sourceFire, Tag: basis.Memory}
	}
	long := legal("LEGAL-LANE", "Three quarters of Type 3-3 with a lane load, spans over 200 ft", 60,
		train([]float64{9, 9, 9, 12, 10.5, 10.5}, 15, 4, 15, 16, 4))
	long.Lane, long.Over, long.Source = legalLane, 200*units.Foot, "AASHTO Manual for Bridge Evaluation 6A.4.4.2.1; read second-hand"
	return []Truck{
		{Code: "HL93-TRUCK", Name: "HL-93 design truck with lane load", Class: Design, Load: HL93, Method: LRFR, Lane: designLane, Gross: 72 * units.Kip,
			Axles: upTo(train([]float64{8, 32, 32}, 14, 14), 2, 30), Source: sourceLRFD, Tag: basis.SecondHand},
		{Code: "HL93-TANDEM", Name: "HL-93 design tandem with lane load", Class: Design, Load: HL93, Method: LRFR, Lane: designLane, Gross: 50 * units.Kip,
			Axles: train([]float64{25, 25}, 4), Source: sourceLRFD, Tag: basis.SecondHand},
		{Code: HS20, Name: "HS20 truck or lane load", Class: Design, Method: LoadFactor, Lane: designLane, LanePoint: 26 * units.Kip, LaneAlone: true, Gross: 72 * units.Kip,
			Axles: upTo(train([]float64{8, 32, 32}, 14, 14), 2, 30), Source: sourceHS20, Tag: basis.Memory},
		legal("T3", "Type 3", 50, train([]float64{16, 17, 17}, 15, 4)),
		legal("T3S2", "Type 3S2", 72, train([]float64{10, 15.5, 15.5, 15.5, 15.5}, 11, 4, 22, 4)),
		legal("T3-3", "Type 3-3", 80, train([]float64{12, 12, 12, 16, 14, 14}, 15, 4, 15, 16, 4)),
		long,
		haul("SU4", "Single unit, four axles", 54, train([]float64{12, 8, 17, 17}, 10, 4, 4)),
		haul("SU5", "Single unit, five axles", 62, train([]float64{12, 8, 8, 17, 17}, 10, 4, 4, 4)),
		haul("SU6", "Single unit, six axles", 69.5, train([]float64{11.5, 8, 8, 17, 17, 8}, 10, 4, 4, 4, 4)),
		haul("SU7", "Single unit, seven axles", 77.5, train([]float64{11.5, 8, 8, 17, 17, 8, 8}, 10, 4, 4, 4, 4, 4)),
		haul("NRL", "Notional rating load", 80, upTo(train([]float64{6, 8, 8, 17, 17, 8, 8, 8}, 6, 4, 4, 4, 4, 4, 4), 1, 14)),
		fire("EV2", "Emergency vehicle, two axles", 57.5, train([]float64{24, 33.5}, 15)),
		fire("EV3", "Emergency vehicle, three axles", 86, train([]float64{24, 31, 31}, 15, 4)),
		{Code: "FATIGUE", Name: "Fatigue truck", Class: Fatigue, Method: LRFR, OneLane: true, Gross: 72 * units.Kip,
			Axles: train([]float64{8, 32, 32}, 14, 30), Source: sourceLRFD, Tag: basis.Memory},
	}
}
