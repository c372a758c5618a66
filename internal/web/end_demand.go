package web

import (
	"encoding/json"
	"fmt"
	"net/http"
	"slices"
	"strings"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/demand"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/views/loads"
	"endcast/views/settings"
	"endcast/views/ui"
)

// demandShow is the page of the demand of an end.
func (s *Server) demandShow(w http.ResponseWriter, r *http.Request) error {
	e, err := s.openEnd(r)
	if err != nil {
		return err
	}
	return s.demandPage(w, r, http.StatusOK, e, loads.DemandForm{}, e.demandTyped())
}

func (s *Server) demandPage(w http.ResponseWriter, r *http.Request, status int, e *endReader, f loads.DemandForm, typed map[string]string) error {
	pad := calc.NewPad()
	d := e.rec.DemandOn(e.sc, pad)
	head := s.program(r)
	v := loads.DemandView{Name: e.rec.End.Name, Reading: e.reading(), Factored: e.force(d.Factored), How: howWords[d.How], Origin: ui.Sentence(sentenceCase(d.Origin)),
		Problem: d.Problem, Missing: d.Missing, Links: []settings.Link{{Label: "Girder end", Href: e.path()},
			{Label: "Loads of span " + numberOf(e.rec.End.SpanNo), Href: head.Path("spans", numberOf(e.rec.End.SpanNo), "loads")}, {Label: "Vehicles", Href: head.Path("vehicles")}}}
	if row := e.rec.DemandOf(); row != nil {
		v.Facts = []settings.Fact{{Label: "Condition of the member", Value: demand.Condition(row.Condition).Words()}, {Label: "Loss measured", Value: yesNo(row.LossMeasured)},
			{Label: "Wearing surface measured", Value: yesNo(row.WearingMeasured)}, {Label: "Set by", Value: row.SetByName + ", " + e.when(row.SetAt)},
			{Label: "Source", Value: row.Source, Wide: true}}
	}
	if d.How != repair.ByHandTotal && d.Problem == "" {
		v.Sum = e.demandSum(d)
		out := demand.Factored(calc.NewPad(), e.sc.Basis(), d.Loads, demand.LRFR, "")
		v.Answer = e.lines(out.Lines, calc.Clause{})
		v.Working = e.demandWorking(d, pad.Lines())
		v.Figure = e.placed(d)
	}
	v.Stages, v.RateMissing = e.rated()
	if s.can(r, authz.EditEnd) {
		e.demandForm(&f, typed)
		v.Form = &f
	}
	var err error
	if v.Log, err = e.demandLog(); err != nil {
		return err
	}
	p := s.page(r, "Demand of "+e.rec.End.Name, e.crumbs(true)...)
	p.Block = e.titleBlock()
	return s.render(w, r, status, loads.Demand(p, v))
}

func (e *endReader) force(f units.Force) string { return units.Forces.Format(float64(f), e.sys, -1) }

// demandSum is the factored reaction by its causes.
func (e *endReader) demandSum(d repair.Demand) []loads.SumRow {
	b := e.sc.Basis()
	var out []loads.SumRow
	add := func(name, origin string, f units.Force, k basis.Key) {
		g := b.Value(k)
		out = append(out, loads.SumRow{Name: name, Origin: origin, Force: e.force(f), Factor: units.Significant(g, 4), Factored: e.force(units.Force(g) * f),
			Setting: e.s.program(e.r).Path("basis", string(k))})
	}
	for _, k := range demand.Buckets() {
		r := d.Loads.Bucket(k)
		factor := basis.GammaDC
		if k == demand.DW {
			factor = basis.GammaDW
		}
		if r.Known {
			add(sentenceCase(k.Words()), r.Origin, r.Force, factor)
		} else {
			out = append(out, loads.SumRow{Name: sentenceCase(k.Words()), Origin: "not known", Force: "–", Factor: "–", Factored: "–"})
		}
	}
	if ll, ok := d.Loads.Of(demand.HL93, demand.LRFR); ok {
		origin := ll.Origin
		if ll.Governs != "" {
			origin = fmt.Sprintf("%s: %s governs, %s a lane, share %.3f, impact %s", ll.Origin, ll.Governs, e.force(units.Force(ll.Lane)), ll.Share, share(ll.Impact))
		}
		add("Live load "+ll.Load+" with impact", origin, ll.Force, basis.GammaLL)
	}
	out = append(out, loads.SumRow{Name: "Together", Factored: e.force(d.Factored)})
	return out
}

