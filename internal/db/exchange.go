package db

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"github.com/jackc/pgx/v5"

	"endcast/internal/domain/exchange"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/repair"
)

const ofProgramsEnds = "end_id in (select id from girder_end where program_id = $1::uuid)"

// Bridge is a program's bridge with every survey, as tables hold it, in the order
// of the bridge. Readings that were corrected and holes that were withdrawn stay
// behind: they are history, which the journal holds.
func (st *Store) Bridge(ctx context.Context, programID string) (exchange.Bridge, error) {
	s, err := st.bridgeScope(ctx, programID, true)
	if err != nil {
		return exchange.Bridge{}, err
	}
	return BridgeOf(s), nil
}

// bridgeScope loads what tables hold of a program; without findings, surveys come
// without their readings and holes.
func (st *Store) bridgeScope(ctx context.Context, programID string, findings bool) (*repair.Scope, error) {
	s, err := loadScope(ctx, st.Pool, programID, nil)
	if err != nil {
		return nil, err
	}
	var flat endRows
	b := &pgx.Batch{}
	ends.queue(b, &flat.ends, ofProgram, programID)
	surveys.queue(b, &flat.r.Surveys, ofProgramsEnds, programID)
	endDemands.queue(b, &flat.r.EndDemands, ofProgramsEnds, programID)
	if findings {
		readings.queue(b, &flat.r.Readings, ofProgramsEnds+" and superseded_by is null", programID)
		holes.queue(b, &flat.r.Holes, ofProgramsEnds+" and not withdrawn", programID)
	}
	if err := st.Pool.SendBatch(ctx, b).Close(); err != nil {
		return nil, fmt.Errorf("load bridge: %w", err)
	}
	s.Ends = flat.records()
	return s, nil
}

// Names of the columns of a table of an exchange by the column of the record that
// holds the same, for what was typed.
var (
	sectionTyped = map[string]string{"depth_mm": "d", "flange_width_mm": "bf", "flange_thickness_mm": "tf", "top_flange_thickness_mm": "tf_top",
		"top_flange_width_mm": "bf_top", "web_thickness_mm": "tw", "fillet_k_mm": "k"}
	endTyped = map[string]string{"skew_deg": "skew_deg", "bearing_start_mm": "bearing_start", "bearing_length_mm": "bearing_length",
		"bearing_width_mm": "bearing_width", "stiffener_width_mm": "stiffener_width", "stiffener_thickness_mm": "stiffener_thickness",
		"stiffener_clip_mm": "stiffener_clip", "stiffener_x_mm": "stiffener_x", "stiffener_fy_mpa": "stiffener_fy", "fy_mpa": "fy", "fu_mpa": "fu",
		"diaphragm_x_mm": "diaphragm_x", "end_panel_mm": "end_panel", "reaction_n": "reaction_factored"}
	surveyTyped = map[string]string{"flange_thickness_mm": "flange_t", "stiffener_thickness_mm": "stiffener_t", "stiffener_width_mm": "stiffener_w",
		"web_deviation_mm": "deviation", "web_detached_mm": "detached"}
	supportTyped = map[string]string{"station_mm": "station"}
	spanTyped    = map[string]string{"length_mm": "length", "spacing_mm": "spacing"}
	holeTyped    = map[string]string{"x_mm": "x", "z_mm": "z", "width_mm": "width", "height_mm": "height", "rim_mm": "rim"}
)

// typedOut renames what was typed from the columns of the record to those of a table.
func typedOut(t repair.Typed, names map[string]string) exchange.Typed {
	out := exchange.Typed{}
	for column, text := range t {
		if name, ok := names[column]; ok && text != "" {
			out[name] = text
		}
	}
	return out
}

// typedIn renames what was typed from the columns of a table to those of the record.
func typedIn(t exchange.Typed, names map[string]string) repair.Typed {
	out := repair.Typed{}
	for column, name := range names {
		if text := t[name]; text != "" {
			out[column] = text
		}
	}
	return out
}

