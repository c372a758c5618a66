package web

import (
	"context"
	"encoding/json"
	"fmt"

	"endcast/internal/domain/calc"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/views/drawing"
)

// endDocument is one end as a file: rows as the record has them, by the names of the
// columns, and the sheet in lines of text.
type endDocument struct {
	Program   repair.Program `json:"program"`
	End       repair.End     `json:"end"`
	Version   int64          `json:"version"`
	Support   repair.Support `json:"support"`
	Section   repair.Section `json:"section"`
	Span      *repair.Span   `json:"span"`
	Surveys   []surveyDoc    `json:"surveys"`
	Designs   []designDoc    `json:"designs"`
	State     []repair.State `json:"state"`
	Results   []resultDoc    `json:"results"`
	Sheet     sheetDoc       `json:"sheet"`
	Outlook   any            `json:"outlook"`
	Demand    any            `json:"demand"`
	Steps     any            `json:"step_records"`
	Cleanings any            `json:"cleanings"`
	Inspected any            `json:"inspections"`
	NCR       any            `json:"nonconformances"`
	TestStuds any            `json:"test_studs"`
	Forms     any            `json:"form_checks"`
	Cores     any            `json:"deck_cores"`
	Gates     any            `json:"gate_decisions"`
	Waivers   any            `json:"waivers"`
	Photos    any            `json:"photos"`
	Castings  castingDoc     `json:"castings"`
}

type surveyDoc struct {
	repair.Survey
	Readings []repair.Reading `json:"readings"`
	Holes    []repair.Hole    `json:"holes"`
}

type designDoc struct {
	repair.Design
	Studs   []repair.Stud   `json:"studs"`
	Reviews []repair.Review `json:"reviews"`
	Collars []repair.Collar `json:"collars"`
}

type resultDoc struct {
	Subject       string          `json:"subject"`
	MethodVersion string          `json:"method_version"`
	InputDigest   string          `json:"input_digest"`
	Capacity      units.Force     `json:"capacity_n"`
	Demand        units.Force     `json:"demand_n"`
	Verdict       string          `json:"verdict"`
	Governing     string          `json:"governing"`
	Checks        json.RawMessage `json:"checks"`
}

type castingDoc struct {
	Pours     []repair.Pour      `json:"pours"`
	Ends      []repair.PourEnd   `json:"pour_ends"`
	Batches   []repair.Batch     `json:"batches"`
	BatchEnds []repair.BatchEnd  `json:"batch_ends"`
	Specimens []repair.Specimen  `json:"specimens"`
	Reviews   []repair.SetReview `json:"set_reviews"`
	Logs      []repair.CuringLog `json:"curing_logs"`
}

// sheetDoc is the calculation sheet, computed anew as the page of the sheet does it.
// Agrees says that it is the stored result to the last digit.
type sheetDoc struct {
	Method  string      `json:"method_version"`
	Digest  string      `json:"input_digest"`
	Agrees  bool        `json:"agrees_with_stored"`
	Differs []string    `json:"differs,omitempty"`
	Parts   []sheetPart `json:"parts"`
}

type sheetPart struct {
	Subject string       `json:"subject"`
	Words   string       `json:"words"`
	Starts  []sheetLine  `json:"starts_from"`
	Checks  []sheetCheck `json:"checks"`
}

type sheetCheck struct {
	Key     string      `json:"key"`
	Name    string      `json:"name"`
	Clause  string      `json:"clause"`
	Verdict string      `json:"verdict"`
	Limits  []limitDoc  `json:"limits,omitempty"`
	Lines   []sheetLine `json:"lines"`
}

type limitDoc struct {
	Text string `json:"text"`
	Met  bool   `json:"met"`
}

type sheetLine struct {
	Text    string `json:"text"`
	Name    string `json:"name,omitempty"`
	Formula string `json:"formula,omitempty"`
	Clause  string `json:"clause,omitempty"`
}

