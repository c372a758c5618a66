package demo

import (
	"bytes"
	"encoding/json"
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/logfile"
	"endcast/internal/domain/monitor"
	"endcast/internal/domain/repair"
)

// judged is what the strain records of an end say at the end of the story.
func judged(t *testing.T, name string) monitor.Judgment {
	t.Helper()
	s, r := record(t), byName(t, name)
	found := map[string]repair.Found{}
	heardOf.Lock()
	for _, x := range r.CountedRecordings() {
		found[x.ID] = heardOf.found[x.ID]
	}
	heardOf.Unlock()
	return monitor.Judge(s.Basis(), r.StrainEvidence(s, found, zone, 1))
}

// One end whose panel carries what its design foresees, watched into its third month; one
// that carries nothing, with the finding raised; one without a control gauge; one with too
// little on record that says how much more is needed.
func TestStrainRecordsOfTheStory(t *testing.T) {
	t.Parallel()
	s := record(t)
	for name, want := range map[string][]string{"1F-3": {"engaged", "engaged", "engaged"}, "1N-2": {"not_engaged"}, "5N-2": {"indicative"}, "2N-6": nil, "6N-2": nil} {
		r := byName(t, name)
		var have []string
		for _, v := range r.Verdicts {
			have = append(have, v.Result)
		}
		require.Equal(t, want, have, name)
		if v := r.LatestVerdict(); v != nil {
			require.Equal(t, v.Digest, r.StrainDigest(s), "%s: nothing moved since", name)
		}
	}
	good := judged(t, "1F-3")
	require.Equal(t, monitor.Later, good.Decided)
	require.Empty(t, good.Finding, "measured as foreseen")
	require.InDelta(t, 0.235, good.Against[1].Reduction.Value, 0.03)
	require.InDelta(t, 0.235, good.States[2].Share.Value, 0.03)
	require.GreaterOrEqual(t, len(good.Trend.Months), 3)
	require.False(t, good.Trend.Rising, good.Trend.Words)
	require.Greater(t, *good.Trend.Months[2].Temperature, *good.Trend.Months[0].Temperature+3, "summer comes")

	idle := byName(t, "1N-2")
	require.Len(t, idle.Nonconformances, 1)
	require.Nil(t, idle.Nonconformances[0].ClosedAt)
	require.Contains(t, idle.Nonconformances[0].Requirement, "load share as foreseen by the design")

	require.Contains(t, judged(t, "5N-2").Words, "no control gauge")
	few := judged(t, "2N-6")
	require.Equal(t, monitor.NotEnough, few.Verdict)
	require.Positive(t, few.Against[0].More[0].Passages)
	require.Regexp(t, `[0-9]+ more passages and 3 more days after casting are needed`, few.Words)
	for _, r := range s.Ends {
		for _, x := range r.Recordings {
			require.NotEmpty(t, x.Found, "the logger slept between its afternoons")
			require.Greater(t, x.Lost, 0.9)
		}
	}
}

// The samples are what a reader makes of the file, and come out the same each time.
func TestStrainFilesReadBackToTheirSamples(t *testing.T) {
	t.Parallel()
	s, r := record(t), byName(t, "2N-6")
	x := strainFiles[len(strainFiles)-1]
	require.Equal(t, "2N-6", x.end)
	have, ok := r.RecordingOf(x.id())
	require.True(t, ok)
	ch, made, err := x.write(r, s)
	require.NoError(t, err)
	require.Equal(t, have.SHA256, ch.SHA256)
	require.Equal(t, have.SamplesDigest, ch.SamplesDigest)
	var m logfile.Map
	require.NoError(t, json.Unmarshal([]byte(ch.Map["map"]), &m))
	parts, err := logfile.Unpack(ch.FileName, bytes.NewReader(made.File), int64(len(made.File)), logfile.Limits{Bytes: 1 << 30})
	require.NoError(t, err)
	in := logfile.ReadParts(parts, m, logfile.Rules{Zone: zone})
	defer in.Close()
	digest := monitor.NewSamplesHash()
	for in.Next() {
		digest.Add(in.At().UnixNano(), in.Values())
	}
	require.NoError(t, in.Err())
	require.Equal(t, ch.SamplesDigest, digest.Sum())
	for _, v := range []float64{0, -0.04, 0.06, -12.34, 99.99} {
		text, back := decimal(nil, v, 1)
		var read float64
		_, err := fmt.Sscan(string(text), &read)
		require.NoError(t, err)
		require.Equal(t, read+0, back+0, "%g", v)
		require.InDelta(t, v, back, 0.051)
	}
}