// BridgeOf turns a scope that holds every end of a program into tables.
func BridgeOf(s *repair.Scope) exchange.Bridge {
	var b exchange.Bridge
	code := map[string]string{}
	for _, x := range slices.SortedFunc(slices.Values(s.Supports), func(a, b repair.Support) int { return cmp.Compare(a.Ord, b.Ord) }) {
		code[x.ID] = x.Code
		b.Supports = append(b.Supports, exchange.Support{Code: x.Code, Name: x.Name, Station: x.Station, Typed: typedOut(x.Typed, supportTyped)})
	}
	for _, x := range slices.SortedFunc(slices.Values(s.Spans), func(a, b repair.Span) int { return cmp.Compare(a.Number, b.Number) }) {
		b.Spans = append(b.Spans, exchange.Span{Number: x.Number, Length: x.Length, Girders: x.Girders, Spacing: x.Spacing,
			From: code[x.FromSupportID], To: code[x.ToSupportID], Continuous: x.ContinuousNext, Note: x.Note, Typed: typedOut(x.Typed, spanTyped)})
	}
	for _, x := range slices.SortedFunc(slices.Values(s.Sections), func(a, b repair.Section) int { return cmp.Compare(a.Name, b.Name) }) {
		b.Sections = append(b.Sections, exchange.Section{Section: girder.Section{Name: x.Name, Kind: girder.SectionKind(x.Kind), Depth: x.Depth,
			TopFlangeWidth: x.TopFlangeWidth, TopFlangeThickness: x.TopFlangeThickness, FlangeWidth: x.FlangeWidth, FlangeThickness: x.FlangeThickness,
			WebThickness: x.WebThickness, FilletK: x.FilletK, Source: x.Source}, Typed: typedOut(x.Typed, sectionTyped)})
	}
	records := slices.Clone(s.Ends)
	slices.SortFunc(records, func(a, b *repair.Record) int {
		x, y := a.End, b.End
		return cmp.Or(cmp.Compare(x.SpanNo, y.SpanNo), -cmp.Compare(x.Side, y.Side), cmp.Compare(x.GirderNo, y.GirderNo)) // N before F
	})
	for _, r := range records {
		e := r.End
		out := exchange.End{Support: code[e.SupportID], Geometry: r.Geometry(s), FySource: e.FyOrigin, Reaction: e.Reaction, ReactionSource: e.ReactionOrigin,
			Access: e.Access, Chosen: e.ChosenSteps, Typed: typedOut(e.Typed, endTyped)}
		if d := r.Factored(s); d.How != repair.ByHandTotal && d.Problem == "" {
			// A table holds the factored reaction alone: that of today, and where it comes from.
			out.Reaction, out.ReactionSource = d.Factored, d.Origin
			delete(out.Typed, "reaction_factored")
		}
		for _, a := range strings.Split(e.Alias, ";") {
			if a = strings.TrimSpace(a); a != "" {
				out.Aliases = append(out.Aliases, a)
			}
		}
		b.Ends = append(b.Ends, out)
	}
	for _, r := range records {
		b.Surveys = append(b.Surveys, surveysOf(r)...)
	}
	return b
}

func surveysOf(r *repair.Record) []exchange.Survey {
	name := girder.Name{Span: r.End.SpanNo, Side: girder.Side(r.End.Side), Girder: r.End.GirderNo}
	var out []exchange.Survey
	for _, sv := range slices.SortedFunc(slices.Values(r.Surveys), func(a, b repair.Survey) int { return cmp.Compare(a.Number, b.Number) }) {
		x := exchange.Survey{End: name, Number: sv.Number, Kind: sv.Kind, TakenAt: sv.CapturedAt, TakenBy: sv.TakenBy, Method: sv.Method, Gauge: sv.Gauge,
			Note: sv.Note, ThickerReason: sv.ThickerReason, Typed: typedOut(sv.Typed, surveyTyped)}
		// The findings come in an order of their own; the notes must stand beside them.
		f := r.SurveyFindings(&sv)
		notes := map[place]exchange.ReadingNote{}
		for _, in := range r.Readings {
			if in.SurveyID == sv.ID && in.SupersededBy == nil {
				notes[place{in.Face, float64(in.X), float64(in.Z)}] = exchange.ReadingNote{X: in.TypedX, Z: in.TypedZ, T: in.Typed, Reason: in.Reason}
			}
		}
		for _, in := range f.Readings {
			x.Readings = append(x.Readings, notes[place{string(in.Face), float64(in.X), float64(in.Z)}])
		}
		for _, h := range r.Holes {
			if h.SurveyID == sv.ID && !h.Withdrawn {
				x.Holes = append(x.Holes, typedOut(h.Typed, holeTyped))
			}
		}
		x.Findings = *f
		out = append(out, x)
	}
	return out
}

