package repair

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/units"
)

// BridgeIn is a bridge as it comes in: what an import or a set-up form holds.
type BridgeIn struct {
	Supports []SupportIn `json:"supports"`
	Spans    []SpanIn    `json:"spans"`
	Sections []Section   `json:"sections"`
	Ends     []EndIn     `json:"ends"`
	Surveys  []EndSurvey `json:"surveys"`
}

// SupportIn is an abutment or pier as it comes in, in the ahead direction.
type SupportIn struct {
	Code    string       `json:"code"`
	Name    string       `json:"name"`
	Station units.Length `json:"station"`
	Typed   Typed        `json:"typed,omitempty"`
}

// SpanIn is a span as it comes in; From and To are support codes.
type SpanIn struct {
	Number         int          `json:"number"`
	Length         units.Length `json:"length"`
	Girders        int          `json:"girders"`
	Spacing        units.Length `json:"spacing"`
	From           string       `json:"from"`
	To             string       `json:"to"`
	ContinuousNext bool         `json:"continuous_next"`
	Note           string       `json:"note"`
	Typed          Typed        `json:"typed,omitempty"`
}

// EndIn is a girder end as it comes in; Section is a name, Support a code.
type EndIn struct {
	Span    int      `json:"span"`
	Side    string   `json:"side"`
	Girder  int      `json:"girder"`
	Support string   `json:"support"`
	Face    string   `json:"face"`
	Section string   `json:"section"`
	Facts   EndFacts `json:"facts"`
	Chosen  []string `json:"chosen"`
}

// EndSurvey is a survey of an end that is named. Number is that of the report it
// comes from, zero for the next free one; TakenAt is when it was measured, zero
// for the moment of the entry.
type EndSurvey struct {
	End     string       `json:"end"`
	Number  int          `json:"number,omitempty"`
	TakenAt time.Time    `json:"taken_at,omitzero"`
	Survey  RecordSurvey `json:"survey"`
}

// ImportBridge adds supports, spans, sections, ends and surveys to a program.
// What the program has already is left alone and refused when repeated, except
// surveys: they are added to ends that exist. All or nothing.
type ImportBridge struct {
	Bridge BridgeIn `json:"bridge"`
}

// Kind implements Change.
func (ImportBridge) Kind() string { return "bridge.import" }

// Apply implements Change.
func (ch ImportBridge) Apply(s *Scope, c Context) error {
	var bad fault.Invalid
	b := ch.Bridge
	if len(b.Supports)+len(b.Spans)+len(b.Sections)+len(b.Ends)+len(b.Surveys) == 0 {
		bad.Add("file", "", "nothing to import")
	}
	supports, spans, sections := map[string]Support{}, map[int]Span{}, map[string]Section{}
	for _, x := range s.Supports {
		supports[x.Code] = x
	}
	for _, x := range s.Spans {
		spans[x.Number] = x
	}
	for _, x := range s.Sections {
		sections[x.Name] = x
	}
	for _, in := range b.Supports {
		if _, ok := supports[in.Code]; ok {
			bad.Add("support "+in.Code, in.Code, "the program has a support of this code already")
			continue
		}
		row := Support{ID: c.NewID(), ProgramID: s.Program.ID, Ord: len(s.Supports) + 1, Code: in.Code, Name: in.Name, Station: in.Station, Typed: in.Typed.orNone()}
		need(&bad, "support "+in.Code, in.Name, "a support needs a name")
		supports[in.Code] = row
		s.Supports = append(s.Supports, row)
	}
	for _, in := range b.Spans {
		f := fmt.Sprintf("span %d", in.Number)
		if _, ok := spans[in.Number]; ok {
			bad.Add(f, "", "the program has a span of this number already")
			continue
		}
		from, ok1 := supports[in.From]
		to, ok2 := supports[in.To]
		if !ok1 || !ok2 {
			bad.Add(f, in.From+" "+in.To, "names a support that does not exist")
			continue
		}
		if in.Number < 1 || in.Number > 999 || in.Girders < 1 || in.Girders > 100 || !(in.Length > 0) || !(in.Spacing > 0) {
			bad.Add(f, "", "needs a number from 1 to 999, from 1 to 100 girders, a length and a spacing above zero")
			continue
		}
		row := Span{ID: c.NewID(), ProgramID: s.Program.ID, Number: in.Number, Length: in.Length, Girders: in.Girders, Spacing: in.Spacing,
			FromSupportID: from.ID, ToSupportID: to.ID, ContinuousNext: in.ContinuousNext, Note: in.Note, Typed: in.Typed.orNone()}
		spans[in.Number] = row
		s.Spans = append(s.Spans, row)
	}
	for _, in := range b.Sections {
		if _, ok := sections[in.Name]; ok {
			bad.Add("section "+in.Name, in.Name, "the program has a section of this name already")
			continue
		}
		in.ID, in.ProgramID = c.NewID(), s.Program.ID
		in.Typed = in.Typed.orNone()
		addAll(&bad, "section "+in.Name, in.steel().Validate().Err())
		sections[in.Name] = in
		s.Sections = append(s.Sections, in)
	}
	byName := map[string]*Record{}
	for _, r := range s.Ends {
		byName[r.End.Name] = r
	}
	for _, in := range b.Ends {
		if r, err := in.record(s, c, supports, spans, sections); err != nil {
			addAll(&bad, in.name(), err)
		} else if byName[r.End.Name] != nil {
			bad.Add("end "+r.End.Name, "", "the program has an end of this name already")
		} else {
			byName[r.End.Name] = r
			s.Ends = append(s.Ends, r)
		}
	}
	for _, sv := range b.Surveys {
		r := byName[strings.ToUpper(strings.TrimSpace(sv.End))]
		if r == nil {
			bad.Add("survey of "+sv.End, sv.End, "the program has no end of this name")
			continue
		}
		one := *s
		one.Ends = []*Record{r}
		addAll(&bad, "survey of "+sv.End, sv.apply(&one, c))
	}
	return bad.Err()
}

