package web

import (
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/basis"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/uhpc"
	"endcast/internal/domain/units"
	"endcast/views/casting"
	"endcast/views/ui"
)

// strengthReport is every set of a casting with every number of it.
func (s *Server) strengthReport(w http.ResponseWriter, r *http.Request) error {
	return s.reportPage(w, r, http.StatusOK, nil)
}

func (s *Server) reportPage(w http.ResponseWriter, r *http.Request, status int, bad *fault.Invalid) error {
	c, err := s.openPour(r)
	if err != nil {
		return err
	}
	number := strconv.Itoa(c.pour.Number)
	v := casting.ReportView{Number: number, Program: c.head.Name, When: c.span(c.pour), Ends: c.endLinks(c.list, c.pour.ID), Pour: c.head.Path("pours", number),
		Labels: c.head.Path("laboratory", "labels") + "?pour=" + number, Paper: c.head.Path("laboratory", "pours", number, "paper.css"), Zone: c.zoneNote(),
		Stress: units.Stresses.Label(c.sys), Force: units.Forces.Label(c.sys), Length: units.Lengths.Label(c.sys), Bad: bad}
	var missing, refused []string
	for _, sp := range c.byMark() {
		switch {
		case sp.LostAt != nil:
			missing = append(missing, sp.Mark+" (lost: "+sp.LostWhy+")")
		case sp.BrokenAt == nil:
			missing = append(missing, sp.Mark)
		}
	}
	for _, b := range c.list.Batches {
		if b.Refused {
			refused = append(refused, strconv.Itoa(b.Number))
		}
	}
	v.Missing, v.Refused = strings.Join(missing, ", "), strings.Join(refused, ", ")
	may := s.can(r, authz.ReviewSpecimens)
	sets := repair.BuildSets(c.pour, c.list.Batches, c.list.Specimens, c.list.SetReviews)
	slices.SortStableFunc(sets, func(a, b uhpc.Set) int {
		switch {
		case a.NominalHours < b.NominalHours:
			return -1
		case a.NominalHours > b.NominalHours:
			return 1
		}
		return strings.Compare(a.Batch, b.Batch)
	})
	for i, set := range sets {
		v.Sets = append(v.Sets, c.setReport(i, set, may))
	}
	for _, key := range []basis.Key{basis.StripStrength, basis.TrafficStrength, basis.FinalStrength, basis.SetSize, basis.EachOfLimit, basis.RangeReview, basis.RangeInvalid} {
		d, _ := basis.Lookup(key)
		v.Limits = append(v.Limits, casting.Limit{Name: sentenceCase(d.Name), Value: settingValue(d, c.basis.Value(key), c.sys), From: d.Source + " (" + string(d.Tag) + ")"})
	}
	p := s.page(r, "Strength report of pour "+number, ui.Crumb{Label: "Bridge", Href: c.head.Path()}, ui.Crumb{Label: "Laboratory", Href: c.head.Path("laboratory")})
	p.Block = c.block()
	return s.render(w, r, status, casting.ReportPage(p, v))
}

// setReport is one set in words and numbers.
func (c *pourReader) setReport(i int, set uhpc.Set, may bool) casting.SetReport {
	number := 0
	for _, b := range c.list.Batches {
		if batchKey(c.pour, b.Number) == set.Batch {
			number = b.Number
		}
	}
	r := setReading{set: set, number: number, stats: set.Stats(c.basis)}
	r.unbroken(c.list.Specimens)
	c.judge(&r)
	st := r.stats
	out := casting.SetReport{ID: "set-" + strconv.Itoa(i+1), Mark: r.mark,
		Title: fmt.Sprintf("%s, batch %d, %s, %s, %s", ageText(set.NominalHours), number, kindName(string(set.Kind)), cureWords(string(set.Cure)), plainWord(string(set.Duty)))}
	out.Words = append(out.Words, setWords(st)+"; read "+r.against)
	if r.why != "" && !strings.Contains(out.Words[0], r.why) {
		out.Words = append(out.Words, r.why)
	}
	var counted []float64
	for _, x := range set.Specimens {
		row := casting.SpecimenRow{Mark: x.Mark, Href: c.head.Path("laboratory", "specimens", x.Mark), Broken: "–", Age: "–", Load: "–", Sizes: "–", Ground: "–", Fracture: "–", Raw: "–", Factor: "–", Value: "–",
			State: ui.Mark{State: ui.Wait, Text: "waits"}}
		j := slices.IndexFunc(c.list.Specimens, func(sp repair.Specimen) bool { return sp.Mark == x.Mark })
		if sp := c.list.Specimens[j]; sp.LostAt != nil {
			row.State, row.Why = ui.Mark{State: ui.Void, Text: "lost"}, sp.LostWhy
		} else if sp.BrokenAt != nil {
			full, _ := c.specimen(sp, c.pour, false)
			row.Broken, row.Age, row.Load, row.Raw, row.Factor, row.Value, row.State, row.Why = full.Broken, full.Age, full.Load, full.Raw, full.Factor, full.Value, full.State, strings.Join(full.Why, "; ")
			row.Sizes = c.sizes(sp)
			if row.Ground = "no"; sp.EndsGround {
				row.Ground = "yes"
			}
			if sp.Fracture != nil {
				row.Fracture = strconv.Itoa(*sp.Fracture)
			}
			if br := x.Break(nil, c.basis); br.Counts {
				counted = append(counted, float64(br.Converted))
			}
		}
		out.Rows = append(out.Rows, row)
	}
	out.Numbers = c.setNumbers(st, counted)
	if may && (st.State == uhpc.Review || st.State == uhpc.Sound && st.Broken > 0 || st.State == uhpc.Invalid && set.Voided == "") {
		out.Review = c.head.Path("laboratory", "pours", strconv.Itoa(c.pour.Number), "review")
		out.Hidden = []casting.Pair{{Name: "batch", Value: strconv.Itoa(number)}, {Name: "kind", Value: string(set.Kind)}, {Name: "curing", Value: string(set.Cure)},
			{Name: "duty", Value: string(set.Duty)}, {Name: "days", Value: strconv.FormatFloat(set.NominalHours/24, 'g', -1, 64)}}
		out.VerdictOf = ui.Field{Name: "verdict", Label: "Finding", Options: []ui.Option{{Value: "stands", Label: "the spread may stand"}, {Value: "void", Label: "the set is worth nothing"}}}
		out.Reason = ui.Field{Name: fmt.Sprintf("reason-%d", i+1), Label: "What was looked at and found", Rows: 2}
		out.Hidden = append(out.Hidden, casting.Pair{Name: "at", Value: strconv.Itoa(i + 1)})
	}
	return out
}

