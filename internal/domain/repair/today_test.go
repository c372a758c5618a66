package repair_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/basis"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/uhpc"
	"endcast/internal/domain/units"
)

// studded is an end whose studs are all accepted, cast a hundred hours ago.
func studded(t *testing.T) *story {
	s := approved(t)
	d := s.Ends[0].LatestDesign()
	ch := repair.RecordCollars{DesignID: d.ID}
	for _, st := range s.Ends[0].StudsOf(d.ID) {
		ch.Collars = append(ch.Collars, repair.CollarIn{Mark: st.Mark, Outcome: "full"})
	}
	require.NoError(t, s.do(authz.Inspector, ch))
	s.now = s.now.Add(200 * time.Hour)
	require.NoError(t, s.do(authz.Inspector, castAgo(s, 100)))
	return s
}

// sensed is a sensor in the concrete at a steady temperature, read each half hour
// from the casting to now.
func sensed(s *story, celsius float64) func(repair.Pour) []uhpc.Sensor {
	return func(p repair.Pour) []uhpc.Sensor {
		c := uhpc.Curing{Covered: *p.EndedAt}
		for at := c.Covered; !at.After(s.now); at = at.Add(30 * time.Minute) {
			c.Readings = append(c.Readings, uhpc.Temperature{At: at, Value: units.Temperature(celsius)})
		}
		r := c.Evaluate(basis.Basis{})
		return []uhpc.Sensor{{Name: "edge", Place: uhpc.Coldest, Result: r}, {Name: "core", Place: uhpc.Core, Result: r}}
	}
}

func nothing(repair.Pour) []uhpc.Sensor { return nil }

func TestCapacityOfTheDay(t *testing.T) {
	t.Parallel()
	s := studded(t)
	x := s.Ends[0].Today(s.Scope, s.now, uhpc.DefaultStrengthening, sensed(s, 20), nil)
	require.NotNil(t, x)
	require.Empty(t, x.Refused)
	require.Equal(t, "edge", x.Sensor)
	require.Zero(t, x.Proven)
	require.Equal(t, x.Steel, x.WithProven, "no strength is proven: the panel counts with nothing")
	require.Positive(t, x.Now.Value)
	require.Less(t, x.Now.Value, x.Specified)
	require.Equal(t, *s.Ends[0].State[0].Repaired, x.Promised)
	require.Greater(t, x.WithNow, x.Steel)
	for i, p := range x.Line {
		require.LessOrEqual(t, x.Steel, p.CLow)
		require.LessOrEqual(t, p.CLow, p.CValue)
		require.LessOrEqual(t, p.CValue, p.CHigh)
		require.LessOrEqual(t, p.CHigh, x.Promised, "the panel counts with no more than the strength specified")
		if i > 0 {
			require.True(t, p.At.After(x.Line[i-1].At))
			require.GreaterOrEqual(t, p.CValue, x.Line[i-1].CValue, "more time is never less capacity")
		}
	}
	require.Equal(t, x.Forecast.Cast, x.Line[0].At)
	require.Contains(t, []uhpc.CrossingState{uhpc.ToCome, uhpc.Passed}, x.Strip.Expected.State)
	require.False(t, x.NextStrip.At.Before(s.now))

	cold := s.Ends[0].Today(s.Scope, s.now, uhpc.DefaultStrengthening, sensed(s, 5), nil)
	require.Less(t, cold.Now.Value, x.Now.Value)
	require.LessOrEqual(t, cold.WithNow, x.WithNow)

	blind := s.Ends[0].Today(s.Scope, s.now, uhpc.DefaultStrengthening, nothing, []uhpc.Ahead{{Temperature: 20}})
	require.Empty(t, blind.Sensor)
	require.Contains(t, blind.Forecast.Words, "nothing was measured")

	gap := s.Ends[0].Today(s.Scope, s.now, uhpc.DefaultStrengthening, func(p repair.Pour) []uhpc.Sensor {
		c := uhpc.Curing{Covered: *p.EndedAt, Readings: []uhpc.Temperature{{At: *p.EndedAt, Value: 20}, {At: p.EndedAt.Add(8 * time.Hour), Value: 20}}}
		return []uhpc.Sensor{{Name: "edge", Place: uhpc.Coldest, Result: c.Evaluate(basis.Basis{})}}
	}, nil)
	require.Contains(t, gap.Refused, "break a set instead")
	require.Empty(t, gap.Line)

	s.broken(t, 85)
	proven := s.Ends[0].Today(s.Scope, s.now, uhpc.DefaultStrengthening, sensed(s, 20), nil)
	require.InDelta(t, 85/7.0686, float64(proven.Proven/units.Ksi), 0.01)
	require.Greater(t, proven.WithProven, proven.Steel)
	stages := s.Ends[0].Stages(s.Scope)
	require.Equal(t, stages[len(stages)-1].Capacity, proven.WithProven, "the proven capacity is that of the last stage")
}

func TestNoCapacityOfTheDayBeforeACasting(t *testing.T) {
	t.Parallel()
	s := approved(t)
	require.Nil(t, s.Ends[0].Today(s.Scope, s.now, uhpc.DefaultStrengthening, nothing, nil))
	require.Nil(t, begin(t).Ends[0].Today(begin(t).Scope, s.now, uhpc.DefaultStrengthening, nothing, nil))
}

func TestPointsOfTheStrengthCurve(t *testing.T) {
	t.Parallel()
	s := studded(t)
	s.broken(t, 100)
	points, left := repair.CurvePoints(s.Pours, s.Batches, s.Specimens, s.SetReviews, nil, basis.Basis{})
	require.Empty(t, points, "field-cured sets have no age of the curve without their own temperature")
	require.Len(t, left, 1)
	points, left = repair.CurvePoints(s.Pours, s.Batches, s.Specimens, s.SetReviews, func(p repair.Pour, cure uhpc.Cure, at time.Time) (float64, bool) {
		require.Equal(t, uhpc.FieldCure, cure)
		return 72, true
	}, basis.Basis{})
	require.Empty(t, left)
	require.Len(t, points, 1)
	require.Equal(t, 4.0, points[0].Nominal)
	require.Equal(t, 3.0, points[0].Days)
	for i := range s.Specimens {
		s.Specimens[i].Curing = string(uhpc.StandardCure)
	}
	points, left = repair.CurvePoints(s.Pours, s.Batches, s.Specimens, s.SetReviews, nil, basis.Basis{})
	require.Empty(t, left)
	require.Len(t, points, 1)
	require.InDelta(t, 4, points[0].Days, 0.2)
}
