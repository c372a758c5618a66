package web

import (
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/go-chi/chi/v5"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/basis"
	"endcast/internal/domain/demand"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/views/loads"
	"endcast/views/settings"
	"endcast/views/ui"
)

// spanList shows the spans with what is on record of their loads.
func (s *Server) spanList(w http.ResponseWriter, r *http.Request) error {
	head, sys := s.program(r), s.units(r)
	frame, err := s.store.Frame(r.Context(), head.ID.String())
	if err != nil {
		return err
	}
	var v loads.SpansView
	spans := slices.Clone(frame.Spans)
	slices.SortFunc(spans, func(a, b repair.Span) int { return a.Number - b.Number })
	for _, sp := range spans {
		row := loads.SpanRow{Href: head.Path("spans", numberOf(sp.Number), "loads"), Name: "Span " + numberOf(sp.Number), Length: units.Spans.Format(float64(sp.Length), sys, -1),
			Girders: numberOf(sp.Girders), Spacing: units.Spans.Format(float64(sp.Spacing), sys, -1), Traffic: "–", Mark: ui.Mark{State: ui.Open, Text: "not on record"}}
		from, _ := frame.Support(sp.FromSupportID)
		to, _ := frame.Support(sp.ToSupportID)
		row.From, row.To = from.Name, to.Name
		n := 0
		for _, x := range frame.PartsOf(sp.ID) {
			if !x.Retired {
				n++
			}
		}
		row.Parts = numberOf(n)
		if d := frame.SpanDemand(sp.ID); d != nil {
			row.Mark = ui.Mark{State: ui.Good, Text: "on record"}
			if d.ADTT != nil {
				row.Traffic = numberOf(*d.ADTT)
			}
		}
		v.Rows = append(v.Rows, row)
	}
	return s.render(w, r, http.StatusOK, loads.Spans(s.page(r, "Spans"), v))
}

// spanReader turns the loads of one span into texts for one reader.
type spanReader struct {
	s    *Server
	r    *http.Request
	head ProgramHead
	sc   *repair.Scope
	span repair.Span
	row  *repair.SpanDemand // nil where nobody entered it
	sys  units.System
	zone *time.Location
}

// openSpan loads the span of the address with its ends.
func (s *Server) openSpan(r *http.Request) (*spanReader, error) {
	text := chi.URLParam(r, "span")
	n, err := strconv.Atoi(text)
	if err != nil || n < 1 || n > 1<<30 || strconv.Itoa(n) != text {
		return nil, fault.New(fault.NotFound, "the program has no such span")
	}
	sc, sp, err := s.store.Span(r.Context(), s.program(r).ID.String(), n)
	if err != nil {
		return nil, err
	}
	slices.SortFunc(sc.Ends, func(a, b *repair.Record) int {
		if a.End.Side != b.End.Side {
			return -strings.Compare(a.End.Side, b.End.Side) // near before far
		}
		return a.End.GirderNo - b.End.GirderNo
	})
	return &spanReader{s: s, r: r, head: s.program(r), sc: sc, span: sp, row: sc.SpanDemand(sp.ID), sys: s.units(r), zone: zoneOf(sc.Program)}, nil
}

func (sr *spanReader) path(parts ...string) string {
	return sr.head.Path(append([]string{"spans", numberOf(sr.span.Number)}, parts...)...)
}

func (sr *spanReader) feet(v units.Length) string { return units.Spans.Format(float64(v), sr.sys, -1) }

func (sr *spanReader) crumbs(within bool) []ui.Crumb {
	out := []ui.Crumb{{Label: "Spans", Href: sr.head.Path("spans")}}
	if within {
		out = append(out, ui.Crumb{Label: "Loads of span " + numberOf(sr.span.Number), Href: sr.path("loads")})
	}
	return out
}

// statics is what follows from any end of the span, and why it cannot be made.
func (sr *spanReader) statics() (demand.Input, string) {
	if len(sr.sc.Ends) == 0 {
		return demand.Input{}, "no end of this span is on record"
	}
	return sr.sc.Ends[0].Statics(sr.sc)
}