// apply records the survey at the one end of the scope, under the number and time
// that it came with.
func (sv EndSurvey) apply(s *Scope, c Context) error {
	r := s.Ends[0]
	if last := r.LatestSurvey(); sv.Number != 0 && last != nil && sv.Number <= last.Number {
		var bad fault.Invalid
		bad.Add("number", numberText(sv.Number), "must be more than %d, the last survey on record", last.Number)
		return bad.Err()
	}
	if !sv.TakenAt.IsZero() {
		c.Captured = sv.TakenAt
	}
	if err := sv.Survey.Apply(s, c); err != nil {
		return err
	}
	if sv.Number > 0 {
		r.LatestSurvey().Number = sv.Number
	}
	return nil
}

// addAll adds what err says, each field under where; nothing for a nil err.
func addAll(bad *fault.Invalid, where string, err error) {
	if err == nil {
		return
	}
	if inv, ok := err.(*fault.Invalid); ok {
		for _, f := range inv.Fields {
			bad.Add(where+": "+f.Field, f.Typed, "%s", f.Reason)
		}
		return
	}
	bad.Add(where, "", "%s", err.Error())
}

func (in EndIn) name() string {
	return girder.Name{Span: in.Span, Side: girder.Side(in.Side), Girder: in.Girder}.String()
}

func (in EndIn) record(s *Scope, c Context, supports map[string]Support, spans map[int]Span, sections map[string]Section) (*Record, error) {
	var bad fault.Invalid
	sp, ok := spans[in.Span]
	if !ok {
		bad.Add("span", fmt.Sprint(in.Span), "does not exist")
	}
	sup, ok := supports[in.Support]
	if !ok {
		bad.Add("support", in.Support, "does not exist")
	}
	sec, ok := sections[in.Section]
	if !ok {
		bad.Add("section", in.Section, "does not exist")
	}
	if in.Side != "N" && in.Side != "F" {
		bad.Add("side", in.Side, "must be N (near) or F (far)")
	}
	if in.Face != "back" && in.Face != "ahead" {
		bad.Add("face", in.Face, "must be back or ahead")
	}
	if ok && (in.Girder < 1 || in.Girder > max(sp.Girders, 1)) {
		bad.Add("girder", fmt.Sprint(in.Girder), "must be from 1 to %d", sp.Girders)
	}
	if err := bad.Err(); err != nil {
		return nil, err
	}
	if want := sp.FromSupportID; in.Side == "F" {
		want = sp.ToSupportID
		if sup.ID != want {
			bad.Add("support", in.Support, "the far end of span %d is not there", in.Span)
		}
	} else if sup.ID != want {
		bad.Add("support", in.Support, "the near end of span %d is not there", in.Span)
	}
	if err := bad.Err(); err != nil {
		return nil, err
	}
	for _, code := range in.Chosen {
		if !slices.Contains(s.StepsForChosen(), code) {
			bad.Add("chosen", code, "no step of that code is meant for chosen ends")
		}
	}
	if err := bad.Err(); err != nil {
		return nil, err
	}
	e := End{ID: c.NewID(), ProgramID: s.Program.ID, SpanID: sp.ID, SupportID: sup.ID, Name: in.name(), SpanNo: in.Span, Side: in.Side,
		GirderNo: in.Girder, Face: in.Face, Version: 1, CreatedAt: c.Now, UpdatedAt: c.Now, ChosenSteps: in.Chosen}
	if e.ChosenSteps == nil {
		e.ChosenSteps = []string{}
	}
	f := in.Facts
	f.SectionID = sec.ID
	f.into(&e)
	r := &Record{End: e}
	if err := r.validateEnd(s); err != nil {
		return nil, err
	}
	return r, nil
}
