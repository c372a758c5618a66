package units

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestReword(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ text, us, si string }{
		{"they differ by 2.54 mm", "they differ by 0.1 in", "they differ by 2.54 mm"},
		{"at least 12.7 and at most 25.4 mm a year", "at least 12.7 and at most 1 in a year", "at least 12.7 and at most 25.4 mm a year"},
		{"from 12.7 to 25.4 mm, band 254 to 508 mm", "from 0.5 to 1 in, band 10 to 20 in", "from 12.7 to 25.4 mm, band 254 to 508 mm"},
		{"stud diameter is 0.875 in (22.2 mm), at most 0.750 in (19.1 mm)", "stud diameter is 0.875 in, at most 0.750 in", "stud diameter is 22.2 mm, at most 19.1 mm"},
		{"strength is 21.70 ksi (149.6 MPa), the rules begin at 17.50 ksi (120.7 MPa)", "strength is 21.70 ksi, the rules begin at 17.50 ksi", "strength is 149.6 MPa, the rules begin at 120.7 MPa"},
		{"100 kN on 6.895 MPa", "22.5 kip on 1 ksi", "100 kN on 6.895 MPa"},
		{"spacing of 3.50 ft is less than 4 ft", "spacing of 3.50 ft is less than 4 ft", "spacing of 1070 mm is less than 1220 mm"},
		{"2 in a row, 3 in every ten", "2 in a row, 3 in every ten", "2 in a row, 3 in every ten"},
		{"at most 0.5 in; else 10 in.", "at most 0.5 in; else 10 in.", "at most 12.7 mm; else 254 mm."},
		{"12 mmol of 3 mm2", "12 mmol of 3 mm2", "12 mmol of 3 mm2"},
		{"the ratio is 0.681, less than 0.5", "the ratio is 0.681, less than 0.5", "the ratio is 0.681, less than 0.5"},
		{"1,234 kN", "277 kip", "1,234 kN"},
		{"−25.4 mm", "−1 in", "−25.4 mm"},
		{"", "", ""},
	} {
		require.Equal(t, c.us, Reword(c.text, US))
		require.Equal(t, c.si, Reword(c.text, SI))
	}
}

// Words without units come back as they were, and rewording twice is rewording once.
func TestRewordIsSteady(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringMatching(`[a-z ,.()0-9]{0,20}( [0-9]{1,3}\.?[0-9]{0,2} (mm|MPa|kN|ksi|kip|ft|in)[ ,.)]){0,3}`).Draw(t, "text")
		for _, sys := range []System{US, SI} {
			once := Reword(text, sys)
			require.Equal(t, once, Reword(once, sys), text)
		}
		bare := strings.NewReplacer("mm", "", "MPa", "", "kN", "", "ksi", "", "kip", "", "ft", "", "in", "").Replace(text)
		require.Equal(t, bare, Reword(bare, US))
	})
}
