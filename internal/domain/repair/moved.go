package repair

import (
	"math"
	"slices"
	"time"

	"endcast/internal/domain/survey"
	"endcast/internal/domain/units"
)

// ReadingChange is one place of the web at which two states of knowledge differ.
// Was is nil where nobody had read before, Is where nobody read again.
type ReadingChange struct {
	Face    survey.Face
	X, Z    units.Length
	Was, Is *survey.Reading
}

// Thinner is by how much the metal is thinner than was known, negative where it
// is thicker; zero where one of the two is missing or could not be read.
func (c ReadingChange) Thinner() units.Length {
	if c.Was == nil || c.Is == nil || c.Was.NoAccess || c.Is.NoAccess {
		return 0
	}
	return c.Was.T - c.Is.T
}

// onePlace is how far apart two readings may be, in mm, to be of one place: half
// of what a probe covers, common practice, no source.
const onePlace = 6.0

// CompareReadings lists where two sets of findings differ, the largest new loss
// first. Readings are matched by face and place. A place that only the later set
// has, or only the earlier, is listed after them.
func CompareReadings(was, is *survey.Survey) []ReadingChange {
	var before, after []survey.Reading
	if was != nil {
		before = was.Readings
	}
	if is != nil {
		after = is.Readings
	}
	taken := make([]bool, len(before))
	var out []ReadingChange
	for i := range after {
		n := &after[i]
		best, at := math.Inf(1), -1
		for j := range before {
			o := &before[j]
			d := math.Hypot(float64(o.X-n.X), float64(o.Z-n.Z))
			if !taken[j] && o.Face == n.Face && d <= onePlace && d < best {
				best, at = d, j
			}
		}
		if at < 0 {
			out = append(out, ReadingChange{n.Face, n.X, n.Z, nil, n})
			continue
		}
		taken[at] = true
		if o := &before[at]; o.NoAccess != n.NoAccess || !n.NoAccess && math.Abs(float64(o.T-n.T)) > 1e-6 {
			out = append(out, ReadingChange{n.Face, n.X, n.Z, o, n})
		}
	}
	for j := range before {
		if o := &before[j]; !taken[j] {
			out = append(out, ReadingChange{o.Face, o.X, o.Z, o, nil})
		}
	}
	rank := func(c ReadingChange) int {
		switch {
		case c.Was != nil && c.Is != nil:
			return 0
		case c.Is != nil:
			return 1
		}
		return 2
	}
	slices.SortStableFunc(out, func(a, b ReadingChange) int {
		if d := rank(a) - rank(b); d != 0 {
			return d
		}
		return sign(float64(b.Thinner() - a.Thinner()))
	})
	return out
}

// SurveyAt is the survey that stood at a moment, with the readings as they were
// then; nil where none had arrived. Holes are those on record now, since a hole
// keeps no time of its own.
func (r *Record) SurveyAt(t time.Time) (*Survey, *survey.Survey) {
	var sv *Survey
	for i := range r.Surveys {
		if x := &r.Surveys[i]; !x.ArrivedAt.After(t) && (sv == nil || x.Number > sv.Number) {
			sv = x
		}
	}
	if sv == nil {
		return nil, nil
	}
	later := map[string]bool{} // readings that came after the moment
	for _, x := range r.Readings {
		if x.SurveyID == sv.ID && x.CapturedAt.After(t) {
			later[x.ID] = true
		}
	}
	out := r.SurveyFindings(sv)
	out.Readings = out.Readings[:0:0]
	for _, x := range r.Readings {
		if x.SurveyID == sv.ID && !later[x.ID] && (x.SupersededBy == nil || later[*x.SupersededBy]) {
			out.Readings = append(out.Readings, survey.Reading{Face: survey.Face(x.Face), X: x.X, Z: x.Z, T: x.T, NoAccess: x.NoAccess})
		}
	}
	orderReadings(out.Readings)
	return sv, out
}

// LastApproval is the latest approval or confirmation of a revision, nil when it
// was never approved.
func (r *Record) LastApproval(d *Design) *Review { return r.lastApproval(d) }

// Stale tells whether a revision that was approved stands on something else by
// now, whichever revision is in force.
func (r *Record) Stale(s *Scope, d *Design) bool {
	x := r.lastApproval(d)
	return x != nil && (d.State == DesignApproved || d.State == DesignApprovedNoted) && x.InputDigest != r.designDigest(s, d)
}
