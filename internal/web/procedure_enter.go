package web

import (
	"fmt"
	"math"
	"net/http"
	"time"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/resistance"
	"endcast/internal/domain/units"
	"endcast/views/settings"
	"endcast/views/ui"
)

// procedureNumber is one number of a procedure in the form.
type procedureNumber struct {
	field, label, hint string
	length             bool
	of                 func(p *repair.ProcedureIn) *float64
	lengthOf           func(p *repair.ProcedureIn) *units.Length
}

var procedureNumbers = []procedureNumber{
	{field: "zone_height", label: "Least height of the zone above the bearing", length: true, lengthOf: func(p *repair.ProcedureIn) *units.Length { return &p.ZoneHeight }},
	{field: "zone_search", label: "Part of the web depth searched for the thinnest row", hint: "0 to 1.", of: func(p *repair.ProcedureIn) *float64 { return &p.ZoneSearch }},
	{field: "lowest_row", label: "Height of the lowest row, above the fillet", length: true, lengthOf: func(p *repair.ProcedureIn) *units.Length { return &p.LowestRow }},
	{field: "yielding_sound", label: "Factor on yielding, no hole", hint: "1 where the text has none.", of: func(p *repair.ProcedureIn) *float64 { return &p.YieldingSound }},
	{field: "yielding_holed", label: "Factor on yielding, hole in the lowest row", of: func(p *repair.ProcedureIn) *float64 { return &p.YieldingHoled }},
	{field: "crippling_sound", label: "Factor on crippling, no hole", of: func(p *repair.ProcedureIn) *float64 { return &p.CripplingSound }},
	{field: "crippling_holed", label: "Factor on crippling, hole in the lowest row", of: func(p *repair.ProcedureIn) *float64 { return &p.CripplingHoled }},
	{field: "deviation_flag", label: "Web out of plane that is pointed out", hint: "Over the mean thickness of the zone.", of: func(p *repair.ProcedureIn) *float64 { return &p.DeviationFlag }},
	{field: "deviation_limit", label: "Web out of plane that ends the validity", hint: "Over the mean thickness of the zone.", of: func(p *repair.ProcedureIn) *float64 { return &p.DeviationLimit }},
	{field: "hole_limit", label: "Longest hole", hint: "Over the bearing length.", of: func(p *repair.ProcedureIn) *float64 { return &p.HoleLimit }},
}

// fields lays the form out with what it holds.
func procedureFields(typed map[string]string, sys units.System) []ui.Field {
	averaging := []ui.Option{{Value: string(resistance.RowMinimum), Label: averagingWords(string(resistance.RowMinimum))},
		{Value: string(resistance.ZoneMean), Label: averagingWords(string(resistance.ZoneMean))}, {Value: string(resistance.Thinnest), Label: averagingWords(string(resistance.Thinnest))}}
	out := []ui.Field{
		{Name: "name", Label: "Name of the procedure", Hint: "As its document names it."},
		{Name: "body", Label: "Issued by"},
		{Name: "edition", Label: "Edition, year and clause", Hint: "What the second person opens."},
		{Name: "tag", Label: "How its values came", Options: tagOptions()},
		{Name: "averaging", Label: "Thickness that counts for crippling", Options: averaging},
	}
	for _, n := range procedureNumbers {
		f := ui.Field{Name: n.field, Label: n.label, Hint: n.hint, InputMode: "decimal", Short: true}
		if n.length {
			f.Unit = units.Lengths.Label(sys)
		}
		out = append(out, f)
	}
	out = append(out, ui.Field{Name: "fewest_readings", Label: "Fewest readings in the zone", InputMode: "numeric", Short: true},
		ui.Field{Name: "note", Label: "Remark", Rows: 3, Optional: true, Hint: "What the text leaves open, and how it was read."})
	for i := range out {
		out[i].Value = typed[out[i].Name]
	}
	return out
}

// procedureNew is the form, filled with the values of the procedure that ships.
func (s *Server) procedureNew(w http.ResponseWriter, r *http.Request) error {
	frame, err := s.store.Frame(r.Context(), s.program(r).ID.String())
	if err != nil {
		return err
	}
	sys, in := s.units(r), frame.ShippedProcedure()
	typed := map[string]string{"tag": in.Tag, "averaging": in.Averaging, "fewest_readings": fmt.Sprint(in.FewestReadings)}
	for _, n := range procedureNumbers {
		if n.length {
			typed[n.field] = units.Lengths.Exact(float64(*n.lengthOf(&in)), sys)
		} else {
			typed[n.field] = units.Numbers.Exact(*n.of(&in), sys)
		}
	}
	return s.procedureForm(w, r, http.StatusOK, settings.Form{}, typed)
}

func (s *Server) procedureForm(w http.ResponseWriter, r *http.Request, status int, form settings.Form, typed map[string]string) error {
	head := s.program(r)
	form.Action = head.Path("procedures")
	v := settings.ProcedureEntry{Fields: procedureFields(typed, s.units(r)), Form: form}
	return s.render(w, r, status, settings.EnterProcedure(s.page(r, "Enter a procedure", ui.Crumb{Label: "Procedures", Href: head.Path("procedures")}), v))
}

// procedureEnter puts a procedure on record.
func (s *Server) procedureEnter(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	sys := s.units(r)
	names := []string{"name", "body", "edition", "tag", "averaging", "fewest_readings", "note"}
	for _, n := range procedureNumbers {
		names = append(names, n.field)
	}
	typed := typedIn(r, names...)
	in := repair.ProcedureIn{Name: typed["name"], Body: typed["body"], Edition: typed["edition"], Tag: typed["tag"], Averaging: typed["averaging"], Note: typed["note"], Typed: repair.Typed{}}
	var bad fault.Invalid
	for _, n := range procedureNumbers {
		kind := units.Numbers
		if n.length {
			kind = units.Lengths
		}
		v, err := kind.Parse(typed[n.field], sys)
		if err != nil {
			bad.Add(n.field, typed[n.field], "%s", err.Error())
			continue
		}
		in.Typed[n.field] = typed[n.field]
		if n.length {
			*n.lengthOf(&in) = units.Length(v)
		} else {
			*n.of(&in) = v
		}
	}
	readings, err := units.Numbers.Parse(typed["fewest_readings"], sys)
	switch {
	case err != nil:
		bad.Add("fewest_readings", typed["fewest_readings"], "%s", err.Error())
	case readings != math.Trunc(readings) || math.Abs(readings) > 1e6:
		bad.Add("fewest_readings", typed["fewest_readings"], "must be a whole number from 0 to 400")
	default:
		in.FewestReadings = int(readings)
	}
	if err = bad.Err(); err == nil {
		_, err = s.editSettings(r, time.Time{}, repair.EnterProcedure{Procedure: in})
	}
	if form, status, ok := refused(r, err); ok {
		typedBack(form.Bad, typed)
		return s.procedureForm(w, r, status, form, typed)
	}
	if err != nil {
		return err
	}
	s.flash(r, ui.Done, "The procedure is on record. It decides nothing until a second person has compared it with the text and it is put in force.")
	return seeOther(w, r, s.program(r).Path("procedures"))
}
