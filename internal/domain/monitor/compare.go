package monitor

import (
	"fmt"
	"math"
	"strings"

	"endcast/internal/domain/basis"
)

// compare weighs one state after casting against the state before.
func (j *judge) compare(after State) Comparison {
	c := Comparison{After: after, Ratio: none, Reduction: none}
	if j.ev.Control {
		c.Ratio = j.how.RatioOf(j.blocked(j.seen[after], ratio), j.blocked(j.seen[Before], ratio), 0.5)
		r := c.Ratio
		c.Reduction = Interval{Value: 1 - r.Value, Low: 1 - r.High, High: 1 - r.Low, N: r.N, Blocks: r.Blocks}
	}
	c.Criteria = []Criterion{j.fell(c), j.coincides(after), j.carries(after)}
	c.Raw = j.raw(after)
	c.More = j.more(after)
	j.decide(&c)
	return c
}

// fell asks whether the web is strained less for the same truck.
func (j *judge) fell(c Comparison) Criterion {
	limit := j.b.Value(basis.EngagedRatio)
	out := Criterion{Key: "ratio", Name: "web strain for the same truck, after over before", Value: c.Ratio, Limit: limit, Measured: c.Ratio.known()}
	out.Met = out.Measured && c.Ratio.High < limit
	out.Words = fmt.Sprintf("%s; the upper end must lie below %.2f", c.Ratio, limit)
	return out
}

// coincides asks whether panel or stud feel the same trucks.
func (j *judge) coincides(after State) Criterion {
	v, limit := j.sum[after].Coincidence, j.b.Value(basis.EngagedCoincidence)
	out := Criterion{Key: "coincidence", Name: "passages that panel or stud show too", Value: v, Limit: limit, Measured: v.N > 0}
	out.Met = out.Measured && v.Value >= limit
	out.Words = fmt.Sprintf("%s; must be at least %.2f", v, limit)
	return out
}

// carries asks whether the share is near what the design counts on.
func (j *judge) carries(after State) Criterion {
	v := j.sum[after].Share
	out := Criterion{Key: "share", Name: "load share of the panel", Value: v}
	if j.ev.Foreseen == nil || !(j.ev.Foreseen.Share > 0) {
		out.Words = v.String() + "; no share was foreseen to compare it with"
		return out
	}
	out.Limit = j.b.Value(basis.EngagedShare) * j.ev.Foreseen.Share
	out.Measured = v.known()
	out.Met = out.Measured && v.Low >= out.Limit
	out.Words = fmt.Sprintf("%s; the lower end must be at least %.2f, %.2f of the share foreseen", v, out.Limit, j.b.Value(basis.EngagedShare))
	return out
}

// more says what each state lacks.
func (j *judge) more(after State) (out []More) {
	events, days := int(j.b.Value(basis.EngagedEvents)), int(j.b.Value(basis.EngagedDays))
	for _, s := range []State{Before, after} {
		n, d := j.sum[s].WithControl, j.days(j.seen[s], func(x Seen) bool { return x.Ratio == x.Ratio })
		if !j.ev.Control {
			n, d = j.sum[s].Passages, j.sum[s].Days
		}
		if m := (More{State: s, Passages: max(0, events-n), Days: max(0, days-d)}); m.Passages > 0 || m.Days > 0 {
			out = append(out, m)
		}
	}
	return out
}

// decide gives the verdict and its sentence.
func (j *judge) decide(c *Comparison) {
	fell, shown, carried := c.Criteria[0], c.Criteria[1], c.Criteria[2]
	switch {
	case !j.ev.Control:
		c.Verdict = IndicativeOnly
		c.Words = "indicative only: no control gauge tells how heavy each truck was" + j.hint(c.After)
	case len(c.More) > 0:
		c.Words = "not enough data: " + wordsOf(c.More)
	case !fell.Measured:
		c.Words = fmt.Sprintf("not enough data: passages come from %d separate days or hours, an interval needs %d", c.Ratio.Blocks, j.how.Least)
	case !fell.Met && c.Ratio.Low < fell.Limit && j.narrower(c):
		return
	case !fell.Met:
		c.Verdict = NotEngaged
		c.Words = fmt.Sprintf("not engaged: for the same truck the web is strained %s of what it was before", c.Ratio)
	case shown.Measured && !shown.Met:
		c.Verdict = NotEngaged
		c.Words = fmt.Sprintf("not engaged: the web is strained less, but panel and stud show only %.0f percent of the passages", 100*shown.Value.Value)
	case carried.Measured && !carried.Met:
		c.Verdict = NotEngaged
		c.Words = fmt.Sprintf("not engaged as designed: the panel carries %s of the load, at least %.2f is asked for", carried.Value, carried.Limit)
	case !shown.Measured:
		c.Verdict = IndicativeOnly
		c.Words = fmt.Sprintf("indicative only: the web is strained %s of what it was, but no gauge on panel or stud shows where the load went", c.Ratio)
	default:
		c.Verdict = Engaged
		c.Words = fmt.Sprintf("engaged: for the same truck the web is strained %s of what it was before", c.Ratio)
		if carried.Value.known() {
			c.Words += fmt.Sprintf(", and the panel carries %s of the load", carried.Value)
		}
	}
}

