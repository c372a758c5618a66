package web

import (
	"fmt"
	"net/http"
	"strings"
	"time"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/basis"
	"endcast/internal/domain/quality"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/sequence"
	"endcast/internal/domain/units"
	"endcast/views/field"
	"endcast/views/ui"
)

// cleaningShow is the page of the cleaning of an end, with the form that records one.
func (s *Server) cleaningShow(w http.ResponseWriter, r *http.Request) error {
	e, err := s.openEnd(r)
	if err != nil {
		return err
	}
	return e.cleaningPage(w, http.StatusOK, &typedForm{}, field.Sent{})
}

// cleaningRecord puts one cleaning on record: every zone for which a grade was
// chosen, and the photograph that came with it.
func (s *Server) cleaningRecord(w http.ResponseWriter, r *http.Request) error {
	e, err := s.openEnd(r)
	if err != nil {
		return err
	}
	f, err := e.typed()
	if err != nil {
		return err
	}
	change, captured := f.cleaning(), f.captured()
	pic, err := e.picture(f, e.photoSubjectOf(sequence.CleaningAccepted, "cleaning"), "Cleaned: "+zonesWords(change), captured)
	if err != nil {
		return err
	}
	if err = f.bad.Err(); err == nil {
		err = e.observe(captured, change)
	}
	if err == nil {
		err = e.keep(pic)
	}
	if refusedForm(err) {
		return e.cleaningPage(w, http.StatusUnprocessableEntity, f, f.sent(err))
	}
	if err != nil {
		return err
	}
	s.flash(r, ui.Done, "Cleaning of "+e.rec.End.Name+" recorded: "+zonesWords(change)+".")
	return seeOther(w, r, e.path("cleaning"))
}

// cleaning reads the form; zones without a grade were not touched.
func (f *typedForm) cleaning() repair.RecordCleanings {
	ch := repair.RecordCleanings{Method: f.text("method"), StartedAt: f.moment("from"), EndedAt: f.moment("to"), SolventFirst: f.text("solvent") == "on",
		SteelTemp: quantity[units.Temperature](f, "steel"), AirTemp: quantity[units.Temperature](f, "air"), DewPoint: quantity[units.Temperature](f, "dew_point"),
		Humidity: f.number("humidity", units.Numbers), Note: f.text("note")}
	for _, z := range quality.Zones() {
		key := string(z)
		if f.text(key) == "" {
			continue
		}
		in := repair.ZoneIn{Zone: key, Grade: f.text(key), Rust: f.text(key + "_rust"), Note: f.text(key + "_note")}
		if p := quantity[units.Length](f, key+"_profile"); p != nil {
			in.Profile = *p
		}
		ch.Zones = append(ch.Zones, in)
	}
	return ch
}

func zonesWords(ch repair.RecordCleanings) string {
	var out []string
	for _, z := range ch.Zones {
		out = append(out, quality.Zone(z.Zone).Words()+" to "+gradeCode(z.Grade))
	}
	return strings.Join(out, ", ")
}

// gradeCode writes a grade as the trade does: SP 11.
func gradeCode(g string) string {
	if n, ok := strings.CutPrefix(g, "SP"); ok {
		return "SP " + n
	}
	return g
}

func (e *endReader) cleaningPage(w http.ResponseWriter, status int, f *typedForm, sent field.Sent) error {
	a := e.rec.CleaningAssessment(e.sc)
	v := field.Cleaning{Head: e.head(), Against: a.Against, Warnings: a.Warnings, Records: e.cleaningRecords(), Standing: ui.Mark{State: ui.Open, Text: "nothing recorded yet"},
		Pictures: e.pictures("cleaning", e.photoSubjectOf(sequence.CleaningAccepted, ""))}
	switch {
	case len(e.rec.Cleanings) > 0 && a.Acceptable:
		v.Standing = ui.Mark{State: ui.Good, Text: "may be accepted"}
	case len(e.rec.Cleanings) > 0:
		v.Standing = ui.Mark{State: ui.Stop, Text: "not what is asked"}
	}
	if c := e.lastCleaned(); c != nil && a.Acceptable {
		one := quality.Cleaning{To: c.EndedAt}
		if hours, stale := one.Stale(e.now(), e.sc.Basis()); stale {
			v.Warnings = append(v.Warnings, fmt.Sprintf("the stud positions were cleaned %.0f hours ago: look for flash rust again before welding", hours))
		}
	}
	for _, z := range zonesAsked {
		v.Asked = append(v.Asked, field.Asked{Zone: sentenceCase(z.zone.Words()), Least: e.leastGrade(z.zone), Must: z.must})
	}
	for _, g := range quality.Grades() {
		v.Grades = append(v.Grades, field.Grade{Code: gradeCode(string(g.Grade)), Name: g.Name, ISO: g.ISO, Remains: g.Remains, Level: numberOf(g.Level)})
	}
	if e.s.can(e.r, authz.RecordCleaning) {
		v.Form = e.cleaningForm(f, sent)
	}
	p := e.fieldPage("Cleaning")
	return e.s.render(w, e.r, status, field.CleaningPage(p, v))
}

