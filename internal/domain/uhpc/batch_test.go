package uhpc

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/units"
)

func TestBatchFindings(t *testing.T) {
	t.Parallel()
	temp := func(f float64) *units.Temperature { c := units.Temperature((f - 32) / 1.8); return &c }
	at := func(min int) time.Time { return cast.Add(time.Duration(min) * time.Minute) }
	good := Batch{Mark: "1", MixStart: at(0), MixEnd: at(18), PlaceStart: at(22), Placed: at(36), Flow: [2]units.Length{8.5 * units.Inch, 8.7 * units.Inch},
		Mix: temp(75), Air: temp(70), Steel: temp(66), FiberKg: 157, FiberTargetKg: 157, WaterKg: 109, WaterTargetKg: 109}
	for _, c := range []struct {
		name   string
		change func(*Batch)
		key    basis.Key
		grade  Grade
	}{
		{"flow 10.2 in", func(b *Batch) { b.Flow = [2]units.Length{10.1 * units.Inch, 10.3 * units.Inch} }, basis.FlowMax, Stop},
		{"flow 6.9 in", func(b *Batch) { b.Flow = [2]units.Length{6.9 * units.Inch, 6.9 * units.Inch} }, basis.FlowMin, Stop},
		{"flow 7.5 in, inside the job and outside the standard", func(b *Batch) { b.Flow = [2]units.Length{7.5 * units.Inch, 7.5 * units.Inch} }, basis.FlowScopeMin, NoteOnly},
		{"mix 85 F", func(b *Batch) { b.Mix = temp(85) }, basis.MixWarm, Warn},
		{"mix 91 F", func(b *Batch) { b.Mix = temp(91) }, basis.MixHot, Stop},
		{"air 38 F", func(b *Batch) { b.Air = temp(38) }, basis.AmbientMin, Warn},
		{"steel 95 F", func(b *Batch) { b.Steel = temp(95) }, basis.AmbientMax, Warn},
		{"slow", func(b *Batch) { b.Placed = at(39) }, basis.PlaceSlow, Warn},
		{"too slow", func(b *Batch) { b.Placed = at(49) }, basis.PlaceStop, Stop},
		{"fiber short", func(b *Batch) { b.FiberKg = 153 }, basis.FiberOff, Warn},
		{"water over", func(b *Batch) { b.WaterKg = 110.5 }, basis.WaterOff, Warn},
	} {
		b := good
		require.Empty(t, b.Check(defaults))
		c.change(&b)
		require.NoError(t, b.Validate(defaults), c.name)
		got := b.Check(defaults)
		require.Len(t, got, 1, c.name)
		require.Equal(t, string(c.key), got[0].Key, c.name)
		require.Equal(t, c.grade, got[0].Grade, c.name)
		require.Equal(t, c.grade == Stop, Stopped(got))
		require.NotEmpty(t, got[0].Source)
	}
	next := good
	next.Mark, next.PlaceStart = "2", at(57)
	require.Len(t, Intervals([]Batch{good, next}, defaults), 1)
	require.Empty(t, Intervals([]Batch{good, {}}, defaults))
	b := good
	b.Flow = [2]units.Length{10.1 * units.Inch, 10.3 * units.Inch}
	require.Equal(t, "flow is 10.200\u00a0in, at most 10.000\u00a0in", b.Check(defaults)[0].Text(units.US))
}

func TestBatchesThatCannotBe(t *testing.T) {
	t.Parallel()
	cold := units.Temperature(-60)
	for field, b := range map[string]Batch{
		"mark":            {},
		"flow_1":          {Mark: "1", Flow: [2]units.Length{102 * units.Inch, 9 * units.Inch}},
		"flow_2":          {Mark: "1", Flow: [2]units.Length{9 * units.Inch, 0}},
		"mix_temperature": {Mark: "1", Mix: &cold},
		"placed":          {Mark: "1", MixEnd: cast, Placed: cast.Add(-time.Minute)},
		"mix_end":         {Mark: "1", MixStart: cast, MixEnd: cast.Add(25 * time.Hour)},
		"fiber":           {Mark: "1", FiberKg: -1},
		"water_target":    {Mark: "1", WaterTargetKg: math.NaN()},
	} {
		var v *fault.Invalid
		require.ErrorAs(t, b.Validate(defaults), &v, field)
		require.NotNil(t, v.Of(field), field)
	}
}
