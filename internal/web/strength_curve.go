package web

import (
	"fmt"
	"math"
	"net/http"
	"strconv"
	"strings"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/uhpc"
	"endcast/internal/domain/units"
	"endcast/views/casting"
	"endcast/views/drawing"
	"endcast/views/ui"
)

// strengthCurve is the strength curve of a program.
func (s *Server) strengthCurve(w http.ResponseWriter, r *http.Request) error {
	c, err := s.openCastings(r)
	if err != nil {
		return err
	}
	curve, err := s.programCurve(r.Context(), c.head.ID.String(), c.basis)
	if err != nil {
		return err
	}
	p := s.page(r, "Strength curve", ui.Crumb{Label: "Bridge", Href: c.head.Path()}, ui.Crumb{Label: "Pours", Href: c.head.Path("pours")})
	return s.render(w, r, http.StatusOK, casting.CurvePage(p, c.curveView(curve)))
}

func (c *castReader) curveView(pc programCurve) casting.Curve {
	f := pc.fit
	own, kept := f.Strengthening(c.basis)
	standard := uhpc.DefaultStrengthening(units.Stress(c.basis.Value(basis.FinalStrength)), c.basis)
	used := own
	v := casting.Curve{Missing: f.Missing, Left: pc.left, Notes: f.Notes, NoGate: uhpc.NoGate, Stress: units.Stresses.Label(c.sys), Basis: c.head.Path("basis", string(basis.GainScale)),
		Curing: units.Temperatures.Format(f.At, c.sys, -1), Lead: "Forecasts go by the program's own curve: " + own.Words + "."}
	if !kept {
		used = standard
		v.Lead = "Forecasts go by the curve of the design basis: this program has none of its own yet."
		v.Curing = units.Temperatures.Format(float64(standard.Curing), c.sys, -1)
	} else {
		v.Span = "It is not used before " + daysText(own.From) + " nor after " + daysText(own.To) + ": a curve says nothing of ages that were not tested."
	}
	v.Default = ui.Sentence(standard.Words) + " " + strengthenedBy(standard, c) + " " + doubtWords(standard.DoubtPart)
	v.Chart = drawing.StrengthCurve(c.curveDrawing(f, used, kept))
	for i, l := range f.Laws {
		v.Laws = append(v.Laws, c.curveLaw(l, i == f.Kept))
	}
	for _, p := range f.Points {
		row := casting.CurveSet{Name: p.Name, Age: units.Days.Figure(p.Days, c.sys, 2), Mean: c.strengthFigure(p.Mean), Kept: "–", Off: "–"}
		if at, reach := used.At(p.Days); kept && reach == uhpc.Inside {
			row.Kept, row.Off = c.strengthFigure(at), plusBefore(c.strengthFigure(p.Mean-at))
		}
		v.Sets = append(v.Sets, row)
	}
	for _, d := range []float64{1, 2, 3, 4, 7, 14, 28, 56} {
		at, reach := used.At(d)
		row := casting.CurveAge{Age: daysText(d), Low: "–", Value: "not tested", High: "–"}
		if reach == uhpc.Inside {
			row.Low, row.Value, row.High = c.strengthFigure(used.Low(at)), c.strengthFigure(at), c.strengthFigure(used.High(at))
		}
		v.Ages = append(v.Ages, row)
	}
	for _, m := range uhpc.Methods(c.basis) {
		v.Methods = append(v.Methods, casting.MethodRow{Name: sentenceCase(m.Name), Formula: m.Formula, Words: m.Words, Source: m.Source + " (" + string(m.Tag) + ")", Limits: strings.Join(m.Limits, "; ")})
	}
	return v
}

func daysText(d float64) string {
	unit := " days"
	if d == 1 {
		unit = " day"
	}
	return strconv.FormatFloat(math.Round(d*100)/100, 'f', -1, 64) + unit
}

func doubtWords(part float64) string {
	return fmt.Sprintf("It is doubted by %.0f %% either way.", 100*part)
}

