package web

import (
	"fmt"
	"hash/fnv"
	"math"
	"net/http"
	"strconv"
	"strings"
	"sync"
	"time"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/basis"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/monitor"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/views/field"
	"endcast/views/strain"
	"endcast/views/ui"
)

// verdictSums keeps the last verdicts worked out, by the digest of what they stand on:
// the same records always give the same. The zero value is ready.
type verdictSums struct {
	mu sync.Mutex
	of map[string]monitor.Judgment
}

const mostVerdicts = 64

// judged works the verdict of an end out, and what it stands on.
func (e *endReader) judged(found map[string]repair.Found) (monitor.Judgment, monitor.Evidence, string) {
	digest := e.rec.StrainDigest(e.sc)
	h := fnv.New64a()
	_, _ = h.Write([]byte(digest))
	ev := e.rec.StrainEvidence(e.sc, found, e.zone, h.Sum64())
	c := &e.s.verdicts
	c.mu.Lock()
	j, ok := c.of[digest]
	c.mu.Unlock()
	if ok {
		return j, ev, digest
	}
	j = monitor.Judge(e.sc.Basis(), ev)
	c.mu.Lock()
	if c.of == nil || len(c.of) >= mostVerdicts {
		c.of = map[string]monitor.Judgment{}
	}
	c.of[digest] = j
	c.mu.Unlock()
	return j, ev, digest
}

func strainMark(result string) ui.Mark {
	switch result {
	case repair.VerdictEngaged:
		return ui.Mark{State: ui.Good, Text: "engaged"}
	case repair.VerdictNotEngaged:
		return ui.Mark{State: ui.Stop, Text: "not engaged"}
	case repair.VerdictIndicative:
		return ui.Mark{State: ui.Caution, Text: "indicative only"}
	}
	return ui.Mark{State: ui.Wait, Text: "not enough data"}
}

// strainVerdict is the verdict on the load path.
func (s *Server) strainVerdict(w http.ResponseWriter, r *http.Request) error {
	e, err := s.openEnd(r)
	if err != nil {
		return err
	}
	return e.verdictPage(w, http.StatusOK, &typedForm{}, field.Sent{})
}

// strainConfirm is the engineer's word on the verdict, worked out again from the record.
func (s *Server) strainConfirm(w http.ResponseWriter, r *http.Request) error {
	e, err := s.openEnd(r)
	if err != nil {
		return err
	}
	f, err := e.typed()
	if err != nil {
		return err
	}
	found, waiting, err := e.foundOf()
	if err != nil {
		return err
	}
	if waiting != "" {
		return e.verdictPage(w, http.StatusUnprocessableEntity, f, field.Sent{Entry: f.text("entry"), Problem: "The verdict cannot be confirmed yet. " + waiting})
	}
	j, _, digest := e.judged(found)
	err = e.observe(time.Time{}, repair.ConfirmVerdict{From: f.text("from"), Digest: digest, Judgment: j, Note: f.text("note")})
	if refusedForm(err) || fault.KindOf(err) == fault.Conflict && err != nil {
		status := http.StatusUnprocessableEntity
		if fault.KindOf(err) == fault.Conflict {
			status = http.StatusConflict
		}
		return e.verdictPage(w, status, f, f.sent(err))
	}
	if err != nil {
		return err
	}
	s.flash(r, ui.Done, "The verdict is confirmed: "+j.Verdict.String()+".")
	return seeOther(w, r, e.path("strain", "verdict"))
}

