package repair

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"slices"

	"endcast/internal/domain/calc"
	"endcast/internal/domain/fault"
)

// PaperDigest is the digest of the rows that a document of a kind is made from, the
// version of the method among them: 64 hex digits. It moves when anything that such a
// document prints may have moved, and not with a form's version or with what the document
// leaves out: a new photograph puts an as-built book out of date and no calculation.
//
// Values that say nothing (null, empty, zero, false) count as not there, so that a column
// which a later release adds does not put every document of before out of date.
func (s *Scope) PaperDigest(kind string) (string, error) {
	rows := []any{kind, string(calc.MethodVersion), s.Program.Name, s.Program.Units, s.Program.Timezone}
	if kind == PaperProgram {
		rows = append(rows, s.Program, byKey(s.States, func(x State) string { return x.EndID }))
		return sumRows(rows)
	}
	r, err := s.One()
	if err != nil {
		return "", err
	}
	e := r.End
	rows = append(rows, e,
		byKey(s.Settings, func(x BasisSetting) string { return x.Key }), byKey(s.Trucks, func(x Truck) string { return x.ID }),
		byKey(s.Procedures, func(x Procedure) string { return x.ID }), s.Assumptions,
		byKey(only(s.Sections, func(x Section) bool { return x.ID == e.SectionID }), func(x Section) string { return x.ID }),
		byKey(only(s.Supports, func(x Support) bool { return x.ID == e.SupportID }), func(x Support) string { return x.ID }),
		byKey(only(s.Spans, func(x Span) bool { return x.ID == e.SpanID }), func(x Span) string { return x.ID }),
		byKey(only(s.SpanDemands, func(x SpanDemand) bool { return x.SpanID == e.SpanID }), func(x SpanDemand) string { return x.SpanID }),
		byKey(only(s.LoadParts, func(x LoadPart) bool { return x.SpanID == e.SpanID }), func(x LoadPart) string { return x.ID }),
		r.EndDemands,
		byKey(r.Surveys, func(x Survey) string { return x.ID }), byKey(r.Readings, func(x Reading) string { return x.ID }), byKey(r.Holes, func(x Hole) string { return x.ID }),
		byKey(r.Designs, func(x Design) string { return x.ID }), byKey(r.Studs, func(x Stud) string { return x.ID }), byKey(r.Reviews, func(x Review) string { return x.ID }),
		byKey(r.ReviewNotes, func(x ReviewNote) string { return x.ID }), byKey(r.Collars, func(x Collar) string { return x.ID }))
	if kind == PaperAsBuilt {
		rows = append(rows, s.asBuiltRows(r)...)
	}
	return sumRows(rows)
}

// asBuiltRows are the rows that an as-built book prints beyond a calculation.
func (s *Scope) asBuiltRows(r *Record) []any {
	mine := map[string]bool{}
	for _, pe := range s.PourEnds {
		if pe.EndID == r.End.ID {
			mine[pe.PourID] = true
		}
	}
	batches := only(s.Batches, func(x Batch) bool { return mine[x.PourID] })
	ofMine := map[string]bool{}
	for _, b := range batches {
		ofMine[b.ID] = true
	}
	return []any{
		byKey(s.Steps, func(x StepRow) string { return x.ID }), byKey(r.StepRecords, func(x StepRecord) string { return x.ID }),
		byKey(r.Cleanings, func(x Cleaning) string { return x.ID }), byKey(r.Inspections, func(x Inspection) string { return x.ID }),
		byKey(r.Nonconformances, func(x Nonconformance) string { return x.ID }), byKey(r.Photos, func(x Photo) string { return x.ID }),
		byKey(r.TestStuds, func(x TestStud) string { return x.ID }), byKey(r.FormChecks, func(x FormCheck) string { return x.ID }),
		byKey(r.DeckCores, func(x DeckCore) string { return x.ID }), byKey(r.Gates, func(x GateDecision) string { return x.ID }),
		byKey(r.Waivers, func(x Waiver) string { return x.ID }),
		byKey(r.Sensors, func(x Sensor) string { return x.ID }), byKey(r.Recordings, func(x Recording) string { return x.ID }),
		byKey(r.Verdicts, func(x StrainVerdict) string { return x.ID }), byKey(r.StrainSetup, func(x StrainSetup) string { return x.EndID }),
		byKey(only(s.Pours, func(x Pour) bool { return mine[x.ID] }), func(x Pour) string { return x.ID }),
		byKey(only(s.PourEnds, func(x PourEnd) bool { return mine[x.PourID] }), func(x PourEnd) string { return x.PourID + x.EndID }),
		byKey(batches, func(x Batch) string { return x.ID }),
		byKey(only(s.BatchEnds, func(x BatchEnd) bool { return ofMine[x.BatchID] }), func(x BatchEnd) string { return x.BatchID + x.EndID }),
		byKey(only(s.Specimens, func(x Specimen) bool { return mine[x.PourID] }), func(x Specimen) string { return x.ID }),
		byKey(only(s.SetReviews, func(x SetReview) bool { return mine[x.PourID] }), func(x SetReview) string { return x.ID }),
		byKey(only(s.CuringLogs, func(x CuringLog) bool { return mine[x.PourID] }), func(x CuringLog) string { return x.ID }),
	}
}

