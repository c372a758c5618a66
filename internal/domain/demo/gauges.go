package demo

import (
	"strconv"
	"time"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
)

// gauges are the sensors of an end whose load path is to be proven: both faces of the
// web at the foot of the panel, one in the panel, the slip between the two, a control
// on the girder that the repair does not reach, and the air.
func (e end) gauges() {
	at := e.form.Add(10 * minute)
	for i, g := range []struct {
		name, kind, direction, face string
		from, up                    units.Length
		channel                     string
	}{
		{"W1", "web_foil", "vertical", "L", 0, in(2), "ch1_ue"},
		{"W2", "web_foil", "vertical", "R", 0, in(2), "ch2_ue"},
		{"P1", "embedded", "vertical", "L", 0, in(6), "ch3_ue"},
		{"S1", "displacement", "vertical", "L", 0, in(10), "ch4_um"},
		{"C1", "girder_foil", "along", "", 18 * units.Foot, 0, "ch5_ue"},
		{"A1", "thermometer", "none", "", 0, 0, "ch6_C"},
	} {
		zero := at.Add(time.Duration(12+i) * minute)
		ch := repair.SaveSensor{Name: g.name, SensorKind: g.kind, Direction: g.direction, Face: g.face, FromBearing: g.from, AboveFlange: g.up, Channel: g.channel, Input: "engineering",
			InstalledAt: at.UTC(), ZeroAt: zero.UTC(), ZeroRaw: round(between(-40, 40, e.name, g.name, "zero"), 0.1), Note: "zero read with no traffic on the span"}
		if g.kind == "thermometer" {
			ch.ZeroAt, ch.ZeroRaw, ch.Note = time.Time{}, 0, "in the shade of the flange"
		}
		e.say(e.key("gauge", g.name, strconv.Itoa(i)), authz.Inspector, zero, e.ref, ch)
	}
}
