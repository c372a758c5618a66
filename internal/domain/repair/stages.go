package repair

import (
	"fmt"
	"slices"
	"time"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/encasement"
	"endcast/internal/domain/outlook"
	"endcast/internal/domain/survey"
	"endcast/internal/domain/uhpc"
	"endcast/internal/domain/units"
)

// Kinds of stage, in the order of the work.
const (
	StageAsNew   = "as_new"
	StageFound   = "as_found" // a survey before cleaning
	StageCleaned = "cleaned"  // a survey of cleaned steel
	StageStudded = "studded"  // collars recorded, nothing cast
	StageCast    = "cast"     // cast, no strength proven
	StageProven  = "proven"   // a strength proven by breaks
	StageClosed  = "closed"
)

// Stage is what an end carried at one stage of the work on it: by today's demand,
// design basis and procedure, with the steel and the strength that were known then.
type Stage struct {
	Kind string
	Name string
	At   time.Time // zero where the record has no day
	By   string    // name, where the record holds one
	ByID string    // identifier of the person otherwise

	Survey   int // number of the survey that it stands on; zero as new
	Revision int // of the design; zero before the studs

	Demand    units.Force
	Capacity  units.Force
	Verdict   string // as stored results say it
	Governing string
	Outside   bool // a limit of the method is not met
	// Promised is what the repair carries once its UHPC has the strength specified,
	// before that; zero where there is no repair.
	Promised units.Force
	// Specified and Proven are strengths of the UHPC; Proven is zero where none is.
	// The panel counts with the lesser of the two, never with a forecast.
	Specified, Proven units.Stress

	Least   *float64 // least rating factor, as of ConditionRatings; nil where none is known
	Vehicle string
	Words   string // what the capacity counts and what it does not
}

// Stages is what an end carried at each stage of the work on it, from the steel as
// new to what it carries now, in order of time.
func (r *Record) Stages(s *Scope) []Stage {
	t := stager{r: r, s: s, b: s.Basis(), d: r.Demand(s), in: r.inputs(s)}
	first := Stage{Kind: StageAsNew, Name: "as new", Words: "the section as built, without loss"}
	if y := s.Program.BuiltYear; y != nil {
		first.At = time.Date(*y, time.January, 1, 0, 0, 0, 0, time.UTC)
	}
	t.add(first, corroded(t.in, t.b, nil))
	surveys := slices.Clone(r.Surveys)
	slices.SortFunc(surveys, func(a, b Survey) int { return a.Number - b.Number })
	for i := range surveys {
		t.survey(&surveys[i])
	}
	t.repair()
	slices.SortStableFunc(t.out, func(a, b Stage) int { return a.At.Compare(b.At) })
	return t.out
}

type stager struct {
	r   *Record
	s   *Scope
	b   basis.Basis
	d   Demand
	in  Inputs
	out []Stage
}

// add completes a stage by what it carries.
func (t *stager) add(x Stage, ev *Evaluation) {
	x.Demand, x.Capacity, x.Verdict, x.Governing, x.Outside = ev.Demand, finite(ev.Capacity), ev.Verdict.String(), ev.Governing, ev.Outside()
	if t.d.rates() {
		rated := t.r.rated(t.s, t.d, ev, x.Kind)
		x.Least, x.Vehicle = rated.Least, rated.Vehicle
	}
	t.out = append(t.out, x)
}

func (t *stager) survey(sv *Survey) {
	in := t.in
	in.Survey = t.r.SurveyFindings(sv)
	x := Stage{Kind: StageFound, Name: fmt.Sprintf("survey %d, as found", sv.Number), At: sv.CapturedAt, By: sv.TakenBy, ByID: sv.RecordedBy, Survey: sv.Number,
		Words: "the steel that the survey left; nothing of a repair"}
	if sv.Kind == outlook.Cleaned {
		x.Kind, x.Name = StageCleaned, fmt.Sprintf("survey %d, cleaned", sv.Number)
	}
	t.add(x, corroded(in, t.b, nil))
}

// surveyAt is the last survey that was taken by a moment, with its findings.
func (t *stager) surveyAt(at time.Time) (int, *survey.Survey) {
	var sv *Survey
	for i := range t.r.Surveys {
		if x := &t.r.Surveys[i]; !x.CapturedAt.After(at) && (sv == nil || x.Number > sv.Number) {
			sv = x
		}
	}
	if sv == nil {
		return 0, nil
	}
	return sv.Number, t.r.SurveyFindings(sv)
}

