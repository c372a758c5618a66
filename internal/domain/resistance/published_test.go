package resistance_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/units"
)

// with sets settings of the basis.
func with(t testing.TB, pairs ...any) basis.Basis {
	t.Helper()
	var b basis.Basis
	for i := 0; i < len(pairs); i += 2 {
		var err error
		b, err = b.With(pairs[i].(basis.Key), pairs[i+1].(float64))
		require.NoError(t, err)
	}
	return b
}

const (
	inch = units.Inch
	kip  = float64(units.Kip)
)

// w18x50 is the beam of AISC Design Example II.D-2, which the library leaves out.
func w18x50() girder.Section {
	return girder.Section{Name: "W18X50", Kind: girder.Rolled, Depth: 18.0 * inch, FlangeWidth: 7.50 * inch, TopFlangeWidth: 7.50 * inch,
		FlangeThickness: 0.570 * inch, TopFlangeThickness: 0.570 * inch, WebThickness: 0.355 * inch, FilletK: 0.972 * inch}
}

func shape(t testing.TB, name string) girder.Section {
	t.Helper()
	if name == "W18X50" {
		return w18x50()
	}
	e, ok := girder.Lookup(name)
	require.True(t, ok, name)
	return e.Section
}
