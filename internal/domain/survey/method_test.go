package survey_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/survey"
)

func TestMethodOf(t *testing.T) {
	t.Parallel()
	for words, want := range map[string]survey.Method{
		"caliper": survey.Caliper, "Vernier calliper": survey.Caliper, "ultrasonic": survey.Ultrasonic, "Ultrasound, echo to echo": survey.Ultrasonic,
		"UT": survey.Ultrasonic, "UT-204": survey.Ultrasonic, "pit gauge": survey.PitGauge, "Pit gage and ruler": survey.PitGauge,
		"": survey.Unstated, "by eye": survey.Unstated, "cutting": survey.Unstated, "output of a scan": survey.Unstated,
	} {
		require.Equal(t, want, survey.MethodOf(words), words)
	}
	for _, m := range []survey.Method{survey.Caliper, survey.Ultrasonic, survey.PitGauge, survey.Unstated} {
		require.Equal(t, m, survey.MethodOf(string(m)), "a method is called by its own name")
	}
}