// strengthenedBy says when a curve has the strengths of the gates.
func strengthenedBy(s uhpc.Strengthening, c *castReader) string {
	limit := uhpc.StripGate.Limit(c.basis)
	days, ok := s.Curve.Reaches(limit)
	if !ok {
		return "It does not reach " + c.strength(limit) + "."
	}
	return fmt.Sprintf("It has %s at %.1f days.", c.strength(limit), days)
}

func (c *castReader) curveLaw(l uhpc.Fitted, kept bool) casting.CurveLaw {
	row := casting.CurveLaw{Name: sentenceCase(l.Curve.Law().Name()), Params: c.params(l.Curve), RMSE: c.strengthFigure(l.RMSE), Error: "–", Free: strconv.Itoa(l.Free), At28: c.strengthFigure(l.At28),
		Mark: ui.Mark{State: ui.Open, Text: "not kept"}, Why: l.Rejected}
	if l.Free > 0 {
		row.Error = c.strengthFigure(l.Error)
	}
	switch {
	case kept:
		row.Mark, row.Why = ui.Mark{State: ui.Good, Text: "kept"}, "the least root mean square of those that could be"
	case l.Rejected != "":
		row.Mark = ui.Mark{State: ui.Void, Text: "rejected"}
	default:
		row.Why = "another has a lesser root mean square"
	}
	return row
}

// params prints the parameters of a curve.
func (c *castReader) params(curve uhpc.Curve) string {
	n := func(v float64) string { return units.Significant(v, 4) }
	switch x := curve.(type) {
	case uhpc.Gain:
		return fmt.Sprintf("plateau %s, start %s d, scale %s d, shape %s", c.strength(x.Plateau), n(x.Start), n(x.Scale), n(x.Shape))
	case uhpc.Exponential:
		return fmt.Sprintf("plateau %s, time %s d, power %s", c.strength(x.Plateau), n(x.Time), n(x.Power))
	case uhpc.Logarithm:
		return fmt.Sprintf("%s at one day, %s for each e-fold of age", c.strength(x.AtOne), c.strength(x.Slope))
	}
	return ""
}

// curveDrawing draws the sets and the laws over the ages that they may be used for;
// where none is kept, the curve of the design basis stands with them.
func (c *castReader) curveDrawing(f uhpc.Fit, used uhpc.Strengthening, kept bool) drawing.CurveData {
	d := drawing.CurveData{ID: "curve", System: c.sys}
	for _, p := range f.Points {
		d.Sets = append(d.Sets, drawing.Point{X: p.Days, Y: float64(p.Mean)})
	}
	limit := func(v units.Stress, words string) {
		d.Levels = append(d.Levels, drawing.Rule{At: float64(v), Text: c.strength(v) + " " + words})
	}
	limit(uhpc.StripGate.Limit(c.basis), "to strip the form")
	limit(units.Stress(c.basis.Value(basis.FinalStrength)), "specified")
	from, to := f.From, min(f.To, 90)
	line := func(curve uhpc.Curve, from, to float64, band bool) drawing.CurveLaw {
		var out drawing.CurveLaw
		const steps = 60
		for i := range steps + 1 {
			days := from + (to-from)*float64(i*i)/(steps*steps)
			v := curve.At(nil, days)
			out.Points = append(out.Points, drawing.Point{X: days, Y: float64(v)})
			if band {
				out.Band = append(out.Band, drawing.Spread{X: days, Lo: float64(used.Low(v)), Hi: float64(used.High(v))})
			}
		}
		return out
	}
	names := map[uhpc.Law]string{uhpc.LawGain: "four", uhpc.LawExponential: "three", uhpc.LawLogarithm: "logarithm"}
	for i, l := range f.Laws {
		x := line(l.Curve, from, to, i == f.Kept)
		x.Name, x.Kept = names[l.Curve.Law()], i == f.Kept
		d.Laws = append(d.Laws, x)
	}
	if !kept {
		x := line(used.Curve, 0.02, 56, true)
		x.Name, x.Kept = "design basis", true
		d.Laws = append(d.Laws, x)
	}
	return d
}

// plusBefore puts a plus before what is above.
func plusBefore(s string) string {
	if s != "" && s[0] >= '0' && s[0] <= '9' {
		return "+" + s
	}
	return s
}