// place is where a reading was taken: a survey has one of each face there.
type place struct {
	face string
	x, z float64
}

// BridgeIn turns tables into what the record takes in.
func BridgeIn(b exchange.Bridge) repair.BridgeIn {
	var in repair.BridgeIn
	for _, x := range b.Supports {
		in.Supports = append(in.Supports, repair.SupportIn{Code: x.Code, Name: x.Name, Station: x.Station, Typed: typedIn(x.Typed, supportTyped)})
	}
	for _, x := range b.Spans {
		in.Spans = append(in.Spans, repair.SpanIn{Number: x.Number, Length: x.Length, Girders: x.Girders, Spacing: x.Spacing, From: x.From, To: x.To,
			ContinuousNext: x.Continuous, Note: x.Note, Typed: typedIn(x.Typed, spanTyped)})
	}
	for _, x := range b.Sections {
		in.Sections = append(in.Sections, repair.Section{Name: x.Name, Kind: string(x.Kind), Depth: x.Depth, FlangeWidth: x.FlangeWidth,
			FlangeThickness: x.FlangeThickness, TopFlangeWidth: x.TopFlangeWidth, TopFlangeThickness: x.TopFlangeThickness, WebThickness: x.WebThickness,
			FilletK: x.FilletK, Source: x.Source, Typed: typedIn(x.Typed, sectionTyped)})
	}
	for _, x := range b.Ends {
		in.Ends = append(in.Ends, endIn(x))
	}
	for _, x := range b.Surveys {
		in.Surveys = append(in.Surveys, surveyIn(x))
	}
	return in
}

func endIn(x exchange.End) repair.EndIn {
	g := x.Geometry
	f := repair.EndFacts{Alias: strings.Join(x.Aliases, "; "), Skew: g.SkewDeg, BearingKind: string(g.Bearing.Kind), BearingFixed: g.Bearing.Fixed,
		BearingStart: g.Bearing.Start, BearingLength: g.Bearing.Length, BearingWidth: g.Bearing.Width, Fy: g.Fy, Fu: g.Fu, FyOrigin: x.FySource,
		HeldAgainstRoll: g.HeldAgainstRoll, DiaphragmX: g.DiaphragmX, EndPanel: g.EndPanel, Reaction: x.Reaction, ReactionOrigin: x.ReactionSource,
		Access: x.Access, Typed: typedIn(x.Typed, endTyped)}
	if st := g.Stiffener; st != nil {
		f.StiffenerPairs, f.StiffenerWidth, f.StiffenerThick, f.StiffenerClip, f.StiffenerX, f.StiffenerFy = st.Pairs, st.Width, st.Thickness, st.Clip, st.X, st.Fy
	}
	face := "ahead"
	if g.Name.Side == girder.Far {
		face = "back"
	}
	return repair.EndIn{Span: g.Name.Span, Side: string(g.Name.Side), Girder: g.Name.Girder, Support: x.Support, Face: face, Section: g.Section.Name,
		Facts: f, Chosen: x.Chosen}
}

func surveyIn(x exchange.Survey) repair.EndSurvey {
	f := x.Findings
	ch := repair.RecordSurvey{Facts: repair.SurveyFacts{Kind: x.Kind, Method: x.Method, Gauge: x.Gauge, TakenBy: x.TakenBy, FlangeThick: f.FlangeThickness,
		StiffenerThick: f.StiffenerThickness, StiffenerWidth: f.StiffenerWidth, WebDeviation: f.WebDeviation, WebDetached: f.WebDetached,
		ThickerReason: x.ThickerReason, Note: x.Note, Typed: typedIn(x.Typed, surveyTyped)}}
	for i, r := range f.Readings {
		n := x.Readings[i]
		ch.Readings = append(ch.Readings, repair.ReadingIn{Face: string(r.Face), X: r.X, Z: r.Z, T: r.T, Typed: n.T, TypedX: n.X, TypedZ: n.Z, NoAccess: r.NoAccess, Reason: n.Reason})
	}
	for i, h := range f.Holes {
		ch.Holes = append(ch.Holes, repair.HoleIn{X: h.X, Z: h.Z, Width: h.Width, Height: h.Height, Rim: h.Rim, Typed: typedIn(x.Holes[i], holeTyped)})
	}
	return repair.EndSurvey{End: x.End.String(), Number: x.Number, TakenAt: x.TakenAt, Survey: ch}
}
