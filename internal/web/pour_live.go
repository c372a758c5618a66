package web

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"time"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/uhpc"
	"endcast/internal/domain/units"
	"endcast/views/casting"
	"endcast/views/ui"

	"github.com/google/uuid"
)

// pourLive is an open casting: what is in it so far, and the form of its next batch.
func (s *Server) pourLive(w http.ResponseWriter, r *http.Request) error {
	c, err := s.openPour(r)
	if err != nil {
		return err
	}
	if !c.pour.Open {
		return seeOther(w, r, c.head.Path("pours", numberOf(c.pour.Number)))
	}
	return s.livePage(w, r, http.StatusOK, c, liveSent{})
}

// liveSent is what came from the page of an open casting and was not taken.
type liveSent struct {
	act     string
	values  url.Values
	bad     *fault.Invalid
	refused string
}

// pourLiveSubmit adds a batch or finishes the casting.
func (s *Server) pourLiveSubmit(w http.ResponseWriter, r *http.Request) error {
	c, err := s.openPour(r)
	if err != nil {
		return err
	}
	if err := parseForm(r); err != nil {
		return err
	}
	sent := liveSent{act: r.PostFormValue("act"), values: r.PostForm}
	if sent.act == "check" {
		return s.livePage(w, r, http.StatusOK, c, sent)
	}
	var ch repair.Change
	var captured time.Time
	said := ""
	if sent.act == "finish" {
		var fin repair.FinishPour
		fin, sent.bad = c.readFinish(r.PostForm)
		ch, captured, said = fin, fin.EndedAt, fmt.Sprintf("Pour %d is finished.", c.pour.Number)
	} else {
		f := &batchForm{c: c, values: r.PostForm}
		b, bad := f.read()
		add := repair.AddBatch{Pour: c.pour.Number, Batch: b, Specimens: f.sets(bad)}
		sent.bad = bad
		ch, captured, said = add, b.MixedAt, fmt.Sprintf("Batch %d is on record.", c.nextBatch())
		if b.PlacedAt != nil {
			captured = *b.PlacedAt
		}
	}
	if err := sent.bad.Err(); err != nil {
		return s.livePage(w, r, http.StatusUnprocessableEntity, c, sent)
	}
	rec, err := s.edit(r, endRefs(c.scope), captured, ch)
	back, err := refusal(err)
	if err != nil {
		return err
	}
	if back != nil {
		sent.bad, sent.refused = back.fields, back.text
		return s.livePage(w, r, http.StatusUnprocessableEntity, c, sent)
	}
	if !rec.Repeated {
		s.flash(r, ui.Done, said)
	}
	if sent.act == "finish" {
		return seeOther(w, r, c.head.Path("pours", numberOf(c.pour.Number)))
	}
	return seeOther(w, r, c.head.Path("pours", numberOf(c.pour.Number), "live"))
}

// readFinish reads the form that ends a casting.
func (c *pourReader) readFinish(v url.Values) (repair.FinishPour, *fault.Invalid) {
	bad := &fault.Invalid{}
	ch := repair.FinishPour{Pour: c.pour.Number, Note: v.Get("end_note"), VolumeL: map[string]float64{}}
	if ch.EndedAt = c.moment(bad, "ended_at", v.Get("ended_at")); ch.EndedAt.IsZero() && bad.Of("ended_at") == nil {
		bad.Add("ended_at", "", "say when the pour ended")
	}
	for _, r := range c.scope.Ends {
		field := "all-" + r.End.Name
		if x := c.quantity(bad, field, v.Get(field), units.Volumes); x != nil {
			ch.VolumeL[r.End.ID] = *x / 1e6
		}
	}
	return ch, bad
}

// nextBatch is the number that the next batch gets.
func (c *pourReader) nextBatch() int {
	n := 0
	for _, b := range c.list.Batches {
		n = max(n, b.Number)
	}
	return n + 1
}

// targets are the masses of one batch by the quantities of this casting, in kg.
func (c *pourReader) targets() (uhpc.Amounts, bool) {
	m := amounts{scope: c.scope}
	m.formPad = map[string]*calc.Pad{}
	m.evaluate(c.castReader)
	return m.a, m.refused == "" && len(m.forms) > 0
}

