package units_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/units"
)

func TestSizesInInches(t *testing.T) {
	t.Parallel()
	for l, want := range map[units.Length]string{19.05: "3/4", 101.6: "4", 22.225: "7/8", 80.9625: "3-3/16", 68.2625: "2-11/16", 100: "3-15/16", 3: "1/8", 20: "0.787", 0: "0"} {
		require.Equal(t, want, units.Inches(l), "%v mm", float64(l))
	}
}
