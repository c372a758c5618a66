package outlook

import (
	"math"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/survey"
	"endcast/internal/domain/units"
)

// band is a rate of loss of one place, mm in a year, both faces together.
type band struct{ low, central, high float64 }

// at picks one of the three.
func (r band) at(w which) float64 {
	switch w {
	case slow:
		return r.low
	case fast:
		return r.high
	default:
		return r.central
	}
}

// which of the three rates.
type which int

const (
	slow which = iota
	usual
	fast
)

// rates are the rates of one end: one for each reading of the last survey, and of
// the plates beside the web.
type rates struct {
	source    Source
	origin    string
	web       []band
	flange    band
	stiffener band
}

// watched is the mean over the readings that the procedure looks at above the
// bearing; over all readings where there are none.
func (r rates) watched(s *survey.Survey, x0, x1, top units.Length) Rate {
	mean := func(in func(survey.Reading) bool) (band, int) {
		var sum band
		n := 0
		for i, rd := range s.Readings {
			if rd.NoAccess || !in(rd) {
				continue
			}
			sum.low += r.web[i].low
			sum.central += r.web[i].central
			sum.high += r.web[i].high
			n++
		}
		if n > 0 {
			k := float64(n)
			sum = band{sum.low / k, sum.central / k, sum.high / k}
		}
		return sum, n
	}
	m, n := mean(func(rd survey.Reading) bool { return rd.X >= x0 && rd.X <= x1 && rd.Z <= top })
	if n == 0 {
		m, _ = mean(func(survey.Reading) bool { return true })
	}
	return Rate{Low: units.Length(m.low), Central: units.Length(m.central), High: units.Length(m.high), Origin: r.origin}
}

// uniform is one rate for every place.
func uniform(source Source, origin string, n int, r band) *rates {
	out := &rates{source: source, origin: origin, flange: r, stiffener: r, web: make([]band, n)}
	for i := range out.web {
		out.web[i] = r
	}
	return out
}

// owners takes the rate that the owner states, or says why it cannot.
func owners(r Rate, n int) (*rates, string) {
	c := band{float64(r.Low), float64(r.Central), float64(r.High)}
	if !(c.central >= 0) || math.IsInf(c.central, 0) {
		return nil, "the assumed rate of " + fixed(c.central, 3) + " mm a year is none"
	}
	if !(c.low >= 0 && c.low <= c.central) {
		c.low = c.central
	}
	if !(c.high >= c.central) || math.IsInf(c.high, 0) {
		c.high = c.central
	}
	origin := "assumed by the owner, alike at every place"
	if r.Origin != "" {
		origin += ": " + r.Origin
	}
	return uniform(FromOwner, origin, n, c), ""
}

// Yearly is the loss of one face in a year when a first year loss is spread over
// the years for which the power law of ISO 9224 is meant. It makes a rate for steel
// that already has loss; it is not a way to reckon loss from new.
func Yearly(b basis.Basis, first units.Length) units.Length {
	years := b.Value(basis.DeclineSpan)
	return Loss(b, first, years) / units.Length(years)
}

// Loss is the loss of one face of new carbon steel after some years, by the power
// law of ISO 9224, with the loss of the first year.
func Loss(b basis.Basis, first units.Length, years float64) units.Length {
	return first * units.Length(math.Pow(years, b.Value(basis.DeclineExponent)))
}

// ofAge takes the rate of each place from its own loss over the years without
// coating, within the band of the standard, or says why it cannot.
func ofAge(b basis.Basis, g girder.Geometry, s *survey.Survey, from float64, built int) (*rates, string) {
	bare := from - float64(built) - b.Value(basis.DeclineCoating)
	if least := 1.0; !(bare >= least) {
		return nil, "built " + fixed(float64(built), 0) + " and coated for " + fixed(b.Value(basis.DeclineCoating), 0) +
			" years, the steel has been bare for " + fixed(max(0, bare), 1) + " years: too few to tell a rate"
	}
	faces := b.Value(basis.DeclineFaces)
	low := faces * float64(Yearly(b, units.Length(b.Value(basis.DeclineLow))))
	high := faces * float64(Yearly(b, units.Length(b.Value(basis.DeclineHigh))))
	of := func(lost float64) band {
		c := max(0, lost) / bare
		return band{min(c, low), c, max(c, high)}
	}
	out := &rates{source: FromAge, web: make([]band, len(s.Readings)),
		origin: "loss of each place over " + fixed(bare, 1) + " years without coating; at least and at most by the band of ISO 9223, " +
			fixed(low, 3) + " to " + fixed(high, 3) + " mm a year"}
	sum, n := 0.0, 0
	for i, r := range s.Readings {
		lost := float64(g.Section.WebThickness - r.T)
		out.web[i] = of(lost)
		if !r.NoAccess {
			sum += max(0, lost)
			n++
		}
	}
	mean := of(sum / float64(max(1, n)))
	out.flange, out.stiffener = mean, mean
	if s.FlangeThickness != nil {
		out.flange = of(float64(g.Section.FlangeThickness - *s.FlangeThickness))
	}
	if st := g.Stiffener; st != nil && s.StiffenerThickness != nil {
		out.stiffener = of(float64(st.Thickness - *s.StiffenerThickness))
	}
	return out, ""
}