// demandWorking sorts the lines of the calculation by what they are about.
func (e *endReader) demandWorking(d repair.Demand, ls []calc.Line) []loads.Working {
	type head struct {
		name, result string
		open         bool
	}
	heads := map[string]head{}
	for _, t := range e.sc.Vehicles() {
		for _, m := range []demand.Method{demand.LRFR, demand.LoadFactor} {
			name := t.Code
			if t.Name != "" {
				name += ", " + t.Name
			}
			name += " (" + m.Words() + ")"
			h := head{name: name}
			if ll, ok := d.Loads.Of(t.Title(), m); ok && (ll.Governs == t.Code || t.Load == "") {
				h.result, h.open = e.force(ll.Force), t.Title() == demand.HL93
			}
			heads[name] = h
		}
	}
	groups := []loads.Working{{Name: "Dead load, and how much of a lane reaches the girder", Open: true}}
	var parts [][]calc.Line
	parts = append(parts, nil)
	for _, l := range ls {
		if h, ok := heads[l.Note]; ok && l.Kind == calc.Remark {
			groups, parts = append(groups, loads.Working{Name: h.name, Result: h.result, Open: h.open}), append(parts, nil)
			continue
		}
		parts[len(parts)-1] = append(parts[len(parts)-1], l)
	}
	for i := range groups {
		groups[i].Lines = e.lines(parts[i], calc.Clause{})
	}
	return slices.DeleteFunc(groups, func(w loads.Working) bool { return len(w.Lines) == 0 })
}

// placed draws the design load where it gives most at this end.
func (e *endReader) placed(d repair.Demand) *loads.Figure {
	ll, ok := d.Loads.Of(demand.HL93, demand.LRFR)
	sp, known := e.sc.Span(e.rec.End.SpanID)
	if !ok || !known || ll.Governs == "" {
		return nil
	}
	list := e.sc.Vehicles()
	i := slices.IndexFunc(list, func(t demand.Truck) bool { return t.Code == ll.Governs })
	if i < 0 {
		return nil
	}
	t := list[i]
	p := loads.PlacementData{ID: "placed", End: e.rec.End.Name, Load: t.Code, Span: float64(sp.Length), SpanText: units.Spans.Format(float64(sp.Length), e.sys, -1),
		Far: e.rec.End.Side == "F", Reaction: e.force(units.Force(ll.Lane)) + " a lane"}
	if t.Lane > 0 {
		p.Lane = "lane load " + units.LineLoads.Format(t.Lane, e.sys, -1)
	}
	for j, at := range ll.Placement.Positions(t) {
		if at < 0 || at > sp.Length {
			p.Gone++
		}
		p.At = append(p.At, float64(at))
		p.Figures = append(p.Figures, e.force(t.Axles[j].Load))
		p.Distances = append(p.Distances, units.Spans.Format(float64(at), e.sys, 1))
		p.Ordinates = append(p.Ordinates, fmt.Sprintf("%.3f", 1-float64(at)/float64(sp.Length)))
	}
	f := loads.Placed(p)
	f.Caption = fmt.Sprintf("%s where it gives most at %s: %s a lane with impact of %s and lane load, %s on this girder by its share of %.3f.", t.Code, e.rec.End.Name,
		e.force(units.Force(ll.Lane)), share(ll.Impact), e.force(ll.Force), ll.Share)
	return &f
}

