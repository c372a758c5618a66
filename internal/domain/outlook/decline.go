package outlook

import (
	"cmp"
	"math"
	"slices"
	"strconv"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/resistance"
	"endcast/internal/domain/survey"
	"endcast/internal/domain/units"
)

// Decline carries the last survey forward in time and finds the year in which the
// capacity of an end falls below the demand.
//
// The rate of loss comes from two surveys of the end that can be compared, else
// from the owner, else from the loss of each place over the years since the coating
// failed. Thickness falls along a straight line from the day of the last survey,
// never along a power law from new: on steel that has lost much already such a law
// understates what is to come. Capacity is that of resistance.Evaluate for the
// thinner steel. The year is found by halving; two rules step by less than 0.11 %
// in themselves, so capacity falls steadily but for that.
//
// Built is the year of construction, assumed the owner's own rate; either may be
// nil. Geometry and surveys must have been validated. Surveys without findings are
// passed over; their order does not matter.
func Decline(b basis.Basis, pr resistance.Procedure, g girder.Geometry, surveys []Dated, demand units.Force, built *int, assumed *Rate) Fall {
	out := Fall{Verdict: Unknown, Demand: demand, Horizon: b.Value(basis.DeclineHorizon)}
	list := slices.DeleteFunc(slices.Clone(surveys), func(d Dated) bool { return d.Survey == nil })
	slices.SortStableFunc(list, func(p, q Dated) int { return cmp.Or(p.On.Compare(q.On), cmp.Compare(p.Number, q.Number)) })
	if len(list) == 0 {
		out.say("there is no survey to start from")
		return out
	}
	last := list[len(list)-1]
	out.From = yearOf(last.On)
	r := out.rate(b, pr, g, list, built, assumed)
	if !slices.ContainsFunc(last.Survey.Readings, func(rd survey.Reading) bool { return !rd.NoAccess }) {
		out.say(called(last) + " has no reading of the web to carry forward")
		return out
	}
	p := projection{trial: pr.Trial(b, g, last.Survey), rates: r, demand: demand}
	p.base = p.trial.Base()
	p.state = p.trial.Base()
	if r == nil {
		now := p.capacity(0, usual)
		out.say("no rate of loss: two comparable surveys, an assumed rate or the year of construction would give one")
		if demand > 0 && now < demand {
			out.Verdict = Already
			out.say(below(now, demand))
		}
		return out
	}
	x0, x1, top := pr.Watched(g)
	out.Source, out.Rate = r.source, r.watched(last.Survey, x0, x1, top)
	out.project(&p)
	out.caveats(g, last.Survey, pr.Reduce(b, g, last.Survey), r)
	return out
}

func (f *Fall) say(words string) { f.Words = append(f.Words, words) }

func below(now, demand units.Force) string {
	return "the capacity at the last survey is " + percent(float64(now/demand)) + " of the demand: it is below it already"
}

// rate looks at every two surveys and chooses where the rate comes from.
func (f *Fall) rate(b basis.Basis, pr resistance.Procedure, g girder.Geometry, list []Dated, built *int, assumed *Rate) *rates {
	last := list[len(list)-1]
	var best *compared
	at := 0
	for i := range list {
		for j := i + 1; j < len(list); j++ {
			c := compare(b, pr, g, list[i], list[j])
			f.Pairs = append(f.Pairs, c.Pair)
			if c.Refused != "" {
				f.say(c.Refused)
				continue
			}
			// The longest time tells most; of the same, the latest.
			if best == nil || c.Years >= best.Years {
				best, at = &c, len(f.Pairs)-1
			}
		}
	}
	if best != nil {
		f.Pairs[at].Used = true
		if assumed != nil {
			f.say("the rate assumed by the owner is not used: two surveys measure one")
		}
		for _, row := range best.rows {
			if row.loss < 0 {
				f.say("the row at height " + fixed(float64(row.z), 0) + " mm shows " + fixed(-row.loss, 2) + " mm more metal: no loss is counted there")
			}
		}
		if best.overall.loss <= best.overall.half {
			f.say("the loss of " + fixed(best.overall.loss, 2) + " mm is within its error of " + fixed(best.overall.half, 2) + " mm: it may be none")
		}
		return best.rates(b, last.Survey)
	}
	n := len(last.Survey.Readings)
	if assumed != nil {
		r, why := owners(*assumed, n)
		if r != nil {
			return r
		}
		f.say(why)
	}
	if built != nil {
		r, why := ofAge(b, g, last.Survey, f.From, *built)
		if r != nil {
			return r
		}
		f.say(why)
	}
	return nil
}

