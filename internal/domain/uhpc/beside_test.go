package uhpc

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/units"
)

// readEvery makes readings each hour up to an age, the forecast times a factor.
func readEvery(f Forecast, hours float64, factor float64) []StrengthReading {
	var out []StrengthReading
	for h := 0.5; h <= hours; h++ {
		out = append(out, StrengthReading{hour(h), units.Stress(factor) * f.At(hour(h)).Value})
	}
	return out
}

// The limit of a tenth is common practice, no source; the forecast below is that of
// the published log of TestForecastOfThePublishedLog.
func TestSensorBesideForecastAndSpecimens(t *testing.T) {
	t.Parallel()
	b := noGaps(t)
	fitted := Strengthening{Curve: Gain{Plateau: 165.2, Start: 0.25, Scale: 2.95, Shape: 0.39}, Origin: OwnFit, Curing: 20, From: 0.5, To: 90, DoubtPart: 0.05}
	r := madeUp().Evaluate(b)
	f := NewForecast(fitted, cast, &r, nil, b)
	b = defaults
	at3 := f.At(hour(72)).Value
	sets := []Broke{{"field-cured set of 3 d", hour(71), at3}, {"set of a week later", hour(240), at3}}
	for _, x := range []struct {
		factor float64
		apart  int
	}{{1, 0}, {1.05, 0}, {0.93, 0}, {0.8, 3}, {1.25, 3}} {
		lines := Beside(f, readEvery(f, 80, x.factor), sets, b)
		require.Len(t, lines, 4, "1, 2 and 3 days and the set; nothing was read near the other set, and the log ends at 72 h")
		n := 0
		for _, l := range lines {
			if l.Apart {
				n++
			}
			if !l.Specimens {
				require.InDelta(t, x.factor-1, l.Off, 0.03, "the reading is half an hour off the round age at most")
			}
		}
		words, apart := BesideWords("S9", lines, b)
		require.Equal(t, x.apart > 0, apart, words)
		require.GreaterOrEqual(t, n, x.apart)
		if apart {
			require.Contains(t, words, "S9 is apart in")
			require.Contains(t, words, "the limit is 10 %")
			require.Contains(t, words, "go by the lower")
		} else {
			require.Contains(t, words, "S9 agrees")
		}
	}
	require.Empty(t, Beside(f, nil, sets, b))
	words, apart := BesideWords("S9", nil, b)
	require.False(t, apart)
	require.Contains(t, words, "nothing can be held to it")
	// Where nothing was measured the forecast is no witness; specimens are.
	f.SoFar = nil
	lines := Beside(f, []StrengthReading{{hour(71), 0.5 * at3}}, sets, b)
	require.Len(t, lines, 1)
	require.True(t, lines[0].Specimens && lines[0].Apart)
}

// A sensor is apart from specimens exactly beyond the setting, whatever the setting.
func TestSensorApartIsTheSetting(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		limit := rapid.Float64Range(0.02, 0.5).Draw(t, "limit")
		off := rapid.Float64Range(-0.6, 0.6).Draw(t, "off")
		b, err := basis.Basis{}.With(basis.SensorApart, limit)
		if err != nil {
			t.Fatal(err)
		}
		at := cast.Add(time.Hour)
		lines := Beside(Forecast{Cast: cast}, []StrengthReading{{at, units.Stress(100 * (1 + off))}}, []Broke{{"set", at, 100}}, b)
		if len(lines) != 1 {
			t.Fatalf("%d lines", len(lines))
		}
		if d := abs(off) - limit; abs(d) > 1e-9 && lines[0].Apart != (d > 0) {
			t.Fatalf("off %g, limit %g: %v", off, limit, lines[0].Apart)
		}
	})
}
