package exchange

import (
	"cmp"
	"errors"
	"slices"
	"strconv"
	"strings"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/survey"
)

func (b *builder) checkSurveys(k *known) {
	for i := range b.bridge.Surveys {
		s, r := &b.bridge.Surveys[i], b.surveys[i]
		if (s.End == girder.Name{}) {
			continue
		}
		k.once(r, "survey_no", "survey "+strconv.Itoa(s.Number)+" of "+s.End.String(), false)
		// A row whose survey could not be read may have been its reading.
		if !b.read[i] && !b.lost {
			r.refuse("survey_no", "survey %d of %s needs a reading in the table %s at least", s.Number, s.End, TableReadings)
		}
		g, ok := k.ends[s.End]
		if !ok {
			r.refuse("end", "there is no end %s", s.End)
			continue
		}
		if len(g.Section.Validate()) > 0 {
			continue // the section's own problems stand at its row
		}
		limits := b.opt.Basis
		if strings.TrimSpace(s.ThickerReason) != "" {
			limits = asThickAsMayBe(limits)
		}
		var v *fault.Invalid
		if errors.As(survey.Validate(g, &s.Findings, limits), &v) {
			for _, f := range v.Fields {
				b.surveyProblem(i, f)
			}
		}
	}
	b.checkOrder()
}

// asThickAsMayBe takes metal above the as-new thickness up to the highest value
// that the limit may be set to.
func asThickAsMayBe(b basis.Basis) basis.Basis {
	d, _ := basis.Lookup(basis.SurveyAboveNominal)
	if wide, err := b.With(d.Key, d.Max); err == nil {
		return wide
	}
	return b
}

// checkOrder refuses surveys out of their order at an end: a number below one on
// record, and steel as found after it was cleaned.
func (b *builder) checkOrder() {
	type one struct {
		number int
		kind   string
		row    *row // nil: on record already
	}
	ends := map[girder.Name][]one{}
	var order []girder.Name
	for i, s := range b.bridge.Surveys {
		if ends[s.End] == nil {
			order = append(order, s.End)
		}
		ends[s.End] = append(ends[s.End], one{s.Number, s.Kind, b.surveys[i]})
	}
	highest := map[girder.Name]int{}
	if b.opt.Known != nil {
		for _, s := range b.opt.Known.Surveys {
			ends[s.End] = append(ends[s.End], one{s.Number, s.Kind, nil})
			highest[s.End] = max(highest[s.End], s.Number)
		}
	}
	for _, end := range order {
		list := ends[end]
		slices.SortStableFunc(list, func(a, b one) int { return cmp.Compare(a.number, b.number) })
		cleaned := 0
		for _, s := range list {
			if s.row != nil && !s.row.bad && s.number < highest[end] {
				s.row.refuse("survey_no", "must be more than %d, the last survey of %s on record", highest[end], end)
			}
			if s.row != nil && !s.row.bad && s.kind == AsFound && cleaned > 0 {
				s.row.refuse("kind", "survey %d of %s was taken on cleaned steel: a later one cannot be as found", cleaned, end)
			}
			if s.kind == Cleaned {
				cleaned = s.number
			}
		}
	}
}

// surveyProblem notes what package survey found at the row and column it came
// from; its fields are called like readings.3.t.
func (b *builder) surveyProblem(i int, f fault.Field) {
	parts := strings.Split(f.Field, ".")
	if len(parts) >= 2 {
		if n, err := strconv.Atoi(parts[1]); err == nil {
			rows := b.readings[i]
			if parts[0] == "holes" {
				rows = b.holes[i]
			}
			column := ""
			if len(parts) > 2 {
				column = parts[2]
			}
			if n >= 0 && n < len(rows) {
				rows[n].refuseIn(column, f.Reason)
				return
			}
		}
	}
	b.surveys[i].refuseIn(surveyColumns[f.Field], f.Reason)
}
