package drawing

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"endcast/internal/domain/sequence"
)

// Every step that a program starts from has a phase, and phases never go back
// along the sequence.
func TestPhaseOfDefaultSequence(t *testing.T) {
	t.Parallel()
	last := NotStarted
	for _, s := range sequence.DefaultSequence() {
		_, known := codes[s.Code]
		require.True(t, known, s.Code)
		p := PhaseOf(s.Code, false)
		require.GreaterOrEqual(t, p, last, s.Code)
		require.Less(t, p, Closed, s.Code)
		require.Equal(t, Closed, PhaseOf(s.Code, true), s.Code)
		last = p
	}
	require.Equal(t, Verifying, last)
}

func TestPhaseOf(t *testing.T) {
	t.Parallel()
	own := []string{"ACC", "CLN", "PAINT", "WLD", "BEND", "CST", "SEAL"}
	for _, c := range []struct {
		code     string
		sequence []string
		want     Phase
	}{
		{"ACC", nil, NotStarted}, {"CLN", nil, Preparing}, {"MSR", nil, Preparing}, {"DES", nil, Designing},
		{"WLD", nil, Studding}, {"COL", nil, Studding}, {"GAU", nil, Studding}, {"COR", nil, Forming},
		{"FRM", nil, Forming}, {"REL", nil, Forming}, {"CST", nil, Casting}, {"CUR", nil, Casting},
		{"STR", nil, Verifying}, {"HRD", nil, Verifying}, {"LDP", nil, Verifying}, {"CLS", nil, Verifying},
		{"", nil, NotStarted}, {"PAINT", nil, NotStarted}, {"ABSENT", own, NotStarted},
		{"PAINT", own, Preparing}, {"BEND", own, Studding}, {"SEAL", own, Casting},
		{"Q", []string{"Q", "CST"}, NotStarted},
		{"A1", []string{"A1", "A2", "A3", "A4"}, NotStarted}, {"A3", []string{"A1", "A2", "A3", "A4"}, Studding},
	} {
		require.Equal(t, c.want, PhaseOf(c.code, false, c.sequence...), "%s in %v", c.code, c.sequence)
	}
}

// Whatever an owner writes, phases rise along the sequence as long as its known
// steps do, and only closing closes.
func TestPhaseOfOwnSequence(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		seq := rapid.SliceOfDistinct(rapid.StringMatching(`[a-z]{1,4}`), rapid.ID[string]).Draw(t, "codes")
		last := NotStarted
		for _, c := range seq {
			p := PhaseOf(c, false, seq...)
			require.GreaterOrEqual(t, p, last)
			require.Less(t, p, Closed)
			last = p
		}
	})
}

// No two phases share a shape, a letter or a name.
func TestPhasesDiffer(t *testing.T) {
	t.Parallel()
	seen := map[string]bool{}
	for _, p := range Phases() {
		for _, s := range []string{"letter " + p.Letter(), "key " + p.Key(), "words " + p.String(), "shape " + phases[p].d} {
			require.False(t, seen[s], s)
			seen[s] = true
		}
	}
	require.Equal(t, NotStarted.String(), Phase(200).String())
}