// blankBatch is the next batch as it is foreseen.
func (c *pourReader) blankBatch() url.Values {
	v := url.Values{}
	for _, r := range c.scope.Ends {
		if len(c.scope.Ends) == 1 {
			v.Add("end", r.End.ID)
		}
	}
	for _, b := range c.list.Batches {
		if b.Number == c.nextBatch()-1 {
			v.Set("lot", b.Lot)
			if b.PremixMadeOn != nil {
				v.Set("made", b.PremixMadeOn.Format(time.DateOnly))
			}
		}
	}
	a, ok := c.targets()
	if !ok {
		return v
	}
	v.Set("bags", strconv.Itoa(a.BagsPerBatch))
	for _, p := range a.Parts {
		text := units.Masses.Figure(float64(p.Batch), c.sys, -1)
		switch p.Part.Key {
		case basis.MixWater:
			v.Set("water_target", text)
		case basis.MixFiber:
			v.Set("fiber_target", text)
		}
	}
	plan, _ := c.frame.SpecimensToMake()
	placed := 0
	for _, b := range c.list.Batches {
		if !b.Refused {
			placed++
		}
	}
	for i, x := range plan {
		made := slices.ContainsFunc(c.list.Specimens, func(sp repair.Specimen) bool {
			return sp.Kind == string(x.Kind) && sp.Curing == string(x.Cure) && sp.NominalDays == x.NominalDays && sp.Purpose == string(x.Purpose) && !c.refusedBatch(sp.BatchNo)
		})
		if x.PerBatch || placed+1 >= a.Batches && !made {
			v.Set(fmt.Sprintf("set-%d-count", i+1), strconv.Itoa(x.Count))
		}
	}
	return v
}

func (s *Server) livePage(w http.ResponseWriter, r *http.Request, status int, c *pourReader, sent liveSent) error {
	p := c.pour
	here := c.head.Path("pours", numberOf(p.Number), "live")
	v := casting.Live{Number: numberOf(p.Number), Next: numberOf(c.nextBatch()), When: c.span(p), Zone: c.zoneNote(), Action: here, Preview: here + "/preview", Bad: sent.bad, Refused: sent.refused,
		Show: c.head.Path("pours", numberOf(p.Number)), Weather: p.Weather, Entry: sent.values.Get("entry"), Batches: c.batches()}
	for _, e := range c.scope.Ends {
		v.Ends = append(v.Ends, casting.Link{Text: e.End.Name, Href: c.head.Path("ends", e.End.Name)})
	}
	if a, ok := c.targets(); ok {
		v.Targets = c.massRows(a)
		v.Planned = fmt.Sprintf("%d of %d batches foreseen", len(c.list.Batches), a.Batches)
	}
	if p.LastBatchBy != nil {
		v.LastBatch = c.day(*p.LastBatchBy)
	}
	if at := lastPlaced(c.list.Batches); !at.IsZero() {
		limit := c.basis.Value(basis.BatchInterval)
		v.NextBy = fmt.Sprintf("The last batch was placed at %s: the next begins to go in by %s, %s after it, or a cold joint may form.", c.clock(at, p.StartedAt),
			c.clock(at.Add(time.Duration(limit*float64(time.Minute))), p.StartedAt), units.Minutes.Format(limit, c.sys, 0))
	}
	var err error
	if v.Releases, err = c.releaseMarks(c.scope); err != nil {
		return err
	}
	f := &batchForm{c: c, values: c.blankBatch()}
	finish := url.Values{}
	bad, badEnd := (*fault.Invalid)(nil), (*fault.Invalid)(nil)
	switch {
	case sent.act == "finish":
		finish, badEnd, v.Finishing = sent.values, sent.bad, true
	case sent.values != nil:
		f.values, bad = sent.values, sent.bad
	}
	v.Form = f.view(bad, true)
	v.Checks = c.liveChecks(f)
	box := func(x ui.Field) ui.Field {
		x.Value = finish.Get(x.Name)
		if q := badEnd.Of(x.Name); q != nil {
			x.Reason = q.Reason
		}
		return x
	}
	v.Ended = box(ui.Field{Name: "ended_at", Label: "Ended", Type: "datetime-local"})
	v.EndNote = box(ui.Field{Name: "end_note", Label: "Leaks, stops, anything else", Rows: 3, Optional: true})
	for _, e := range c.scope.Ends {
		v.Volumes = append(v.Volumes, box(ui.Field{Name: "all-" + e.End.Name, Label: "Went into " + e.End.Name, Unit: units.Volumes.Label(c.sys), InputMode: "decimal", Optional: true, Short: true}))
	}
	if x := badEnd.Of("batches"); x != nil {
		v.Refused = ui.Sentence(x.Reason)
	}
	pg := s.page(r, "Pour "+v.Number+", open", ui.Crumb{Label: "Bridge", Href: c.head.Path()}, ui.Crumb{Label: "Pours", Href: c.head.Path("pours")})
	pg.Field, pg.Scripts = true, []string{"casting.js"}
	return s.render(w, r, status, casting.LivePage(pg, v))
}

