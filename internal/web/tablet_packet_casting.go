package web

import (
	"endcast/internal/domain/basis"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/uhpc"
)

// pktCasting is what a pour is entered with: the limits beside which each batch is
// shown at once, in mm, degrees Celsius and minutes, and what specimens may be made.
// The server holds every batch to the same limits again.
type pktCasting struct {
	Limits pktBatchLimits `json:"limits"`
	Kinds  []pktPair      `json:"kinds"`
	Cures  []pktPair      `json:"cures"`
	Plan   []pktSet       `json:"plan"`
	// Default: nobody entered the contract's plan.
	Default bool `json:"default"`
}

type pktBatchLimits struct {
	FlowMin     float64 `json:"flow_min"`
	FlowMax     float64 `json:"flow_max"`
	MixWarm     float64 `json:"mix_warm"`
	MixHot      float64 `json:"mix_hot"`
	AmbientMin  float64 `json:"ambient_min"`
	AmbientMax  float64 `json:"ambient_max"`
	PlaceSlow   float64 `json:"place_slow"`
	PlaceStop   float64 `json:"place_stop"`
	Interval    float64 `json:"interval"`
	FiberOff    float64 `json:"fiber_off"`
	WaterOff    float64 `json:"water_off"`
	SpareVolume float64 `json:"spare_volume"`
}

// pktSet is a set of specimens that the plan asks for.
type pktSet struct {
	Kind        string  `json:"kind"`
	Curing      string  `json:"curing"`
	Duty        string  `json:"duty"`
	NominalDays float64 `json:"nominal_days"`
	Count       int     `json:"count"`
	Purpose     string  `json:"purpose"`
	Per         string  `json:"per"` // casting or batch
}

func packetCasting(frame *repair.Scope) pktCasting {
	b := frame.Basis()
	v := b.Value
	out := pktCasting{Limits: pktBatchLimits{FlowMin: v(basis.FlowMin), FlowMax: v(basis.FlowMax), MixWarm: v(basis.MixWarm), MixHot: v(basis.MixHot), AmbientMin: v(basis.AmbientMin),
		AmbientMax: v(basis.AmbientMax), PlaceSlow: v(basis.PlaceSlow), PlaceStop: v(basis.PlaceStop), Interval: v(basis.BatchInterval), FiberOff: v(basis.FiberOff), WaterOff: v(basis.WaterOff),
		SpareVolume: v(basis.SpareVolume)}, Plan: []pktSet{}}
	for _, k := range uhpc.Kinds() {
		if k.Refused == "" {
			out.Kinds = append(out.Kinds, pktPair{string(k.Kind), k.Name})
		}
	}
	for _, c := range []uhpc.Cure{uhpc.StandardCure, uhpc.FieldCure, uhpc.MatchCure} {
		out.Cures = append(out.Cures, pktPair{string(c), sentenceCase(string(c))})
	}
	plan, byDefault := frame.Plan()
	out.Default = byDefault
	for _, p := range plan {
		out.Plan = append(out.Plan, pktSet{p.Kind, p.Curing, p.Duty, p.NominalDays, p.Count, p.Purpose, p.Per})
	}
	return out
}