// document gathers an end for a file.
func (e *endReader) document() (endDocument, error) {
	r, sc := e.rec, e.sc
	sup, _ := sc.Support(r.End.SupportID)
	sec, _ := sc.Section(r.End.SectionID)
	d := endDocument{Program: sc.Program, End: r.End, Version: r.End.Version, Support: sup, Section: sec, State: r.State, Outlook: r.Outlook, Demand: r.EndDemands,
		Steps: r.StepRecords, Cleanings: r.Cleanings, Inspected: r.Inspections, NCR: r.Nonconformances, TestStuds: r.TestStuds, Forms: r.FormChecks,
		Cores: r.DeckCores, Gates: r.Gates, Waivers: r.Waivers, Photos: r.Photos}
	for i := range sc.Spans {
		if sc.Spans[i].ID == r.End.SpanID {
			d.Span = &sc.Spans[i]
		}
	}
	for _, sv := range r.Surveys {
		d.Surveys = append(d.Surveys, surveyDoc{sv, of(r.Readings, func(x repair.Reading) bool { return x.SurveyID == sv.ID }),
			of(r.Holes, func(x repair.Hole) bool { return x.SurveyID == sv.ID })})
	}
	for _, x := range r.Designs {
		d.Designs = append(d.Designs, designDoc{x, of(r.Studs, func(s repair.Stud) bool { return s.DesignID == x.ID }),
			of(r.Reviews, func(v repair.Review) bool { return v.DesignID == x.ID }), of(r.Collars, func(c repair.Collar) bool { return c.DesignID == x.ID })})
	}
	for _, x := range r.Results {
		d.Results = append(d.Results, resultDoc{x.Subject, x.MethodVersion, x.InputDigest, x.Capacity, x.Demand, x.Verdict, x.Governing, x.Checks})
	}
	d.Castings = e.castingDoc()
	var err error
	d.Sheet, err = e.sheetDoc()
	return d, err
}

// castingDoc is what belongs to the castings of the end: the scope holds those of
// other ends as well.
func (e *endReader) castingDoc() castingDoc {
	mine := map[string]bool{}
	for _, x := range e.sc.PourEnds {
		if x.EndID == e.rec.End.ID {
			mine[x.PourID] = true
		}
	}
	sc, batch := e.sc, map[string]bool{}
	d := castingDoc{Pours: of(sc.Pours, func(x repair.Pour) bool { return mine[x.ID] }), Ends: of(sc.PourEnds, func(x repair.PourEnd) bool { return mine[x.PourID] }),
		Batches: of(sc.Batches, func(x repair.Batch) bool { return mine[x.PourID] }), Specimens: of(sc.Specimens, func(x repair.Specimen) bool { return mine[x.PourID] }),
		Reviews: of(sc.SetReviews, func(x repair.SetReview) bool { return mine[x.PourID] }), Logs: of(sc.CuringLogs, func(x repair.CuringLog) bool { return mine[x.PourID] })}
	for _, x := range d.Batches {
		batch[x.ID] = true
	}
	d.BatchEnds = of(sc.BatchEnds, func(x repair.BatchEnd) bool { return batch[x.BatchID] })
	return d
}

// of keeps the rows that meet a condition.
func of[T any](rows []T, keep func(T) bool) []T {
	out := []T{}
	for _, x := range rows {
		if keep(x) {
			out = append(out, x)
		}
	}
	return out
}

func (e *endReader) sheetDoc() (sheetDoc, error) {
	pads := repair.NewPads()
	ev, err := e.rec.Evaluate(e.sc, pads)
	if err != nil {
		return sheetDoc{}, fmt.Errorf("sheet of %s: %w", e.rec.End.Name, err)
	}
	parts := computedParts(ev, pads)
	same, err := e.compare(parts, ev.Digest)
	if err != nil {
		return sheetDoc{}, err
	}
	d := sheetDoc{Method: string(calc.MethodVersion), Digest: ev.Digest, Agrees: same.Agrees, Differs: same.Lines}
	for _, c := range parts {
		part := sheetPart{Subject: c.key, Words: c.words, Starts: e.sheetText(c.pad.Lines())}
		for _, x := range c.ev.Checks {
			k := sheetCheck{Key: x.Key, Name: x.Name, Clause: x.Clause.String(), Verdict: x.Verdict.String(), Lines: e.sheetText(x.Lines)}
			for _, l := range x.Limits {
				k.Limits = append(k.Limits, limitDoc{e.say(l.Text), l.Met})
			}
			part.Checks = append(part.Checks, k)
		}
		d.Parts = append(d.Parts, part)
	}
	return d, nil
}

func (e *endReader) sheetText(lines []calc.Line) []sheetLine {
	out := []sheetLine{}
	for _, l := range lines {
		x := sheetLine{Text: e.say(l.AsText(e.sys)), Name: l.Name}
		if l.Formula != nil {
			x.Formula = l.Formula.AsText()
		}
		if l.Clause.Document != "" {
			x.Clause = clauseText(l.Clause)
		}
		out = append(out, x)
	}
	return out
}

// plainDrawing is a drawing as a file.
type plainDrawing struct {
	name string
	data []byte
}

func (e *endReader) drawings(ctx context.Context) ([]plainDrawing, error) {
	figure := e.elevationData()
	svg, err := drawing.Standalone(ctx, drawing.End(figure))
	if err != nil {
		return nil, err
	}
	out := []plainDrawing{{"drawing.svg", svg}}
	results, err := e.results()
	if err != nil {
		return out, err
	}
	if bars := e.bars(results); bars != nil {
		svg, err := drawing.Standalone(ctx, bars)
		if err != nil {
			return out, err
		}
		out = append(out, plainDrawing{"capacity.svg", svg})
	}
	return out, nil
}