// repair adds the stages from the studs on.
func (t *stager) repair() {
	d := t.r.DesignInForce()
	if d == nil {
		return
	}
	found := t.r.LatestCollars(d.ID)
	if len(found) == 0 {
		return
	}
	x := Stage{Kind: StageStudded, Name: "studs welded", Revision: d.Revision, Specified: d.Fc, Words: "the corroded steel alone: studs carry nothing without a panel"}
	for _, c := range found {
		if c.CapturedAt.After(x.At) {
			x.At, x.ByID = c.CapturedAt, c.ByUser
		}
	}
	design := t.designed(d, found)
	with := func(at time.Time, fc units.Stress) *Evaluation { return t.with(design, at, fc) }
	without := func(x *Stage) *Evaluation {
		in := t.in
		x.Survey, in.Survey = t.surveyAt(x.At)
		x.Promised = finite(with(x.At, d.Fc).Capacity)
		return corroded(in, t.b, nil)
	}
	t.add(x, without(&x))
	pours := t.s.poursOf(t.r.End.ID)
	if len(pours) == 0 {
		t.closed(x, nil)
		return
	}
	last := pours[len(pours)-1]
	cast := Stage{Kind: StageCast, Name: "cast", At: last.StartedAt, ByID: last.ByUser, Revision: d.Revision, Specified: d.Fc,
		Words: "the corroded steel alone: no strength of the UHPC is proven yet"}
	if last.EndedAt != nil {
		cast.At = *last.EndedAt
	}
	ev := without(&cast)
	t.add(cast, ev)
	x = cast
	for _, p := range t.proven(pours) {
		x = Stage{Kind: StageProven, At: p.at, By: p.by, Revision: d.Revision, Specified: d.Fc, Proven: p.fc,
			Name:  fmt.Sprintf("strength of %s proven at %s days", p.fc.Format(units.System(t.s.Program.Units), -1), number(p.days)),
			Words: "the accepted studs in a panel of the strength that breaks have proven"}
		if p.fc >= d.Fc {
			x.Words = "the accepted studs in a panel of the strength specified, which breaks have proven"
		}
		x.Survey, _ = t.surveyAt(p.at)
		ev = with(p.at, min(d.Fc, p.fc))
		x.Promised = finite(with(p.at, d.Fc).Capacity)
		t.add(x, ev)
	}
	t.closed(x, ev)
}

// designed is the design of a revision; the studs that its collars reject are left
// out from here on.
func (t *stager) designed(d *Design, found map[string]Collar) *encasement.Design {
	rejected := map[string]bool{}
	for mark, c := range found {
		if !CollarCounts(c.Outcome) {
			rejected[mark] = true
		}
	}
	design := t.r.DesignOf(d)
	t.in.Rejected = nil
	for _, st := range design.Studs {
		if rejected[st.Mark] {
			t.in.Rejected = append(t.in.Rejected, st.Mark)
		}
	}
	return design
}

// with is the end with the panel at a strength, on the steel known at a moment.
func (t *stager) with(design *encasement.Design, at time.Time, fc units.Stress) *Evaluation {
	in := t.in
	_, in.Survey = t.surveyAt(at)
	part := *design
	part.Fc = fc
	in.Design = &part
	return repaired(in, t.b, steelOf(t.b, in.Geometry, in.Survey), nil)
}

// closed adds the closing of an end, which carries what it carried last.
func (t *stager) closed(last Stage, ev *Evaluation) {
	if ev == nil || len(t.r.State) != 1 || !t.r.State[0].Closed {
		return
	}
	x := last
	x.Kind, x.Name, x.At, x.By, x.ByID = StageClosed, "closed", time.Time{}, "", ""
	for _, c := range t.r.StepRecords {
		if c.Kind != "reopened" && c.CapturedAt.After(x.At) {
			x.At, x.By, x.ByID = c.CapturedAt, c.ByName, c.ByUser
		}
	}
	t.add(x, ev)
}

// milestone is a strength that breaks have proven for the whole of an end.
type milestone struct {
	at   time.Time
	days float64 // age of the set that raised it
	fc   units.Stress
	by   string
}

// proven lists the strengths that breaks have proven for an end as they moved. The
// strength of an end is that of its weakest batch of those with a sound set, and
// there is none before every pour that reached it has one.
func (t *stager) proven(pours []Pour) []milestone {
	of := map[string]Pour{}
	for _, p := range pours {
		of[p.ID] = p
	}
	var broken []Specimen
	for _, sp := range t.s.Specimens {
		if _, mine := of[sp.PourID]; mine && sp.BrokenAt != nil && !t.s.refused(sp.PourID, sp.BatchNo) {
			broken = append(broken, sp)
		}
	}
	slices.SortStableFunc(broken, func(a, b Specimen) int { return a.BrokenAt.Compare(*b.BrokenAt) })
	var out []milestone
	var have []Specimen
	for i, sp := range broken {
		have = append(have, sp)
		if i+1 < len(broken) && broken[i+1].BrokenAt.Equal(*sp.BrokenAt) {
			continue
		}
		fc, n := t.weakest(pours, have), len(out)
		if fc == 0 || n > 0 && out[n-1].fc == fc {
			continue
		}
		m := milestone{at: *sp.BrokenAt, days: sp.NominalDays, fc: fc, by: sp.TestedBy}
		if n > 0 && out[n-1].days == m.days {
			out[n-1] = m // sets of one age are one milestone, by the last of them
			continue
		}
		out = append(out, m)
	}
	return out
}

// weakest is the strength of the weakest batch, zero where a pour has none proven.
func (t *stager) weakest(pours []Pour, have []Specimen) units.Stress {
	var out units.Stress
	for _, p := range pours {
		best := map[string]units.Stress{} // by batch, at whatever age
		for _, g := range uhpc.ReachedBy(t.s.setsOfEnd(p, t.r.End.ID, have), t.b) {
			best[g.Batch] = max(best[g.Batch], g.Value)
		}
		if len(best) == 0 {
			return 0
		}
		for _, v := range best {
			if out == 0 || v < out {
				out = v
			}
		}
	}
	return out
}