// strainSetup names what strains are turned into forces with.
func (s *Server) strainSetup(w http.ResponseWriter, r *http.Request) error {
	e, err := s.openEnd(r)
	if err != nil {
		return err
	}
	f, err := e.typed()
	if err != nil {
		return err
	}
	b := e.sc.Basis()
	ch := repair.SetStrainSetup{WebEA: quantity[units.Force](f, "web_ea"), PanelEA: quantity[units.Force](f, "panel_ea"), WebError: b.Value(basis.EngagedWebError), PanelError: b.Value(basis.EngagedPanelError), Source: f.text("source")}
	if v := f.number("web_error", units.Numbers); v != nil {
		ch.WebError = *v
	}
	if v := f.number("panel_error", units.Numbers); v != nil {
		ch.PanelError = *v
	}
	if v := quantity[units.Length](f, "design_slip"); v != nil {
		ch.DesignSlip = *v
	}
	if err = f.bad.Err(); err == nil {
		err = e.observe(time.Time{}, ch)
	}
	if refusedForm(err) {
		return e.verdictPage(w, http.StatusUnprocessableEntity, f, f.sent(err))
	}
	if err != nil {
		return err
	}
	s.flash(r, ui.Done, "The stiffnesses are set. A verdict confirmed before is out of date.")
	return seeOther(w, r, e.path("strain", "verdict"))
}

// between prints a value with its interval.
func between(i monitor.Interval, decimals int) string {
	if i.N == 0 || i.Value != i.Value {
		return "–"
	}
	if i.Low != i.Low || i.High != i.High {
		return decimalText(i.Value, decimals)
	}
	if math.IsInf(i.High, 1) {
		return decimalText(i.Value, decimals) + " (from " + decimalText(i.Low, decimals) + ")"
	}
	return decimalText(i.Value, decimals) + " (" + decimalText(i.Low, decimals) + " to " + decimalText(i.High, decimals) + ")"
}

func (e *endReader) verdictPage(w http.ResponseWriter, status int, f *typedForm, sent field.Sent) error {
	found, waiting, err := e.foundOf()
	if err != nil {
		return err
	}
	j, ev, digest := e.judged(found)
	v := strain.Verdict{Head: e.strainHead("verdict"), Waiting: waiting, Mark: strainMark(repair.ResultOf(j.Verdict)), Words: ui.Sentence(j.Words), Meaning: repair.MeaningVerdict, RawWhy: monitor.RawWhy,
		Trend: ui.Sentence(j.Trend.Words), Drift: ui.Sentence(j.Slip.Words)}
	v.Head.Refused, v.Head.Bad, v.Head.Entry = sent.Problem, sent.Bad, sent.Entry
	last := e.rec.LatestVerdict()
	switch {
	case last == nil:
		v.Standing = "Nobody has confirmed a verdict yet: a step that asks for one stays shut."
	case last.Digest == digest:
		v.Standing = "Confirmed by " + last.ByName + ", " + e.when(last.At) + "."
	default:
		v.Mark.Text += ", not confirmed"
		v.Standing = "Out of date: recordings, sensors or settings moved since " + last.ByName + " confirmed " + plainWord(last.Result) + " on " + e.when(last.At) + "."
	}
	var there []monitor.Sensor
	for _, x := range e.rec.Sensors {
		if x.RemovedAt == nil {
			there = append(there, x.Monitor())
		}
	}
	for _, c := range monitor.Cautions(e.sc.Basis(), there, ev.Cast) {
		v.Cautions = append(v.Cautions, ui.Sentence(c.Words))
	}
	for _, x := range j.Finding {
		v.Findings = append(v.Findings, ui.Sentence(x.Words))
	}
	e.verdictStates(&v, j, ev)
	for _, a := range j.Against {
		v.Against = append(v.Against, e.against(a))
	}
	if v.Pictures, err = e.strainPictures(j, ev, found, 0); err != nil {
		return err
	}
	v.Past = strain.Table{Caption: "Verdicts that were confirmed", None: "None yet.", Columns: []ui.Column{{Label: "When"}, {Label: "Verdict"}, {Label: "In words"}, {Label: "By"}, {Label: "Note"}}}
	for _, x := range newestFirst(e.rec.Verdicts, func(x repair.StrainVerdict) time.Time { return x.At }) {
		mark := strainMark(x.Result)
		v.Past.Rows = append(v.Past.Rows, []strain.Cell{{Text: e.when(x.At), Head: true, Num: true}, {Mark: &mark}, {Text: ui.Sentence(x.Words)}, {Text: x.ByName}, {Text: x.Note}})
	}
	if e.s.can(e.r, authz.ConfirmVerdict) {
		if len(e.rec.CountedRecordings()) > 0 && (last == nil || last.Digest != digest) && waiting == "" {
			v.Confirm = &strain.Form{ID: "confirm-form", Action: e.path("strain", "verdict"), Submit: "Confirm: " + j.Verdict.String(), Hidden: [][2]string{{"from", digest}},
				Groups: []strain.Group{{Fields: []ui.Field{ui.Field{Name: "note", Label: "Note", Rows: 3, Optional: true, Value: f.text("note")}.With(sent.Bad)}}}}
		}
		v.Setup = e.setupForm(f, sent)
	}
	return e.s.render(w, e.r, status, strain.VerdictPage(e.strainPage("Load path by strain,"), v))
}

