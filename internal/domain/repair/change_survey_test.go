package repair_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
)

// A reading that was entered by mistake is withdrawn: it counts no longer and
// stays on record, and a correction in the same entry wins over its withdrawal.
func TestWithdrawnReadingStaysOnRecord(t *testing.T) {
	t.Parallel()
	s := begin(t)
	first := grid(func(i, j int) float64 {
		if i == 3 && j == 0 {
			return 0.9
		}
		return 0.1
	})
	require.NoError(t, s.do(authz.Inspector, first))
	low := capacity(s)
	sv := s.Ends[0].LatestSurvey()
	wrong := first.Readings[3]
	place := repair.PlaceIn{Face: wrong.Face, X: wrong.X, Z: wrong.Z}
	edit := repair.EditSurvey{SurveyID: sv.ID, Facts: first.Facts, Withdrawn: []repair.PlaceIn{place, {Face: "L", X: 1, Z: 1}}}
	require.NoError(t, s.do(authz.Inspector, edit))
	require.Len(t, s.Ends[0].Readings, 64)
	require.Len(t, s.Ends[0].SurveyFindings(s.Ends[0].LatestSurvey()).Readings, 63)
	require.Greater(t, capacity(s), low)

	right := first.Readings[4]
	right.T /= 2
	edit.Readings, edit.Withdrawn = []repair.ReadingIn{right}, []repair.PlaceIn{{Face: right.Face, X: right.X, Z: right.Z}}
	require.NoError(t, s.do(authz.Inspector, edit))
	require.Len(t, s.Ends[0].SurveyFindings(s.Ends[0].LatestSurvey()).Readings, 63, "corrected, not withdrawn")
}

// What a preview shows is what storing the same findings gives.
func TestPreviewIsWhatIsStored(t *testing.T) {
	t.Parallel()
	s := begin(t)
	found := grid(func(i, j int) float64 { return 0.6 / float64(1+j) })
	ev, loss := s.Ends[0].PreviewSurvey(s.Scope, found.Findings())
	require.NoError(t, s.do(authz.Inspector, found))
	st := s.Ends[0].State[0]
	require.Equal(t, *st.Capacity, ev.Capacity)
	require.Equal(t, *st.LossMax, loss)
	require.Equal(t, st.Governing, ev.Governing)
}
