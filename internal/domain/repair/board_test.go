package repair_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
)

// A night shift that ends at four in the morning of the 1st by UTC worked on the
// evening of the last of the month where the bridge stands.
func TestDaysAreThoseOfTheBridge(t *testing.T) {
	t.Parallel()
	night := time.Date(2027, 7, 1, 2, 0, 0, 0, time.UTC) // Thursday
	for zone, want := range map[string]string{"": "2027-07-01", "UTC": "2027-07-01", "America/New_York": "2027-06-30", "Europe/Berlin": "2027-07-01", "Etc/GMT+5": "2027-06-30", "No/Such": "2027-07-01"} {
		p := repair.Program{Timezone: zone}
		require.Equal(t, want, p.Day(night).Format(time.DateOnly), zone)
		require.Equal(t, time.UTC, p.Day(night).Location())
	}
	// Days are counted whole across the change of clocks.
	p := repair.Program{Timezone: "America/New_York"}
	require.Equal(t, 1, repair.DaysBetween(p.Day(time.Date(2027, 3, 14, 6, 0, 0, 0, time.UTC)), p.Day(time.Date(2027, 3, 15, 5, 0, 0, 0, time.UTC))))
}

func TestCountsFollowTheZoneOfTheProgram(t *testing.T) {
	t.Parallel()
	s := begin(t)
	s.now = time.Date(2027, 5, 4, 2, 0, 0, 0, time.UTC)
	require.NoError(t, s.do(authz.Inspector, grid(func(i, j int) float64 { return 0.2 })))
	joined := func() string {
		for m := range s.Ends[0].Tally[0].Marks {
			if len(m) > 4 && m[:4] == "end|" {
				return m
			}
		}
		return ""
	}
	require.Equal(t, "end|open|2027-05-03", joined())
	p := s.Program
	p.Timezone, p.PhotoPolicy = "Pacific/Kiritimati", repair.PhotosAsTaken // fourteen hours ahead: noon of UTC is the next day
	require.NoError(t, s.do(authz.Administrator, repair.EditProgram{Program: p}))
	require.Equal(t, "end|open|2027-05-04", joined())
}