// hint says what the panel shows where nothing more can be said.
func (j *judge) hint(after State) string {
	v := j.sum[after].Coincidence
	if v.N == 0 {
		return ""
	}
	return fmt.Sprintf("; panel or stud show %.0f percent of the passages", 100*v.Value)
}

// narrower tells whether more passages can settle an interval that holds the limit,
// and says how many: the width falls with the root of their number.
func (j *judge) narrower(c *Comparison) bool {
	limit, r := c.Criteria[0].Limit, c.Ratio
	half := r.High - r.Value
	if r.Value >= limit {
		half = r.Value - r.Low
	}
	grow := math.Pow(half/math.Abs(limit-r.Value), 2)
	var more []More
	for _, s := range []State{Before, c.After} {
		need := math.Ceil(float64(j.sum[s].WithControl) * (grow - 1))
		if !(need <= j.b.Value(basis.EngagedMost)) {
			return false
		}
		more = append(more, More{State: s, Passages: max(1, int(need))})
	}
	c.More = more
	c.Words = fmt.Sprintf("not enough data: the web is strained %s of what it was and the limit is %.2f; to settle it, about %s", r, limit, wordsOf(more))
	return true
}

func wordsOf(more []More) string {
	var parts []string
	for _, m := range more {
		var p []string
		if m.Passages > 0 {
			p = append(p, fmt.Sprintf("%d more passages", m.Passages))
		}
		if m.Days > 0 {
			p = append(p, fmt.Sprintf("%d more days", m.Days))
		}
		where := "after casting"
		if m.State == Before {
			where = "before casting"
		}
		parts = append(parts, strings.Join(p, " and ")+" "+where)
	}
	return strings.Join(parts, "; ") + " are needed"
}

// String is the value with its interval.
func (i Interval) String() string {
	switch {
	case i.N == 0:
		return "nothing measured"
	case !i.known():
		return fmt.Sprintf("%.3f (too little for an interval)", i.Value)
	}
	return fmt.Sprintf("%.3f (%.3f to %.3f)", i.Value, i.Low, i.High)
}

// RawTest is a comparison of raw peaks: reported, never deciding; see RawWhy.
type RawTest struct {
	Name  string   `json:"name"`
	Value Interval `json:"value"`
	P     float64  `json:"p"`    // two-sided; 0 where Form is empty
	Form  string   `json:"form"` // how P was found; empty for none
	Note  string   `json:"note"`
}

// raw compares raw peaks in the ways that people ask for.
func (j *judge) raw(after State) (out []RawTest) {
	a, b := j.blocked(j.seen[after], web), j.blocked(j.seen[Before], web)
	if a.Len() == 0 || b.Len() == 0 {
		return nil
	}
	tail := int(j.b.Value(basis.EngagedTail))
	for _, p := range []float64{0.50, 0.90, 0.95} {
		t := RawTest{Name: fmt.Sprintf("raw peaks, %.0fth percentile, after over before", 100*p), Value: j.how.RatioOf(a, b, p)}
		if p > 0.9 && min(a.Len(), b.Len()) < tail {
			t.Note = fmt.Sprintf("%d passages are too few for a word on the largest; %d are asked for", min(a.Len(), b.Len()), tail)
		}
		out = append(out, t)
	}
	point := func(v float64) Interval {
		return Interval{Value: v, Low: math.NaN(), High: math.NaN(), N: min(a.Len(), b.Len())}
	}
	mw, ks := MannWhitney(a.values, b.values, false), KolmogorovSmirnov(a.values, b.values)
	const many = "with thousands of passages every difference is significant"
	out = append(out, RawTest{Name: "chance that a raw peak after is larger than one before (Mann and Whitney)", Value: point(mw.AUC), P: mw.P, Form: "normal, with continuity", Note: many},
		RawTest{Name: "largest distance of the distributions of raw peaks (Kolmogorov and Smirnov)", Value: point(ks.D), P: ks.P, Form: ks.Form, Note: many})
	if ha, hb := j.ev.Hours[after], j.ev.Hours[Before]; ha > 0 && hb > 0 {
		u := b.Percentile(0.90)
		r := RateRatio(Counted{j.over(after, u), ha}, Counted{j.over(Before, u), hb})
		if !math.IsNaN(r.Ratio) {
			out = append(out, RawTest{Name: fmt.Sprintf("how often raw peaks exceed %.0f microstrain, after over before", u), Value: Interval{Value: r.Ratio, Low: r.Low, High: r.High, N: min(a.Len(), b.Len())},
				P: r.P, Form: "exact", Note: "depends on how many heavy trucks passed in each state"})
		}
	}
	return out
}

func (j *judge) over(s State, limit float64) (n int) {
	for _, x := range j.seen[s] {
		if x.Web > limit {
			n++
		}
	}
	return n
}
