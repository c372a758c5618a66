package demo_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/demo"
	"endcast/internal/domain/repair"
)

func TestStoryPlays(t *testing.T) {
	t.Parallel()
	kinds := map[string]int{}
	s, err := demo.Play(demo.Story(), func(_ demo.Step, ch repair.Change) { kinds[ch.Kind()]++ })
	for _, r := range s.Ends {
		st := r.State[0]
		t.Logf("%s %-4s closed=%v %s/%s %s ood=%v ncr=%d", st.Name, st.StepCode, st.Closed, st.Track, st.Reason, st.ReasonText, st.OutOfDate, st.OpenNCR)
	}
	t.Log(kinds)
	require.NoError(t, err)
}
