package girder_test

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/girder"
)

func TestParseName(t *testing.T) {
	t.Parallel()
	for typed, want := range map[string]girder.Name{
		"2F-3":       {Span: 2, Side: girder.Far, Girder: 3},
		" 2 f - 3 ":  {Span: 2, Side: girder.Far, Girder: 3},
		"02n-010":    {Span: 2, Side: girder.Near, Girder: 10},
		"12N\u20137": {Span: 12, Side: girder.Near, Girder: 7},
		"999F−999":   {Span: 999, Side: girder.Far, Girder: 999},
	} {
		got, err := girder.ParseName(typed)
		require.NoError(t, err, typed)
		require.Equal(t, want, got)
	}
}

func TestParseNameRefuses(t *testing.T) {
	t.Parallel()
	for _, typed := range []string{"", "2", "F-3", "2F", "2F3", "2F-", "2X-3", "0F-3", "2F-0", "1000N-1", "2F--3", "2F-+3", "-2F-3", "2F-3.5",
		"2FN-3", "99999999999999999999F-1", string(make([]byte, 100))} {
		_, err := girder.ParseName(typed)
		var v *fault.Invalid
		require.ErrorAs(t, err, &v, typed)
		require.NotNil(t, v.Of("name"))
		require.Less(t, len(err.Error()), 300)
	}
}

func TestNameRoundTrip(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(r *rapid.T) {
		n := girder.Name{Span: rapid.IntRange(1, 999).Draw(r, "span"), Side: rapid.SampledFrom([]girder.Side{girder.Near, girder.Far}).Draw(r, "side"),
			Girder: rapid.IntRange(1, 999).Draw(r, "girder")}
		require.NoError(r, n.Validate())
		got, err := girder.ParseName(n.String())
		require.NoError(r, err)
		require.Equal(r, n, got)
	})
}

func TestNameReading(t *testing.T) {
	t.Parallel()
	// Supports count abutment, pier 1, pier 2: the far end of span 2 stands on the third.
	far, near := girder.Name{Span: 2, Side: girder.Far, Girder: 3}, girder.Name{Span: 3, Side: girder.Near, Girder: 3}
	require.Equal(t, 3, far.Support())
	require.Equal(t, 3, near.Support())
	require.Equal(t, "Pier 2, back face", far.Reading("Pier 2"))
	require.Equal(t, "Pier 2, ahead face", near.Reading("Pier 2"))
}

func FuzzParseName(f *testing.F) {
	for _, s := range []string{"2F-3", " 2 f – 3", "x", "1N-1", "0F-0"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		n, err := girder.ParseName(s)
		if err != nil {
			require.Zero(t, n)
			return
		}
		require.NoError(t, n.Validate())
		again, err := girder.ParseName(n.String())
		require.NoError(t, err)
		require.Equal(t, n, again)
	})
}