func (e *endReader) setupForm(f *typedForm, sent field.Sent) *strain.Form {
	value := map[string]string{}
	if len(e.rec.StrainSetup) == 1 {
		x := e.rec.StrainSetup[0]
		if x.WebEA != nil {
			value["web_ea"] = x.WebEA.Exact(e.sys)
		}
		if x.PanelEA != nil {
			value["panel_ea"] = x.PanelEA.Exact(e.sys)
		}
		value["web_error"], value["panel_error"], value["source"] = strconv.FormatFloat(x.WebError, 'g', -1, 64), strconv.FormatFloat(x.PanelError, 'g', -1, 64), x.Source
		if x.DesignSlip > 0 {
			value["design_slip"] = x.DesignSlip.Exact(e.sys)
		}
	}
	box := func(x ui.Field) ui.Field {
		if x.Value = value[x.Name]; f.values.Has(x.Name) {
			x.Value = f.text(x.Name)
		}
		return x.With(sent.Bad)
	}
	force := units.Forces.Label(e.sys)
	return &strain.Form{ID: "setup", Title: "What strains are turned into forces with", Action: e.path("strain", "setup"), Submit: "Set it", Says: "Modulus times the area that acts. What is left empty follows from the design in force.",
		Groups: []strain.Group{{Fields: []ui.Field{box(ui.Field{Name: "web_ea", Label: "Stiffness of the web", Unit: force, Optional: true, Short: true}), box(ui.Field{Name: "panel_ea", Label: "Stiffness of the panel", Unit: force, Optional: true, Short: true}),
			box(ui.Field{Name: "web_error", Label: "Error of the web's, part of it", Optional: true, Short: true}), box(ui.Field{Name: "panel_error", Label: "Error of the panel's, part of it", Optional: true, Short: true}),
			box(ui.Field{Name: "design_slip", Label: "Slip that the design allows under a truck", Unit: units.Lengths.Label(e.sys), Optional: true, Short: true}), box(ui.Field{Name: "source", Label: "Where the figures come from"})}}}}
}