// projection is the steel of the last survey carried forward.
type projection struct {
	trial  *resistance.Trial
	rates  *rates
	base   resistance.State
	state  resistance.State
	demand units.Force
}

// capacity is the capacity some years after the last survey.
func (p *projection) capacity(years float64, w which) units.Force {
	if p.rates != nil && years > 0 {
		for i, t := range p.base.Web {
			p.state.Web[i] = t - float64(years*p.rates.web[i].at(w))
		}
		p.state.Flange = p.base.Flange - units.Length(years*p.rates.flange.at(w))
		p.state.Stiffener = p.base.Stiffener - units.Length(years*p.rates.stiffener.at(w))
		c, _ := p.trial.Capacity(&p.state)
		return c
	}
	c, _ := p.trial.Capacity(&p.base)
	return c
}

// falls finds when the capacity falls below the demand, by halving; it reports
// whether it does so within the horizon.
func (p *projection) falls(horizon float64, w which) (years float64, ok bool) {
	if p.capacity(horizon, w) >= p.demand {
		return 0, false
	}
	low, high := 0.0, horizon
	for high-low > 1e-4 {
		mid := (low + high) / 2
		if p.capacity(mid, w) >= p.demand {
			low = mid
		} else {
			high = mid
		}
	}
	return high, true
}

// project finds the years and draws the curve.
func (f *Fall) project(p *projection) {
	now := p.capacity(0, usual)
	horizon := strconv.Itoa(int(f.Horizon))
	reach := f.Horizon
	switch {
	case !(f.Demand > 0):
		f.say("there is no demand to compare the capacity with")
	case !(now >= f.Demand):
		f.Verdict = Already
		f.say(below(now, f.Demand))
		reach = 25
	default:
		f.Verdict = Beyond
		year := func(w which) (float64, float64) {
			years, ok := p.falls(f.Horizon, w)
			if !ok {
				return 0, 0
			}
			return f.From + years, years
		}
		var late, central float64
		f.Early, _ = year(fast)
		f.Year, central = year(usual)
		f.Late, late = year(slow)
		if f.Year > 0 {
			f.Verdict = Falls
			f.say("the capacity falls below the demand about " + calendar(f.Year) + spanOfYears(f.Early, f.Late))
			reach = max(1.25*max(late, central), central+10)
		} else {
			f.say("the capacity does not fall below the demand within " + horizon + " years at the central rate")
			if f.Early > 0 {
				f.say("at the high rate it does about " + calendar(f.Early))
				reach = 1.5 * (f.Early - f.From)
			}
		}
	}
	reach = min(f.Horizon, max(10, 5*math.Ceil(reach/5)))
	const points = 40
	for i := range points + 1 {
		years := reach * float64(i) / points
		f.Curve = append(f.Curve, Point{Year: f.From + years, Low: p.capacity(years, fast), Central: p.capacity(years, usual), High: p.capacity(years, slow)})
	}
}

func calendar(year float64) string { return strconv.Itoa(int(math.Floor(year))) }

func spanOfYears(early, late float64) string {
	if late > 0 {
		return ", between " + calendar(early) + " and " + calendar(late)
	}
	return ", at the earliest " + calendar(early) + " and at the low rate not within the years looked at"
}

// caveats says what the projection holds on to.
func (f *Fall) caveats(g girder.Geometry, s *survey.Survey, r resistance.Reduced, rs *rates) {
	f.say("thickness falls along a straight line from the last survey, not along a power law from new, which understates loss on steel that has lost much")
	if r.Unread {
		f.say("steel that no reading speaks for stays as built")
	}
	if len(s.Holes) > 0 {
		f.say("holes keep the size that was read; a place where nothing is left counts as none")
	}
	if s.FlangeThickness == nil {
		f.say("the bottom flange was not read: it starts as built and loses " + fixed(rs.flange.central, 3) + " mm a year")
	}
	if g.Stiffener != nil {
		f.say("stiffeners keep their width and lose " + fixed(rs.stiffener.central, 3) + " mm of thickness a year")
	}
	f.say("a rate seen so far need not hold: a mended deck joint slows it, a failed one speeds it")
}
