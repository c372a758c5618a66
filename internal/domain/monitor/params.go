package monitor

import (
	"math"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/fault"
)

// MethodVersion counts the ways in which passages are found and judged. It is part
// of what is stored with them: raise it when the same record would give others.
const MethodVersion = 2

// Params are everything that the search for passages depends on, as it is stored
// with what was found. Times are seconds, strains microstrain. ParamsOf fills it
// from the design basis; see there for where each default comes from.
type Params struct {
	Version       int     `json:"version"`
	Block         float64 `json:"block"`  // length of a block of the baseline
	Window        int     `json:"window"` // blocks of the running median, odd
	Smooth        float64 `json:"smooth"`
	OnSigma       float64 `json:"on_sigma"`
	OnLeast       float64 `json:"on_least"`
	OffSigma      float64 `json:"off_sigma"`
	OffLeast      float64 `json:"off_least"`
	Merge         float64 `json:"merge"`
	Shortest      float64 `json:"shortest"`
	Longest       float64 `json:"longest"`
	Occupancy     float64 `json:"occupancy"` // most loaded part of a stretch
	Stretch       float64 `json:"stretch"`
	Bridge        float64 `json:"bridge"`
	Restart       float64 `json:"restart"`
	Coincide      float64 `json:"coincide"`
	ControlBefore float64 `json:"control_before"`
	ControlAfter  float64 `json:"control_after"`
	Reach         float64 `json:"reach"`
	SlipReach     float64 `json:"slip_reach"`
	SlipFrom      float64 `json:"slip_from"`
	SlipTo        float64 `json:"slip_to"`
	LeastRate     float64 `json:"least_rate"`
}

// ParamsOf takes the parameters from a design basis.
func ParamsOf(b basis.Basis) Params {
	return Params{
		Version: MethodVersion,
		Block:   b.Value(basis.MonitorBlock), Window: int(b.Value(basis.MonitorWindow))/2*2 + 1, Smooth: b.Value(basis.MonitorSmooth),
		OnSigma: b.Value(basis.MonitorOnSigma), OnLeast: b.Value(basis.MonitorOnLeast),
		OffSigma: b.Value(basis.MonitorOffSigma), OffLeast: b.Value(basis.MonitorOffLeast),
		Merge: b.Value(basis.MonitorMerge), Shortest: b.Value(basis.MonitorShortest), Longest: b.Value(basis.MonitorLongest),
		Occupancy: b.Value(basis.MonitorOccupancy), Stretch: b.Value(basis.MonitorStretch),
		Bridge: b.Value(basis.MonitorBridge), Restart: b.Value(basis.MonitorRestart), Coincide: b.Value(basis.MonitorCoincide),
		ControlBefore: b.Value(basis.MonitorControlBefore), ControlAfter: b.Value(basis.MonitorControlAfter),
		Reach: b.Value(basis.MonitorReach), SlipReach: b.Value(basis.MonitorSlipReach),
		SlipFrom: b.Value(basis.MonitorSlipFrom), SlipTo: b.Value(basis.MonitorSlipTo), LeastRate: b.Value(basis.ScreenRate),
	}
}

// mostRate bounds memory: buffers hold seconds of samples.
const mostRate = 100_000

// Validate says what of the parameters cannot be worked with at a sampling rate.
func (p Params) Validate(rate float64) error {
	var v fault.Invalid
	if !(rate >= p.LeastRate && rate <= mostRate) {
		v.Add("rate", "", "%g samples a second: passages of trucks need %g to %d", rate, p.LeastRate, mostRate)
	}
	if p.OffLeast > p.OnLeast || p.OffSigma > p.OnSigma {
		v.Add("off_least", "", "a passage must end below where it begins: ends at %g or %g standard deviations, begins at %g or %g",
			p.OffLeast, p.OffSigma, p.OnLeast, p.OnSigma)
	}
	if !(p.Block*rate >= 4) || p.Window < 3 || p.Window%2 == 0 {
		v.Add("window", "", "%d blocks of %g s at %g samples a second: a block needs four samples, the window an odd count of three or more", p.Window, p.Block, rate)
	}
	if !(p.Stretch >= 10*p.Block && p.Stretch > p.Longest) {
		v.Add("stretch", "", "%g s must be ten blocks (%g s) and longer than a passage (%g s)", p.Stretch, p.Block, p.Longest)
	}
	if p.SlipTo >= p.SlipFrom {
		v.Add("slip_to", "", "%g s must be less than %g s, where the slip at rest begins", p.SlipTo, p.SlipFrom)
	}
	for _, x := range []float64{p.Block, p.Smooth, p.OnSigma, p.OnLeast, p.OffSigma, p.OffLeast, p.Merge, p.Shortest, p.Longest, p.Occupancy, p.Stretch,
		p.Bridge, p.Restart, p.Coincide, p.ControlBefore, p.ControlAfter, p.Reach, p.SlipReach, p.SlipFrom, p.SlipTo} {
		if !(x >= 0) || math.IsInf(x, 0) {
			v.Add("params", "", "%g: every parameter is a number of 0 or more", x)
			break
		}
	}
	return v.Err()
}