// spanShow is the page of the loads of a span.
func (s *Server) spanShow(w http.ResponseWriter, r *http.Request) error {
	sr, err := s.openSpan(r)
	if err != nil {
		return err
	}
	return s.spanPage(w, r, http.StatusOK, sr, nil)
}

func (s *Server) spanPage(w http.ResponseWriter, r *http.Request, status int, sr *spanReader, start *settings.Form) error {
	in, why := sr.statics()
	v := loads.SpanView{Title: "Loads of span " + numberOf(sr.span.Number), Problem: why, Known: sr.row != nil, Figure: sr.figure(), Facts: sr.facts(in), Parts: sr.parts(),
		Live: sr.live(), Ends: sr.ends()}
	if why == "" {
		v.Dead = sr.dead()
		v.Shares, v.Warns = sr.shares()
	}
	if s.can(r, authz.EditEnd) {
		v.Edit = sr.path("edit")
		if sr.row != nil {
			v.Add = sr.path("parts", "new")
			v.Start, v.Starts = sr.start(start)
		}
	}
	var err error
	if v.Factors, err = sr.factors(); err != nil {
		return err
	}
	if v.Log, err = sr.log(); err != nil {
		return err
	}
	return s.render(w, r, status, loads.Span(s.page(r, v.Title, sr.crumbs(false)...), v))
}

// facts are the numbers of the cross section.
func (sr *spanReader) facts(in demand.Input) []settings.Fact {
	sp := sr.span
	out := []settings.Fact{{Label: "Bearing to bearing", Value: sr.feet(sp.Length)}, {Label: "Girders", Value: fmt.Sprintf("%d at %s", sp.Girders, sr.feet(sp.Spacing))}}
	d := sr.row
	if d == nil {
		return append(out, settings.Fact{Label: "Deck, curbs, overhangs, skew, traffic", Value: "not on record", Wide: true})
	}
	add := func(label, value string) { out = append(out, settings.Fact{Label: label, Value: value}) }
	geo := sr.shape()
	add("Deck", units.Lengths.Format(float64(d.Deck), sr.sys, -1))
	add("Overhang, left and right", sr.feet(d.OverhangLeft)+", "+sr.feet(d.OverhangRight))
	add("Web to curb, left and right", sr.feet(d.EdgeLeft)+", "+sr.feet(d.EdgeRight))
	add("Roadway", sr.feet(geo.Roadway()))
	add("Skew, near and far", units.Angles.Format(float64(d.SkewNear), sr.sys, -1)+", "+units.Angles.Format(float64(d.SkewFar), sr.sys, -1))
	lanes := fmt.Sprintf("%d, as many as fit", geo.LoadedLanes(sr.sc.Basis()))
	if d.Lanes > 0 {
		lanes = numberOf(d.Lanes)
	}
	add("Lanes loaded", lanes)
	if d.ModularRatio > 0 {
		add("Modular ratio, haunch", units.Significant(d.ModularRatio, 4)+", "+units.Lengths.Format(float64(d.Haunch), sr.sys, -1))
		add("Stiffness of a girder", units.Inertias.Format(float64(in.Span.Stiffness), sr.sys, 0))
	} else {
		add("Stiffness of a girder", "not known")
	}
	traffic := "not known: the highest factor counts"
	if d.ADTT != nil {
		traffic = numberOf(*d.ADTT)
	}
	add("Trucks a day, one direction", traffic)
	add("Set by", d.SetByName+", "+d.SetAt.In(sr.zone).Format(time.DateOnly))
	return append(out, settings.Fact{Label: "Source", Value: d.Source, Wide: true})
}

