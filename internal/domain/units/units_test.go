package units

import (
	"testing"

	"github.com/stretchr/testify/require"
)

func TestParse(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		kind Kind
		text string
		sys  System
		want float64
	}{
		{Lengths, "0.3125", US, 7.9375},
		{Lengths, "5/16", US, 7.9375},
		{Lengths, "1-1/4", US, 31.75},
		{Lengths, "1 1/4 in", US, 31.75},
		{Lengths, "1¼\"", SI, 31.75},
		{Lengths, "7.9 mm", US, 7.9},
		{Lengths, "7,9", SI, 7.9},
		{Lengths, "2 ft", US, 609.6},
		{Lengths, "2'-6\"", SI, 762},
		{Lengths, "2' 6 1/2\"", SI, 774.7},
		{Lengths, "2 ft 6 in", US, 762},
		{Lengths, "-1/4", US, -6.35},
		{Forces, "40 kip", SI, 177928.86461042},
		{Forces, "178 kN", US, 178000},
		{Stresses, "22.5 ksi", US, 155.13203909628},
		{Stresses, "1,234.5 psi", US, 1234.5 * 0.006894757293168361},
		{Stresses, "345MPa", US, 345},
		{Temperatures, "70", US, 190.0 / 9},
		{Temperatures, "70 °F", SI, 190.0 / 9},
		{Temperatures, "-40F", SI, -40},
		{Temperatures, "21 C", US, 21},
		{Angles, "12°30'", US, 12.5},
		{Angles, "30 deg", US, 30},
		{Moments, "2 kip-ft", US, 2 * 4448.2216152605 * 304.8},
	} {
		t.Run(c.text, func(t *testing.T) {
			t.Parallel()
			got, err := c.kind.Parse(c.text, c.sys)
			require.NoError(t, err)
			require.InDelta(t, c.want, got, 1e-9*max(1, c.want))
		})
	}
}
