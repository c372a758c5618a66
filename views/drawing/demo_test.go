// Demonstration data shared by the tests and benchmarks of this package; all invented.

package drawing

import (
	"math"
	"strconv"

	"endcast/internal/domain/encasement"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/sequence"
	"endcast/internal/domain/survey"
	"endcast/internal/domain/units"
)

const ft = float64(units.Foot)

// viaduct is an invented bridge of six spans with 58 ends, in every phase.
func viaduct() PlanData {
	d := PlanData{System: units.US, Title: "Brindle Hollow Viaduct, plan of the girder ends", SkipTo: "ends"}
	codes := []string{"A1", "P1", "P2", "P3", "P4", "P5", "A2"}
	names := []string{"Abutment 1", "Pier 1", "Pier 2", "Pier 3", "Pier 4", "Pier 5", "Abutment 2"}
	skews := []float64{12, 12, 27, 30, 34, 20, 8}
	lengths := []float64{58, 66, 104, 112, 66, 52}
	girders := []int{6, 6, 5, 5, 6, 6}
	at := 120.0
	for i := range codes {
		d.Supports = append(d.Supports, Support{Code: codes[i], Name: names[i], Station: units.Length(at * ft),
			Skew: units.Angle(skews[i]), BackHref: "/lines/" + codes[i] + "/back", AheadHref: "/lines/" + codes[i] + "/ahead"})
		if i < len(lengths) {
			at += lengths[i]
		}
	}
	steps := []string{"", "ACC", "CLN", "MSR", "DES", "WLD", "COL", "COR", "FRM", "CST", "CUR", "STR", "HRD", "CLS"}
	k := 0
	for i, n := range girders {
		spacing := 20.0 / 3
		if n == 5 {
			spacing = 25.0 / 3
		}
		d.Spans = append(d.Spans, Span{Number: i + 1, Length: units.Length(lengths[i] * ft), Girders: n,
			Spacing: units.Length(spacing * ft), Continuous: i == 2})
		for _, side := range []girder.Side{girder.Near, girder.Far} {
			if i == 2 && side == girder.Far || i == 3 && side == girder.Near {
				continue
			}
			for g := 1; g <= n; g++ {
				k++
				e := PlanEnd{Name: girder.Name{Span: i + 1, Side: side, Girder: g}}
				e.Href = "/ends/" + e.Name.String()
				code := steps[k*k*5%17%len(steps)]
				e.Phase = PhaseOf(code, code == "")
				if e.Phase != Closed {
					switch k % 5 {
					case 0:
						e.Blocked, e.Why = sequence.Paper, "review pending"
					case 2:
						e.Blocked = sequence.Access
					case 3:
						e.Blocked = sequence.SteelAndConcrete
					}
					e.OutOfDate = k%11 == 0
					e.Nonconformance = k%13 == 0
					e.Critical = k == 20
				}
				d.Ends = append(d.Ends, e)
			}
		}
	}
	return d
}

// sampleEnd is an end of a 36 in rolled girder with a regular survey, a hole, a
// panel on both faces and a design of four rows and three columns a face.
func sampleEnd() EndData {
	in := units.Inch
	g := girder.Geometry{
		Name: girder.Name{Span: 2, Side: girder.Far, Girder: 3},
		Section: girder.Section{Name: "W36x150", Kind: girder.Rolled, Depth: 35.9 * in, TopFlangeWidth: 12 * in, TopFlangeThickness: 0.94 * in,
			FlangeWidth: 12 * in, FlangeThickness: 0.94 * in, WebThickness: 0.625 * in, FilletK: 1.69 * in},
		Bearing:    girder.Bearing{Kind: girder.Rocker, Start: 2 * in, Length: 10 * in, Width: 11 * in},
		Stiffener:  &girder.Stiffener{Pairs: 1, Width: 5 * in, Thickness: in / 2, Clip: in, X: 7 * in, Fy: 228},
		DiaphragmX: 16 * in, SkewDeg: 27, Fy: 228, Fu: 400,
	}
	s := &survey.Survey{Holes: []survey.Hole{{X: 3 * in, Z: 0.4 * in, Width: 3.2 * in, Height: 1.1 * in}}}
	for _, z := range []float64{1, 3, 5, 7.5, 10.5, 14, 19} {
		for _, x := range []float64{1.5, 4, 6.5, 9, 11.5, 14.5, 18} {
			t := 0.625 - 0.56*math.Exp(-z/5)*math.Exp(-math.Abs(x-5)/9)
			r := survey.Reading{Face: survey.Left, X: units.Length(x) * in, Z: units.Length(z) * in, T: units.Length(t) * in}
			r.NoAccess = x == 18 && z == 1
			s.Readings = append(s.Readings, r)
		}
	}
	v := &encasement.Design{StudDiameter: 0.75 * in, StudHeight: 3.5 * in, StudFu: 450, Fc: 150,
		Panel: encasement.Panel{Width: 24 * in, Height: 24 * in, ThicknessLeft: 5 * in, ThicknessRight: 5 * in}}
	status := map[string]StudStatus{}
	for _, f := range []survey.Face{survey.Left, survey.Right} {
		for r := 1; r <= 4; r++ {
			for c := 1; c <= 4; c++ {
				m := string(f) + "-" + strconv.Itoa(r) + "-" + strconv.Itoa(c)
				v.Studs = append(v.Studs, encasement.Stud{Mark: m, Row: r, Col: c, Face: f,
					X: units.Length(9+4*float64(c-1)) * in, Z: units.Length(8+4*float64(r-1)) * in})
				status[m] = Accepted
			}
		}
	}
	status["L-2-3"] = Rejected
	delete(status, "L-4-1")
	return EndData{ID: "e", Support: "Pier 2", System: units.US, Geometry: g, Survey: s, Design: v, Revision: "B", Status: status}
}

// longBridge is a straight bridge of equal spans, in every phase.
func longBridge(spans, girders int) PlanData {
	d := PlanData{System: units.US}
	for i := range spans + 1 {
		s := strconv.Itoa(i)
		d.Supports = append(d.Supports, Support{Code: "P" + s, Name: "Pier " + s, Station: units.Length(float64(i) * 90 * ft),
			Skew: 8, BackHref: "/back/" + s, AheadHref: "/ahead/" + s})
		if i == spans {
			break
		}
		d.Spans = append(d.Spans, Span{Number: i + 1, Length: 90 * units.Foot, Girders: girders, Spacing: 7 * units.Foot})
		for g := 1; g <= girders; g++ {
			for _, side := range []girder.Side{girder.Near, girder.Far} {
				e := PlanEnd{Name: girder.Name{Span: i + 1, Side: side, Girder: g}, Phase: Phase((i*3 + g) % int(phaseCount))}
				e.Href = "/ends/" + e.Name.String()
				d.Ends = append(d.Ends, e)
			}
		}
	}
	return d
}