// only returns the rows that meet a condition.
func only[T any](rows []T, keep func(T) bool) []T {
	var out []T
	for _, r := range rows {
		if keep(r) {
			out = append(out, r)
		}
	}
	return out
}

// byKey returns rows in the order of a key, whatever order they were loaded in.
func byKey[T any](rows []T, key func(T) string) []T {
	out := slices.Clone(rows)
	slices.SortStableFunc(out, func(a, b T) int { return cmp.Compare(key(a), key(b)) })
	return out
}

// sumRows is the digest of rows as JSON, without what says nothing.
func sumRows(rows []any) (string, error) {
	raw, err := json.Marshal(rows)
	if err != nil {
		return "", fmt.Errorf("digest of a document: %w", err)
	}
	var tree any
	if err := json.Unmarshal(raw, &tree); err != nil {
		return "", fmt.Errorf("digest of a document: %w", err)
	}
	if raw, err = json.Marshal(saying(tree)); err != nil {
		return "", fmt.Errorf("digest of a document: %w", err)
	}
	sum := sha256.Sum256(raw)
	return hex.EncodeToString(sum[:]), nil
}

// saying drops the members of objects that say nothing.
func saying(v any) any {
	switch x := v.(type) {
	case map[string]any:
		for k, member := range x {
			member = saying(member)
			switch m := member.(type) {
			case nil:
				delete(x, k)
				continue
			case string:
				if m == "" {
					delete(x, k)
					continue
				}
			case bool:
				if !m {
					delete(x, k)
					continue
				}
			case float64:
				if m == 0 {
					delete(x, k)
					continue
				}
			case []any:
				if len(m) == 0 {
					delete(x, k)
					continue
				}
			case map[string]any:
				if len(m) == 0 {
					delete(x, k)
					continue
				}
			}
			x[k] = member
		}
	case []any:
		for i := range x {
			x[i] = saying(x[i])
		}
	}
	return v
}

// PaperLacks lists what a document of a kind needs and the record does not have yet; none
// where it can be made.
func (s *Scope) PaperLacks(kind string) ([]string, error) {
	if kind == PaperProgram {
		if len(s.States) == 0 {
			return []string{"the program has no girder end yet"}, nil
		}
		return nil, nil
	}
	r, err := s.One()
	if err != nil {
		return nil, err
	}
	var out []string
	if r.LatestSurvey() == nil {
		out = append(out, "no survey is on record: what corrosion left is not known")
	}
	if r.LatestDesign() == nil {
		out = append(out, "no design revision is on record: there is no repair to compute")
	}
	switch kind {
	case PaperCalculation:
	case PaperAsBuilt:
		if len(r.State) == 0 || !r.State[0].Closed {
			next := "its steps are not done"
			if len(r.State) > 0 && r.State[0].StepName != "" {
				next = "the next step is " + r.State[0].StepName
			}
			out = append(out, "the end is not closed: "+next)
		}
	default:
		return nil, fault.New(fault.Malformed, "there is no document of the kind %q", kind)
	}
	return out, nil
}
