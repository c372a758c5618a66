package repair

import (
	"time"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/encasement"
	"endcast/internal/domain/uhpc"
	"endcast/internal/domain/units"
)

// Today is the capacity of an end on a day while its panel hardens: with the
// strength that breaks have proven, which counts, and with the strength that a
// forecast expects, which does not.
type Today struct {
	At        time.Time
	Pour      Pour // the last casting, whose strength is expected
	Specified units.Stress
	Demand    units.Force

	// Proven is zero where no break has proven a strength.
	Proven     units.Stress
	ProvenAt   time.Time
	ProvenDays float64

	Curve    uhpc.Strengthening
	Forecast uhpc.Forecast
	Sensor   string   // that governs, empty where none does
	Words    []string // what a reader must know of the sensors
	Refused  string   // why nothing is expected, empty where something is
	Now      uhpc.Expected
	Strip    uhpc.Crossings
	Traffic  uhpc.Crossings
	// NextStrip and NextTraffic are when to break the next set for either gate.
	NextStrip, NextTraffic uhpc.NextBreak

	// Capacities: of the steel alone, with the panel at the proven strength, at the
	// expected one with its band, and at the specified one.
	Steel, WithProven, WithLow, WithNow, WithHigh, Promised units.Force

	Line []TodayPoint
}

// TodayPoint is what an end is expected to carry at a moment.
type TodayPoint struct {
	At                  time.Time
	Low, Value, High    units.Stress
	CLow, CValue, CHigh units.Force
	Measured            bool // the maturity is by readings, not by a temperature ahead
}

// todaySteps is how many points the line has.
const todaySteps = 28

// Today is what an end carries at a moment, nil where it has no design in force, no
// collar or no casting. sensors are the sensors of a casting with their records,
// ahead the temperatures expected; now comes from the caller.
func (r *Record) Today(s *Scope, now time.Time, curve func(specified units.Stress, b basis.Basis) uhpc.Strengthening, sensors func(Pour) []uhpc.Sensor, ahead []uhpc.Ahead) *Today {
	d := r.DesignInForce()
	if d == nil {
		return nil
	}
	found, pours := r.LatestCollars(d.ID), s.poursOf(r.End.ID)
	if len(found) == 0 || len(pours) == 0 {
		return nil
	}
	t := stager{r: r, s: s, b: s.Basis(), d: r.Demand(s), in: r.inputs(s)}
	last := pours[len(pours)-1]
	out := &Today{At: now, Pour: last, Specified: d.Fc, Curve: curve(d.Fc, t.b)}
	carry := t.carries(t.designed(d, found), now)
	if m := t.proven(pours); len(m) > 0 {
		x := m[len(m)-1]
		out.Proven, out.ProvenAt, out.ProvenDays = x.fc, x.at, x.days
	}
	ev := carry.alone()
	out.Demand, out.Steel = ev.Demand, finite(ev.Capacity)
	out.WithProven, out.Promised = carry.at(min(d.Fc, out.Proven)), carry.at(d.Fc)
	out.expect(t.b, sensors(last), ahead)
	if out.Refused != "" {
		return out
	}
	capped := func(fc units.Stress) units.Force { return carry.at(min(d.Fc, fc)) }
	out.Now = out.Forecast.At(now)
	out.WithLow, out.WithNow, out.WithHigh = capped(out.Now.Low), capped(out.Now.Value), capped(out.Now.High)
	for _, at := range out.times() {
		e := out.Forecast.At(at)
		out.Line = append(out.Line, TodayPoint{At: at, Low: e.Low, Value: e.Value, High: e.High, Measured: e.Measured,
			CLow: capped(e.Low), CValue: capped(e.Value), CHigh: capped(e.High)})
	}
	return out
}

// expect makes the forecast from the sensor that governs.
func (x *Today) expect(b basis.Basis, sensors []uhpc.Sensor, ahead []uhpc.Ahead) {
	var soFar *uhpc.CuringResult
	cast := x.Pour.StartedAt
	if x.Pour.EndedAt != nil {
		cast = *x.Pour.EndedAt // the last of it is the youngest
	}
	if len(sensors) > 0 {
		g, ok := uhpc.Govern(sensors, b)
		x.Words = g.Words
		if !ok {
			x.Refused = "no sensor speaks for this casting: break a set instead"
			return
		}
		soFar, x.Sensor = &sensors[g.Sensor].Result, sensors[g.Sensor].Name
		cast = soFar.Covered
	}
	x.Forecast = uhpc.NewForecast(x.Curve, cast, soFar, ahead, b)
	if x.Refused = x.Forecast.Refused(); x.Refused != "" {
		return
	}
	strip, traffic := uhpc.StripGate.Limit(b), uhpc.TrafficGate.Limit(b)
	x.Strip, x.Traffic = x.Forecast.Reaches(strip), x.Forecast.Reaches(traffic)
	x.NextStrip, x.NextTraffic = x.Forecast.NextBreak(strip, x.At), x.Forecast.NextBreak(traffic, x.At)
}

// times are those of the line: from the casting to a day past now and past the
// cautious hour of traffic, four days at least and four weeks at most.
func (x *Today) times() []time.Time {
	from := x.Forecast.Cast
	until := from.Add(96 * time.Hour)
	for _, at := range []time.Time{x.At.Add(24 * time.Hour), x.Traffic.Expected.At.Add(24 * time.Hour), x.Traffic.Cautious.At.Add(24 * time.Hour), x.ProvenAt.Add(24 * time.Hour)} {
		if at.After(until) {
			until = at
		}
	}
	if most := from.Add(28 * 24 * time.Hour); until.After(most) {
		until = most
	}
	var out []time.Time
	step := until.Sub(from) / todaySteps
	for i := range todaySteps + 1 {
		at := from.Add(time.Duration(i) * step)
		if x.At.After(from) && x.At.Before(at) && (i == 0 || out[len(out)-1].Before(x.At)) {
			out = append(out, x.At)
		}
		out = append(out, at)
	}
	return out
}

// carrying is what one end carries by the strength of its panel, each strength
// worked out once.
type carrying struct {
	t      *stager
	design *encasement.Design
	now    time.Time
	steel  *Evaluation
	known  map[units.Stress]units.Force
}

func (t *stager) carries(design *encasement.Design, now time.Time) *carrying {
	return &carrying{t: t, design: design, now: now, known: map[units.Stress]units.Force{}}
}

// alone is the steel without a panel.
func (c *carrying) alone() *Evaluation {
	if c.steel == nil {
		in := c.t.in
		_, in.Survey = c.t.surveyAt(c.now)
		c.steel = corroded(in, c.t.b, nil)
	}
	return c.steel
}

// at is the capacity with the panel at a strength: not less than the steel alone,
// which a weak panel does not weaken.
func (c *carrying) at(fc units.Stress) units.Force {
	if v, ok := c.known[fc]; ok {
		return v
	}
	v := finite(c.alone().Capacity)
	if fc > 0 {
		v = max(v, finite(c.t.with(c.design, c.now, fc).Capacity))
	}
	c.known[fc] = v
	return v
}
