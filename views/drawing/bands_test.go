package drawing

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestBandsToScale(t *testing.T) {
	t.Parallel()
	l := layBands(BandsData{Title: "Foreseen and measured", Rows: []BandRow{{Name: "share", ForeseenLow: 0.2, ForeseenHigh: 0.3, Value: 0.25, Low: 0.22, High: 0.28},
		{Name: "fall", ForeseenLow: 0.2, ForeseenHigh: 0.3, Value: math.NaN(), Low: math.NaN(), High: math.NaN()}}}, 640)
	require.Equal(t, "share: foreseen 0.20 to 0.30, measured 0.25; fall: foreseen 0.20 to 0.30, not measured.", l.desc)
	require.Len(t, l.shapes, 4, "a band a row, an interval and its mark once")
	// 0 to 0.3 over 600 px from 16.
	require.Contains(t, l.shapes[0].D, "M416 ")
	require.Contains(t, l.shapes[1].D, "M456 ")
	for _, s := range l.shapes {
		require.NotContains(t, s.D, "NaN")
	}
	empty := layBands(BandsData{}, 300)
	require.True(t, finite(empty.height))
}
