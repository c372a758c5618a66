package web_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
)

// A strength sensor in the concrete comes in as any recording, a row in five minutes; the
// page of the curing holds it to forecast and breaks, says where they are apart, and
// no gate moves by it.
func TestStrengthSensorBesideForecastAndBreaks(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.approved("1N-1")
	p.cast(110, "1N-1")
	start := ago(109 * time.Hour)
	c := p.Role(authz.Inspector)
	at := p.sendLog(c, "seven.csv", []byte(warming(start, 100))).Status(303).Response.Header.Get("Location")
	c.Post(at, answers("T7", start)...).Status(303)
	page := p.Path("pours", "1", "curing")
	c.Get(page).Status(200).Lacks("Strength sensors")

	c.Post(p.Path("ends", "1N-1", "strain", "sensors"), "entry", newEntryID(), "name", "F1", "sensor_kind", "strength", "channel", "F1 [psi]", "installed_at", box(start.Add(-2*time.Hour)), "from_bearing", "0",
		"above_flange", "8 in", "face", "L", "direction", "none", "input", "engineering").Status(303)
	c.Get(page).Status(200).Has("Strength sensors", "F1 at 1N-1 is in place; no recording", "opens no gate")

	var f strings.Builder
	f.WriteString("time,F1 [psi]\n")
	for i := range 12 * 105 {
		at := start.Add(time.Duration(i) * 5 * time.Minute)
		fmt.Fprintf(&f, "%s,%.0f\n", at.Format(time.RFC3339), 9000*(1-1/(1+at.Sub(start).Hours()/30)))
	}
	at = p.sendStrain(c, "1N-1", "f1.csv", []byte(f.String())).Status(303).Response.Header.Get("Location")
	c.Get(at).Status(200).Has("One row every 5 min", `value="0.00333333"`)
	x := p.End("1N-1").Sensors[0]
	form := []string{"entry", newEntryID(), "kind", "date", "order", "ymd", "time_column", "1", "rate", "0.00333333", "header", "1", "separator", "comma", "decimal", ".", "encoding", "utf-8",
		"logger", "L9", "sensor-2", x.ID, "unit-2"}
	c.Post(at, append(form, "mm", "act", "preview")...).Status(422).Has("strength sensor in the concrete: it cannot be in mm")
	c.Post(at, append(form, "psi", "act", "preview")...).Status(200).Has("First rows, as they would be read", "MPa")
	c.Post(at, append(form, "psi", "act", "read")...).Status(303)
	require.NoError(t, p.Store.WorkStrain(p.ctx))
	c.Get(p.Path("ends", "1N-1", "strain", "recordings")).Status(200).Has("one row every 5 min")

	before := c.Get(p.Path("pours", "1")).Status(200).One("main")
	for i := range 3 {
		p.Do(authz.Laboratory, "1N-1", breakOf(fmt.Sprintf("P001-%02d", i+1), start.Add(97*time.Hour), 15))
	}
	require.NotEqual(t, before, c.Get(p.Path("pours", "1")).Status(200).One("main"), "breaks do move the gates")
	// 7.5 psi·1000 at 97 h against 15 ksi broken: half of it.
	c.Get(page).Status(200).Has("F1 at 1N-1 is apart in", "below the field cured set of 4 d", "the limit is 10 %", "go by the lower", "Sensor beside forecast and specimens", "forecast by maturity", "uhpc.sensor_apart")
	browser := p.Browser(authz.Engineer)
	p.Look(browser, page, "strength-sensor")
}