// zonesAsked are the zones with the setting that says how clean each must be.
var zonesAsked = []struct {
	zone quality.Zone
	key  basis.Key
	must bool
}{{quality.StudPositions, basis.CleanStuds, true}, {quality.EncasedArea, basis.CleanEncased, true}, {quality.OutsidePanel, basis.CleanOutside, false}}

// leastGrade says in words what the design basis asks of a zone.
func (e *endReader) leastGrade(zone quality.Zone) string {
	for _, z := range zonesAsked {
		if z.zone != zone {
			continue
		}
		level := int(e.sc.Basis().Value(z.key) + 0.5)
		if level <= 0 {
			return "nothing in particular"
		}
		var meet []string
		for _, g := range quality.Grades() {
			if g.Level >= level {
				meet = append(meet, gradeCode(string(g.Grade)))
			}
		}
		text := fmt.Sprintf("level %d at least: %s", level, strings.Join(meet, ", "))
		if !z.must {
			text += "; not needed for casting"
		}
		return text
	}
	return ""
}

func (e *endReader) lastCleaned() *repair.Cleaning {
	var out *repair.Cleaning
	for i := range e.rec.Cleanings {
		c := &e.rec.Cleanings[i]
		if c.Zone == string(quality.StudPositions) && (out == nil || !c.EndedAt.Before(out.EndedAt)) {
			out = c
		}
	}
	return out
}

func (e *endReader) cleaningRecords() []field.CleaningRecord {
	seen := map[string]bool{}
	var out []field.CleaningRecord
	for _, c := range newestFirst(e.rec.Cleanings, func(c repair.Cleaning) time.Time { return c.EndedAt }) {
		row := field.CleaningRecord{Zone: sentenceCase(quality.Zone(c.Zone).Words()), Grade: gradeCode(c.Grade), Rust: "flash rust " + c.Rust, Method: plainWord(c.Method),
			When: e.span(c.StartedAt, c.EndedAt), Note: c.Note, By: e.name(c.ByUser), Latest: !seen[c.Zone]}
		seen[c.Zone] = true
		if c.Profile > 0 {
			row.Profile = "profile " + c.Profile.Format(e.sys, e.profileDecimals())
		}
		var air []string
		for _, t := range []struct {
			what string
			v    *units.Temperature
		}{{"steel", c.SteelTemp}, {"air", c.AirTemp}, {"dew point", c.DewPoint}} {
			if t.v != nil {
				air = append(air, t.what+" "+t.v.Format(e.sys, -1))
			}
		}
		if c.Humidity != nil {
			air = append(air, fmt.Sprintf("humidity %.0f %%", *c.Humidity))
		}
		if c.SolventFirst {
			row.Method += ", solvent first"
		}
		row.Air = strings.Join(air, ", ")
		out = append(out, row)
	}
	return out
}

// span prints from when to when, the day once where it is the same.
func (e *endReader) span(from, to time.Time) string {
	a, b := from.In(e.zone), to.In(e.zone)
	if a.Format(time.DateOnly) == b.Format(time.DateOnly) {
		return a.Format("2006-01-02 15:04") + " to " + b.Format("15:04")
	}
	return e.when(from) + " to " + e.when(to)
}

// profileDecimals: a profile is a few thousandths of an inch.
func (e *endReader) profileDecimals() int {
	if e.sys == units.SI {
		return 3
	}
	return 4
}