// setWords is the state of a set in words.
func setWords(st uhpc.Stats) string {
	s := map[uhpc.SetState]string{uhpc.TooFew: "the set is not complete", uhpc.Sound: "the set is sound", uhpc.Review: "the set is held for review", uhpc.Invalid: "the set means nothing"}[st.State]
	if st.Why != "" {
		s += ": " + st.Why
	}
	return s
}

func (c *castReader) setNumbers(st uhpc.Stats, counted []float64) []casting.Pair {
	if st.Broken == 0 {
		return nil
	}
	out := []casting.Pair{{Name: "Specimens", Value: fmt.Sprintf("%d cast, %d broken, %d count", st.Cast, st.Broken, st.Counted)}}
	if st.Counted > 0 {
		out = append(out, casting.Pair{Name: "Mean of those that count", Value: c.strength(st.Mean)})
	}
	if st.Counted != st.Broken {
		out = append(out, casting.Pair{Name: "Mean of all broken, left out ones with it", Value: c.strength(st.MeanBroken)})
	}
	if st.Counted > 1 {
		out = append(out, casting.Pair{Name: "Least", Value: c.strength(st.Least)}, casting.Pair{Name: "Range", Value: fmt.Sprintf("%s, %.2f %% of the mean", c.strength(st.Range), 100*st.RangeShare)},
			casting.Pair{Name: "Standard deviation", Value: fmt.Sprintf("%s, V %.2f %%", c.strength(st.Deviation), 100*float64(st.Deviation/st.Mean))})
	}
	if o, ok := uhpc.FindOutlier(counted, c.basis); ok {
		out = append(out, casting.Pair{Name: "Outlier test, for information", Value: o.Words()})
	}
	return out
}

// setReview puts the word of a named person on a set on record.
func (s *Server) setReview(w http.ResponseWriter, r *http.Request) error {
	c, err := s.openPour(r)
	if err != nil {
		return err
	}
	if err := parseForm(r); err != nil {
		return err
	}
	batch, err := strconv.Atoi(r.PostFormValue("batch"))
	days, derr := strconv.ParseFloat(r.PostFormValue("days"), 64)
	if err != nil || derr != nil {
		return fault.New(fault.Malformed, "the form does not say which set it means: load the page again")
	}
	at := r.PostFormValue("at")
	ch := repair.ReviewSet{Pour: c.pour.Number, Batch: batch, KindOf: r.PostFormValue("kind"), Curing: r.PostFormValue("curing"), Duty: r.PostFormValue("duty"), NominalDays: days,
		Verdict: r.PostFormValue("verdict"), Reason: strings.TrimSpace(r.PostFormValue("reason-" + at))}
	var marks []string
	for _, sp := range c.list.Specimens {
		marks = append(marks, sp.Mark)
	}
	refs, err := s.store.EndsOfSpecimens(r.Context(), c.head.ID.String(), marks)
	if err != nil {
		return err
	}
	_, err = s.edit(r, refs, c.now, ch)
	var invalid *fault.Invalid
	if errors.As(err, &invalid) {
		for i := range invalid.Fields {
			if invalid.Fields[i].Field == "reason" {
				invalid.Fields[i].Field = "reason-" + at
			}
		}
		return s.reportPage(w, r, http.StatusUnprocessableEntity, invalid)
	}
	if err != nil {
		return err
	}
	s.flash(r, ui.Done, "The review of the set is on record.")
	return seeOther(w, r, c.head.Path("laboratory", "pours", strconv.Itoa(c.pour.Number)))
}

// strengthPaper is the running head of the printed report.
func (s *Server) strengthPaper(w http.ResponseWriter, r *http.Request) error {
	c, err := s.openPour(r)
	if err != nil {
		return err
	}
	left := fmt.Sprintf("%s: strength report, pour %d, cast %s", c.head.Name, c.pour.Number, c.day(c.pour.StartedAt))
	right := "printed " + c.now.In(c.zone).Format("2006-01-02 15:04")
	w.Header().Set("Content-Type", "text/css; charset=utf-8")
	w.Header().Set("Cache-Control", "private, no-cache")
	_, err = fmt.Fprintf(w, "@page strength {\n  @top-left { content: %s; }\n  @top-right { content: %s; }\n  @bottom-right { content: counter(page) \" / \" counter(pages); }\n}\n", cssString(left), cssString(right))
	return err
}