// shape is the span as package demand reads it, without the stiffness.
func (sr *spanReader) shape() demand.Span {
	sp := demand.Span{Length: sr.span.Length, Girders: sr.span.Girders, Spacing: sr.span.Spacing}
	if d := sr.row; d != nil {
		sp.Deck, sp.EdgeLeft, sp.EdgeRight, sp.OverhangLeft, sp.OverhangRight, sp.Lanes = d.Deck, d.EdgeLeft, d.EdgeRight, d.OverhangLeft, d.OverhangRight, d.Lanes
		sp.SkewNear, sp.SkewFar = d.SkewNear, d.SkewFar
	}
	return sp
}

// figure draws the cross section with the girder of the first end.
func (sr *spanReader) figure() loads.Figure {
	sp := sr.shape()
	d := loads.SectionData{ID: "cross", Span: "span " + numberOf(sr.span.Number), Girders: sp.Girders, Spacing: float64(sp.Spacing), SpacingText: sr.feet(sp.Spacing),
		Depth: 900, Flange: 300, TopFlange: 300, Web: 15, FlangeThick: 20}
	note := "No section is on record; the girders are drawn as of common size."
	if len(sr.sc.Ends) > 0 {
		sec := sr.sc.Ends[0].Geometry(sr.sc).Section
		if sec.Depth > 0 {
			d.Depth, d.Flange, d.TopFlange = float64(sec.Depth), float64(sec.FlangeWidth), float64(sec.TopFlangeWidth)
			d.Web, d.FlangeThick = float64(sec.WebThickness), float64(sec.FlangeThickness)
			note = "Girders drawn as " + sec.Name + "."
			if d.TopFlange == 0 {
				d.TopFlange = d.Flange
			}
		}
	}
	if row := sr.row; row != nil {
		b := sr.sc.Basis()
		d.Known, d.Deck, d.Haunch = true, float64(sp.Deck), float64(row.Haunch)
		d.OverLeft, d.OverRight, d.EdgeLeft, d.EdgeRight = float64(sp.OverhangLeft), float64(sp.OverhangRight), float64(sp.EdgeLeft), float64(sp.EdgeRight)
		d.Lanes, d.LaneWidth = sp.LoadedLanes(b), b.Value(basis.LaneWidth)
		d.RoadwayText, d.OverLeftText, d.OverRightText = sr.feet(sp.Roadway()), sr.feet(sp.OverhangLeft), sr.feet(sp.OverhangRight)
		d.EdgeLeftText, d.EdgeRightText, d.DeckText = sr.feet(sp.EdgeLeft), sr.feet(sp.EdgeRight), units.Lengths.Format(float64(sp.Deck), sr.sys, -1)
		note += " The height of the curbs is not on record."
	}
	f := loads.Section(d)
	f.Caption, f.Note = "Looking ahead station, to scale.", note
	return f
}

// live is what one lane of each vehicle gives.
func (sr *spanReader) live() []loads.LiveRow {
	var out []loads.LiveRow
	b := sr.sc.Basis()
	for _, t := range sr.sc.Vehicles() {
		out = append(out, loads.LiveRow{Href: sr.head.Path("vehicles", t.Code), Code: t.Code, Name: t.Name,
			LRFR: perLaneText(b, t, sr.span.Length, demand.LRFR, sr.sys), Factor: perLaneText(b, t, sr.span.Length, demand.LoadFactor, sr.sys)})
	}
	return out
}

// howWords are the ways for a demand to come.
var howWords = map[string]string{repair.ByHandTotal: "factored total by hand", repair.ByHandParts: "parts by hand", repair.ByStatics: "by statics"}

// ends lists the demand of each end of the span.
func (sr *spanReader) ends() []loads.EndRow {
	var out []loads.EndRow
	for _, rec := range sr.sc.Ends {
		d := rec.Demand(sr.sc)
		out = append(out, loads.EndRow{Href: sr.head.Path("ends", rec.End.Name, "demand"), Name: rec.End.Name, How: howWords[d.How],
			Demand: units.Forces.Format(float64(d.Factored), sr.sys, -1), Problem: d.Problem})
	}
	return out
}
