package demand

import (
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/fault"
)

// A code is part of an address: what an address cannot hold is refused wherever a
// vehicle comes from.
func TestCodeFitsAnAddress(t *testing.T) {
	t.Parallel()
	for _, shipped := range Builtin() {
		require.NoError(t, shipped.Validate(), shipped.Code)
	}
	for _, code := range []string{"new", "New", ".", "..", "a/b", `a\b`, "a?b", "a#b", "50%"} {
		x := Builtin()[3]
		x.Code = code
		err := x.Validate()
		require.Equal(t, fault.Fields, fault.KindOf(err), code)
		require.ErrorContains(t, err, "address", code)
	}
}