func (e *endReader) verdictStates(v *strain.Verdict, j monitor.Judgment, ev monitor.Evidence) {
	v.States = strain.Table{Caption: "Each state by itself, medians with 95 percent intervals", None: "No passage is on record.", Columns: []ui.Column{{Label: "State"}, {Label: "Passages", Numeric: true}, {Label: "Days", Numeric: true},
		{Label: "Hours", Numeric: true}, {Label: "Web over control", Numeric: true}, {Label: "Panel or stud show it too", Numeric: true}, {Label: "Panel over web", Numeric: true}, {Label: "Load share of the panel", Numeric: true},
		{Label: "Live slip", Unit: units.Lengths.Label(e.sys), Numeric: true}, {Label: "Raw peak", Unit: "µε", Numeric: true}}}
	for _, s := range j.States {
		slip := s.Slip
		scale := units.Lengths.Shown(e.sys, 1)
		slip.Value, slip.Low, slip.High = slip.Value*scale, slip.Low*scale, slip.High*scale
		v.States.Rows = append(v.States.Rows, []strain.Cell{{Text: sentenceCase(s.State.String()), Head: true}, {Text: strconv.Itoa(s.Passages), Small: fmt.Sprintf("%d with a control", s.WithControl), Num: true}, {Text: strconv.Itoa(s.Days), Num: true},
			{Text: decimalText(s.Hours, 1), Num: true}, {Text: between(s.Ratio, 3), Num: true}, {Text: between(s.Coincidence, 2), Num: true}, {Text: between(s.StrainRatio, 3), Num: true}, {Text: between(s.Share, 2), Num: true},
			{Text: between(slip, 4), Num: true}, {Text: between(s.Peak, 0), Num: true}})
	}
	_, from := e.rec.Stiffness(e.sc)
	st := ev.Stiffness
	v.Stiffness = fmt.Sprintf("Stiffness of the web %s (known to %.0f %%), of the panel %s (known to %.0f %%): %s.", st.Web.Format(e.sys, -1), 100*st.WebError, st.Panel.Format(e.sys, -1), 100*st.PanelError, from)
	if p := ev.Foreseen; p != nil {
		v.Stiffness += fmt.Sprintf(" The design foresees a share of %.2f to %.2f and a fall of web strain of %.2f to %.2f at the gauge.", p.ShareLow, p.ShareHigh, p.ReductionLow, p.ReductionHigh)
	} else {
		v.Stiffness += " Nothing is foreseen by a design to compare it with."
	}
}

func (e *endReader) against(a monitor.Comparison) strain.Against {
	out := strain.Against{Title: sentenceCase(a.After.String()) + " against before casting", Mark: strainMark(repair.ResultOf(a.Verdict)), Words: ui.Sentence(a.Words),
		Criteria: strain.Table{Caption: "What was asked", Columns: []ui.Column{{Label: "Met"}, {Label: "Asked"}, {Label: "Found", Numeric: true}, {Label: "In words"}}},
		Raw:      strain.Table{Caption: "Raw peaks, shown and deciding nothing", None: "No raw peaks to compare.", Columns: []ui.Column{{Label: "What"}, {Label: "Value", Numeric: true}, {Label: "p", Numeric: true}, {Label: "Note"}}}}
	for _, c := range a.Criteria {
		mark := ui.Mark{State: ui.Stop, Text: "not met"}
		switch {
		case !c.Measured:
			mark = ui.Mark{State: ui.Void, Text: "not measured"}
		case c.Met:
			mark = ui.Mark{State: ui.Good, Text: "met"}
		}
		out.Criteria.Rows = append(out.Criteria.Rows, []strain.Cell{{Mark: &mark}, {Text: sentenceCase(c.Name), Head: true}, {Text: between(c.Value, 3), Num: true}, {Text: ui.Sentence(c.Words)}})
	}
	for _, m := range a.More {
		text := fmt.Sprintf("%s: %d more passages", sentenceCase(m.State.String()), m.Passages)
		if m.Days > 0 {
			text += fmt.Sprintf(" on %d more days", m.Days)
		}
		out.More = append(out.More, text+".")
	}
	for _, t := range a.Raw {
		p := ""
		if t.Form != "" {
			p = strconv.FormatFloat(t.P, 'g', 2, 64)
		}
		note := t.Note
		if t.Form != "" {
			note = strings.TrimPrefix(note+"; p: "+t.Form, "; ")
		}
		out.Raw.Rows = append(out.Raw.Rows, []strain.Cell{{Text: sentenceCase(t.Name), Head: true}, {Text: between(t.Value, 3), Num: true}, {Text: p, Num: true}, {Text: note}})
	}
	return out
}