// rated are the stored ratings of the end in each of its conditions.
func (e *endReader) rated() ([]loads.Stage, []string) {
	o := e.rec.LatestOutlook()
	if o == nil {
		return nil, nil
	}
	sum, ok := o.RatingOf()
	if !ok {
		return nil, nil
	}
	missing := slices.Clone(sum.Missing)
	if sum.Problem != "" {
		missing = append(missing, sum.Problem)
	}
	if sum.Traffic == 0 && len(sum.Rated) > 0 {
		missing = append(missing, "the trucks a day are not known: legal loads count with the highest factor")
	}
	var out []loads.Stage
	for _, sub := range subjects {
		c := sum.Of(sub.key)
		if c == nil {
			continue
		}
		st := loads.Stage{ID: "rate-" + sub.key, Name: sub.words, Capacity: fmt.Sprintf("nominal %s, factor %s", e.force(c.Nominal), units.Significant(c.Phi, 3))}
		if c.Least != nil {
			st.Least = "least " + units.Significant(*c.Least, 3)
			st.Mark = ui.Mark{State: ui.Good, Text: fmt.Sprintf("least %s, %s at %s level", units.Significant(*c.Least, 3), c.Vehicle, c.Level)}
			if *c.Least < 1 {
				st.Mark.State = ui.Stop
			}
		}
		if c.Outside {
			st.Warning = "A limit of the method is not met in this condition: no rating of it is to be relied on."
		}
		for _, x := range c.Screens {
			words := ui.Sentence(x.Words)
			for _, m := range x.Missing {
				words += " Not known: " + m + "."
			}
			st.Screens = append(st.Screens, loads.Screen{Method: sentenceCase(x.Method.Words()), Words: words})
		}
		for _, x := range c.Ratings {
			st.Rows = append(st.Rows, e.ratingRow(c, x))
		}
		out = append(out, st)
	}
	if len(out) > 0 {
		out[len(out)-1].Open = true // the latest condition
	}
	return out, missing
}

func (e *endReader) ratingRow(c *repair.ConditionRatings, x repair.RatingLine) loads.RatingRow {
	row := loads.RatingRow{Vehicle: x.Vehicle, Level: x.Level.Words(), Method: x.Method.Words(), RF: "–", Safe: "–", Verdict: ratingMark(x.Verdict),
		Least: c.Least != nil && x.Vehicle == c.Vehicle && string(x.Level) == c.Level && x.Method == demand.LRFR}
	if x.Known {
		row.RF = strings.Replace(fmt.Sprintf("%.2f", x.RF), "-", "−", 1)
	}
	if x.Posts && x.Known {
		row.Safe = "not at all"
		if x.SafeLoad > 0 {
			row.Safe = e.force(x.SafeLoad)
		}
	}
	if c.Outside && row.Verdict.State == ui.Good {
		row.Verdict = ui.Mark{State: ui.Void, Text: "outside the method"}
	}
	return row
}

func ratingMark(v demand.Verdict) ui.Mark {
	m := ui.Mark{State: ui.Open, Text: v.Words()}
	switch v {
	case demand.Sufficient:
		m.State = ui.Good
	case demand.Insufficient, demand.DeadLoad:
		m.State = ui.Stop
	case demand.Incomplete:
		m.State = ui.Caution
	}
	return m
}

// demandLog lists what was changed of how the demand of this end comes.
func (e *endReader) demandLog() ([]settings.LogLine, error) {
	list, err := e.s.store.SettingChanges(e.r.Context(), e.rec.End.ProgramID, []string{"end.demand"}, 1000)
	if err != nil {
		return nil, err
	}
	list = slices.DeleteFunc(list, func(c db.SettingChange) bool {
		return !slices.ContainsFunc(c.Changes, func(row db.RowChange) bool { return row.Table == "end_demand" && row.New["end_id"] == e.rec.End.ID })
	})
	return logOf(list[:min(len(list), logLines)], e.sys, e.zone), nil
}

// demandInWords says what an entry did to how a demand comes.
func demandInWords(c db.SettingChange) string {
	var ch repair.EditEndDemand
	_ = json.Unmarshal(c.Change, &ch)
	return sentenceCase(howWords[ch.Demand.How]) + ", condition " + demand.Condition(ch.Demand.Condition).Words() + ". Source: " + ch.Demand.Source
}
