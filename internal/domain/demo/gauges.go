package demo

import (
	"strconv"
	"time"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
)

// gaugedAt is when the gauges are put in: on the first shift after the collars are
// released, so that there is a week of traffic to record before the panel, and at the
// latest on that of the form.
func (e end) gaugedAt() time.Time {
	at := shiftAfter(lineOf(e.Name).access, office(e.colDone(), 1, 10))
	if !at.Before(e.form) || !at.After(e.colDone()) {
		at = e.form
	}
	return at.Add(10 * minute)
}

// gauges are the sensors of an end whose load path is to be proven: both faces of the
// web at the foot of the panel, one in the panel, one on a stud of the foot row, the slip between
// web and panel, a control on the girder that the repair does not reach, and the air.
func (e end) gauges() {
	at := e.gaugedAt()
	for i, g := range []struct {
		name, kind, direction, face string
		from, up                    units.Length
		channel                     string
	}{
		{"W1", "web_foil", "vertical", "L", 0, in(2), "ch1_ue"},
		{"W2", "web_foil", "vertical", "R", 0, in(2), "ch2_ue"},
		{"P1", "embedded", "vertical", "L", 0, in(6), "ch3_ue"},
		{"T1", "stud_foil", "vertical", "L", in(4), in(6), "ch4_ue"},
		{"S1", "displacement", "vertical", "L", 0, in(10), "ch5_mm"},
		{"C1", "girder_foil", "along", "", 18 * units.Foot, 0, "ch6_ue"},
		{"A1", "thermometer", "none", "", 0, 0, "ch7_C"},
	} {
		zero := at.Add(time.Duration(12+i) * minute)
		ch := repair.SaveSensor{Name: g.name, SensorKind: g.kind, Direction: g.direction, Face: g.face, FromBearing: g.from, AboveFlange: g.up, Channel: g.channel, Input: "engineering",
			InstalledAt: at.UTC(), ZeroAt: zero.UTC(), ZeroRaw: round(between(-40, 40, e.name, g.name, "zero"), 0.1), Note: "zero read with no traffic on the span"}
		switch g.kind {
		case "thermometer":
			ch.ZeroAt, ch.ZeroRaw, ch.Note = time.Time{}, 0, "in the shade of the flange"
		case "displacement":
			ch.ZeroRaw = round(ch.ZeroRaw/1000, 0.001)
		case "stud_foil":
			e.tell(e.key("gauge", g.name, strconv.Itoa(i)), authz.Inspector, zero, e.ref, false, func(s *repair.Scope) (repair.Change, error) {
				r, d, err := inForce(s)
				if err != nil {
					return nil, err
				}
				ch := ch
				ch.Stud, ch.Note = r.StudsOf(d.ID)[0].Mark, "on the shank, under its coat"
				return ch, nil
			})
			continue
		}
		e.say(e.key("gauge", g.name, strconv.Itoa(i)), authz.Inspector, zero, e.ref, ch)
	}
}
