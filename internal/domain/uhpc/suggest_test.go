package uhpc

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/units"
)

func TestSuggestedBreaks(t *testing.T) {
	t.Parallel()
	zone := time.FixedZone("site", -4*3600)
	due := func(castAt time.Time, hours float64) Due {
		s := broken("1", 20)
		s.Cast, s.NominalHours, s.Broken, s.Load = castAt, hours, time.Time{}, units.Force(0)
		return DueList([]Specimen{s}, castAt, zone, defaults)[0]
	}
	lab := HoursOf(zone, map[string]bool{"2027-07-05": true}, defaults)
	for _, c := range []struct {
		name  string
		cast  time.Time
		hours float64
		want  string // empty: none
	}{
		{"a night casting breaks at the nominal age less what the tolerance allows", time.Date(2027, 7, 6, 3, 0, 0, 0, zone), 72, ""},
		{"4 days after 04:30 the laboratory opens within the 3 h", time.Date(2027, 7, 8, 4, 30, 0, 0, zone), 96, "Mon 07:00"},
		{"7 days after a night", time.Date(2027, 7, 7, 1, 30, 0, 0, zone), 168, "Wed 07:00"},
		{"7 days after an evening", time.Date(2027, 7, 7, 20, 0, 0, 0, zone), 168, "Wed 17:00"},
		{"in hours as it is", time.Date(2027, 7, 7, 10, 15, 0, 0, zone), 168, "Wed 10:15"},
		{"28 days after a Saturday: Friday at closing", time.Date(2027, 7, 10, 10, 0, 0, 0, zone), 672, "Fri 17:00"},
		{"28 days after a Sunday: Monday at opening", time.Date(2027, 7, 11, 14, 0, 0, 0, zone), 672, "Mon 07:00"},
		{"a holiday is a shut day: 24 h", time.Date(2027, 7, 4, 12, 0, 0, 0, zone), 24, ""},
	} {
		d := due(c.cast, c.hours)
		s := d.Suggest(lab, d.Specimen.Cast)
		if c.want == "" {
			require.True(t, s.At.IsZero(), c.name)
			require.Contains(t, s.Why, "no hour of the laboratory", c.name)
			continue
		}
		require.Equal(t, c.want, s.At.In(zone).Format("Mon 15:04"), c.name)
		require.Equal(t, s.Off == 0, s.Why == "", c.name)
	}
	d := due(time.Date(2027, 7, 7, 10, 15, 0, 0, zone), 168)
	require.Equal(t, "Wed 12:00", d.Suggest(lab, d.At.Add(105*time.Minute)).At.In(zone).Format("Mon 15:04"), "late but in time: at once")
	require.Equal(t, "the window of the break is past", d.Suggest(lab, d.To.Add(time.Second)).Why)
	require.True(t, d.Suggest(HoursOf(zone, nil, with(t, defaults, basis.LabDays, 0)), d.From).At.IsZero())
	d.Specimen.Broken = d.At
	require.Equal(t, "broken already", d.Suggest(lab, d.At).Why)
}

// What is suggested lies in the window, not before now, on a working day.
func TestSuggestionProperties(t *testing.T) {
	t.Parallel()
	zone, err := time.LoadLocation("America/New_York")
	require.NoError(t, err)
	rapid.Check(t, func(t *rapid.T) {
		s := broken("1", 20)
		s.Cast = cast.Add(time.Duration(rapid.IntRange(0, 400*24*60).Draw(t, "minute")) * time.Minute)
		s.NominalHours = rapid.SampledFrom([]float64{12, 24, 72, 96, 168, 336, 672, 2160}).Draw(t, "age")
		s.Broken, s.Load = time.Time{}, 0
		d := DueList([]Specimen{s}, s.Cast, zone, defaults)[0]
		now := d.From.Add(time.Duration(rapid.IntRange(-600, 6000).Draw(t, "now")) * time.Minute)
		lab := HoursOf(zone, nil, defaults)
		got := d.Suggest(lab, now)
		if got.At.IsZero() {
			require.NotEmpty(t, got.Why)
			return
		}
		require.False(t, got.At.Before(d.From) || got.At.After(d.To) || got.At.Before(now))
		require.True(t, lab.WorksOn(got.At))
		at := got.At.In(zone)
		hour := float64(at.Hour()) + float64(at.Minute())/60
		require.True(t, hour >= 7 && hour <= 17, at)
	})
}