// pourLivePreview answers a batch that is being entered with the checks alone.
func (s *Server) pourLivePreview(w http.ResponseWriter, r *http.Request) error {
	c, err := s.openPour(r)
	if err != nil {
		return err
	}
	if err := parseForm(r); err != nil {
		return err
	}
	return s.render(w, r, http.StatusOK, casting.ChecksView(c.liveChecks(&batchForm{c: c, values: r.PostForm})))
}

// liveChecks compares the next batch, as far as it is typed, with the limits and
// with the batches before it.
func (c *pourReader) liveChecks(f *batchForm) casting.Checks {
	b, bad := f.read()
	sets := f.sets(bad)
	v := casting.Checks{}
	for _, x := range bad.Fields {
		if x.Typed != "" {
			v.Faults = append(v.Faults, x)
		}
	}
	if b.MixedAt.IsZero() {
		v.Sentence = checksMark(len(v.Faults), 0, 0, 0)
		return v
	}
	number := c.nextBatch()
	trial := c.scope.Clone()
	err := repair.AddBatch{Pour: c.pour.Number, Batch: b, Specimens: sets}.Apply(trial, repair.Context{Now: c.now, Captured: c.now, NewID: uuid.NewString})
	if back, _ := refusal(err); back != nil {
		if back.fields != nil {
			for _, x := range back.fields.Fields {
				if bad.Of(x.Field) == nil {
					v.Faults = append(v.Faults, x)
				}
			}
		} else {
			v.Faults = append(v.Faults, fault.Field{Reason: back.text})
		}
	}
	stops, warns := 0, 0
	list := b.Findings(number, c.basis)
	if err == nil {
		gaps := repair.Gaps(c.pour, byNumber(trial.Batches), c.basis)
		was := repair.Gaps(c.pour, byNumber(c.list.Batches), c.basis)
		list = append(list, gaps[min(len(was), len(gaps)):]...)
		v.Due = c.dueLines(trial.Specimens[len(c.scope.Specimens):])
	}
	for _, x := range list {
		switch {
		case b.Refused:
		case x.Grade == uhpc.Stop:
			stops++
		case x.Grade == uhpc.Warn:
			warns++
		}
	}
	v.Lines = c.findingLines("", list)
	start := b.MixedAt
	if b.StartedAt != nil {
		start = *b.StartedAt
	}
	if by := c.pour.LastBatchBy; by != nil && start.After(*by) {
		warns++
		v.Lines = append(v.Lines, casting.CheckLine{Mark: ui.Mark{State: ui.Caution, Text: "warning"},
			Text: fmt.Sprintf("Mixing began %.0f min after the time of the last batch, %s.", start.Sub(*by).Minutes(), c.clock(*by, c.pour.StartedAt))})
	}
	if b.PlacedAt == nil && !b.Refused {
		v.Lines = append(v.Lines, casting.CheckLine{Mark: ui.Mark{State: ui.Void, Text: "note"}, Text: "No time of placing yet: the time since mixing is not checked. Place by " +
			c.clock(b.MixedAt.Add(time.Duration(c.basis.Value(basis.PlaceStop)*float64(time.Minute))), c.pour.StartedAt) + "."})
	}
	slices.SortStableFunc(v.Lines, func(a, b casting.CheckLine) int { return weight(a.Mark.State) - weight(b.Mark.State) })
	v.Sentence = checksMark(len(v.Faults), stops, warns, 1)
	return v
}

// weight puts what stops before what only calls for care.
func weight(s ui.State) int {
	return slices.Index([]ui.State{ui.Stop, ui.Caution, ui.Void, ui.Good}, s)
}
