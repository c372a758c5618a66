package web_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
)

// withBreaks casts hours ago and breaks a standard-cured set of three at each age in
// days, at a strength in ksi.
func (p *testProgram) withBreaks(hours float64, end string, ages []float64, ksi []float64) {
	p.t.Helper()
	start := ago(time.Duration(hours * float64(time.Hour)))
	done, placed, flow := start.Add(time.Hour), start.Add(15*time.Minute), 9.2*units.Inch
	ch := repair.RecordPour{StartedAt: start, EndedAt: &done, VolumeL: map[string]float64{}, Batches: []repair.BatchIn{{MixedAt: start, PlacedAt: &placed, Flow: &flow}}}
	for _, d := range ages {
		ch.Specimens = append(ch.Specimens, repair.SpecimenSet{Batch: 1, Kind: "cyl_3x6", Curing: "standard", NominalDays: d, Count: 3, Purpose: "information"})
	}
	p.Do(authz.Inspector, end, ch)
	list, err := p.Store.Castings(p.ctx, p.ID)
	require.NoError(p.t, err)
	number := len(list.Pours)
	for i, d := range ages {
		for k := range 3 {
			mark := fmt.Sprintf("P%03d-%02d", number, 3*i+k+1)
			p.Do(authz.Laboratory, end, breakOf(mark, placed.Add(time.Duration(d*24*float64(time.Hour))), ksi[i]+0.1*float64(k-1)))
		}
	}
}

// The forecast goes by the curve of the design basis until the program has its own,
// says which, and takes the temperature ahead from the reader's hand. Strengths of
// the sets are of a published mix (data set of 810 rows, CC BY 4.0: 0.68 ... 1 of the
// 28-day value), rounded; what is checked is which curve is used, not its numbers.
func TestTheForecastSaysItsCurveAndTakesATemperature(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.approved("1N-1")
	p.cast(40, "1N-1")
	start := ago(39 * time.Hour)
	c := p.Role(authz.Inspector)
	at := p.sendLog(c, "seven.csv", []byte(warming(start, 20))).Status(303).Response.Header.Get("Location")
	c.Post(at, answers("T7", start)...).Status(303)
	page := p.Path("pours", "1", "curing")
	c.Get(page).Status(200).Has("By the curve of the design basis", "Temperature ahead: ", "break the next set ", " after casting", "return to traffic", "at least 55\u00a0°F")
	warm := c.Get(page+"?ahead=95").Status(200).Has("Temperature ahead as entered, 95\u00a0°F", `value="95"`)
	cool := c.Get(page + "?ahead=41").Status(200).Has("Temperature ahead as entered, 41\u00a0°F")
	require.NotEqual(t, warm.One("section[aria-labelledby=forecast] ul"), cool.One("section[aria-labelledby=forecast] ul"))
	c.Get(page+"?ahead=900").Status(200).Has("emperature ahead must be from", "got 900", `value="900"`, "Temperature ahead: ")
	c.Get(page + "?ahead=21+in").Status(200).Has("is a length")

	p.withBreaks(60*24, "1N-2", []float64{1, 3, 7, 28}, []float64{10.5, 15, 18.4, 22.6})
	c.Get(page).Status(200).Has("By the program&#39;s own curve, fitted to 4 sets").Lacks("By the curve of the design basis")
}
