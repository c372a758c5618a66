package repair

import (
	"cmp"
	"math"
	"slices"
	"strings"
	"time"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/encasement"
	"endcast/internal/domain/monitor"
	"endcast/internal/domain/sequence"
	"endcast/internal/domain/units"
)

// StrainPlan says how the columns of a recording are searched for passages.
type StrainPlan struct {
	Sensors    []Sensor            // of the columns, in the order of the recording
	Converters []monitor.Converter // likewise
	Channels   []monitor.Channel
	Sets       []monitor.Set // none without a gauge on the web
	// Digest names sensors, parameters and samples that passages follow from.
	Digest string
}

// Planned makes the plan of a recording. Gauges of one kind at one place on both faces
// are one channel, the mean of both: it is free of bending out of the plane. Of several
// places of a kind, the one nearest to the bearing line counts; a control is the one
// farthest from it.
func (r *Record) Planned(b basis.Basis, channels []RecordingChannel, samplesDigest string) (StrainPlan, error) {
	p := StrainPlan{}
	type spot struct {
		kind     string
		from, up units.Length
		stud     string
	}
	at := map[spot]int{}
	var spots []spot
	var held []any
	for i, k := range channels {
		x, _ := r.SensorOf(k.Sensor)
		conv, err := x.Monitor().Converter(b)
		if err != nil {
			return p, err
		}
		p.Sensors, p.Converters = append(p.Sensors, x), append(p.Converters, conv)
		held = append(held, x.measured())
		at1 := spot{x.Kind, x.FromBearing, x.AboveFlange, x.Stud}
		if n, ok := at[at1]; ok && p.Channels[n].Role != monitor.RoleNone && p.Channels[n].Sign == float64(x.Sign) {
			p.Channels[n].Columns = append(p.Channels[n].Columns, i)
			continue
		}
		at[at1] = len(p.Channels)
		spots = append(spots, at1)
		p.Channels = append(p.Channels, monitor.Channel{Name: x.Name, Role: monitor.Kind(x.Kind).Role(), Sign: float64(x.Sign), Columns: []int{i}})
	}
	pick := func(role monitor.Role) int {
		best := -1
		for i, c := range p.Channels {
			if c.Role != role {
				continue
			}
			nearer := best >= 0 && math.Abs(float64(spots[i].from)) < math.Abs(float64(spots[best].from))
			if best < 0 || nearer != (role == monitor.RoleControl) && spots[i].from != spots[best].from {
				best = i
			}
		}
		return best
	}
	set := monitor.Set{Web: pick(monitor.RoleWeb), Control: pick(monitor.RoleControl), Panel: pick(monitor.RolePanel), Stud: pick(monitor.RoleStud), Slip: pick(monitor.RoleSlip),
		Temperature: pick(monitor.RoleTemperature)}
	if set.Web >= 0 {
		p.Sets = []monitor.Set{set}
	}
	p.Digest = digestOf([]any{monitor.ParamsOf(b), held, samplesDigest})
	return p, nil
}

// measured is what of a sensor its measurements follow from.
func (x Sensor) measured() any {
	x.Note, x.Place, x.ByUser, x.ByName, x.ByRole, x.Typed, x.RemovedWhy = "", "", "", "", "", nil, ""
	x.CapturedAt, x.ArrivedAt = time.Time{}, time.Time{}
	return x
}

// CountedRecordings are those that were not withdrawn, in order of time.
func (r *Record) CountedRecordings() []Recording {
	var out []Recording
	for _, x := range r.Recordings {
		if x.WithdrawnAt == nil {
			out = append(out, x)
		}
	}
	slices.SortFunc(out, func(a, b Recording) int { return cmp.Or(a.FromAt.Compare(b.FromAt), strings.Compare(a.ID, b.ID)) })
	return out
}

// CastAt is when the panel of the end was cast, zero where it was not.
func (r *Record) CastAt(s *Scope) time.Time {
	var out time.Time
	for _, p := range s.poursOf(r.End.ID) {
		if p.EndedAt != nil {
			out = *p.EndedAt
		} else {
			out = p.StartedAt
		}
	}
	return out
}

// Stiffness is what strains are turned into forces with, and where it comes from: as
// the engineer set it, else of the design in force.
func (r *Record) Stiffness(s *Scope) (monitor.Stiffness, string) {
	b := s.Basis()
	out := monitor.Stiffness{WebError: b.Value(basis.EngagedWebError), PanelError: b.Value(basis.EngagedPanelError)}
	var from []string
	if len(r.StrainSetup) == 1 {
		x := r.StrainSetup[0]
		out.WebError, out.PanelError = x.WebError, x.PanelError
		if x.WebEA != nil {
			out.Web = *x.WebEA
		}
		if x.PanelEA != nil {
			out.Panel = *x.PanelEA
		}
		from = append(from, "set by "+x.SetByName+": "+x.Source)
	}
	if d := r.DesignInForce(); d != nil && (out.Web == 0 || out.Panel == 0) {
		if out.Panel == 0 {
			e := float64(encasement.Modulus(nil, b, d.Fc))
			out.Panel = units.Force(e * float64(d.PanelWidth) * float64(d.PanelLeft+d.PanelRight))
		}
		if out.Web == 0 {
			g := r.Geometry(s)
			width := float64(g.Bearing.Length) + float64(d.PanelZ)
			out.Web = units.Force(b.Value(basis.SteelModulus) * width * float64(g.Section.WebThickness))
		}
		from = append(from, "from the design in force: the panel's modulus and section; the web as new over the bearing length, which makes the share of the panel look smaller where the web is corroded")
	}
	if len(from) == 0 {
		from = append(from, "not known: there is no design, and nobody set it")
	}
	return out, strings.Join(from, "; ")
}

// Foreseen is what the design in force leads one to expect at the gauge on the web;
// nil where nothing can be foreseen.
func (r *Record) StrainForeseen() *monitor.Foreseen {
	o := r.LatestOutlook()
	if o == nil {
		return nil
	}
	f, ok := o.ForeseenOf()
	if !ok {
		return nil
	}
	out := &monitor.Foreseen{ShareLow: f.Service.ShareLow, ShareHigh: f.Service.ShareHigh, Share: (f.Service.ShareLow + f.Service.ShareHigh) / 2,
		ReductionLow: f.ReductionLow, ReductionHigh: f.ReductionHigh}
	for _, x := range r.Sensors {
		if monitor.Kind(x.Kind) == monitor.WebGauge && x.RemovedAt == nil && x.AboveFlange > 0 && len(f.Service.Rows) > 0 {
			if low, high := f.ReductionAt(x.AboveFlange); high > 0 {
				out.ReductionLow, out.ReductionHigh = low, high
			}
			break
		}
	}
	out.Reduction = (out.ReductionLow + out.ReductionHigh) / 2
	return out
}

// StrainDigest names everything that a verdict on the strain records stands on:
// recordings that count, sensors, settings, the casting and what was foreseen.
func (r *Record) StrainDigest(s *Scope) string {
	var rec, sens []any
	for _, x := range r.CountedRecordings() {
		rec = append(rec, []any{x.ID, x.SamplesDigest, x.Rate, x.Channels})
	}
	for _, x := range r.Sensors {
		sens = append(sens, x.measured())
	}
	var how any
	if len(r.StrainSetup) == 1 {
		x := r.StrainSetup[0]
		how = []any{x.WebEA, x.PanelEA, x.WebError, x.PanelError, x.DesignSlip}
	}
	stiff, _ := r.Stiffness(s)
	return calc.Digest([]any{monitor.MethodVersion, rec, sens, how, stiff, r.StrainForeseen(), r.CastAt(s), s.changed("monitor", "screen", "engaged", "gauge")})
}

// LatestVerdict is the last verdict that was confirmed, nil without one.
func (r *Record) LatestVerdict() *StrainVerdict {
	var out *StrainVerdict
	for i := range r.Verdicts {
		if x := &r.Verdicts[i]; out == nil || x.At.After(out.At) {
			out = x
		}
	}
	return out
}

// verdictFact is what the sequence reads of the strain records: the verdict that was
// confirmed and still stands, and why there is none. Where nothing was recorded at the
// end, the finding that the engineer signed for counts.
func (r *Record) verdictFact(s *Scope, f *sequence.Facts) {
	if v := r.LatestVerdict(); v != nil {
		if v.Digest != r.StrainDigest(s) {
			f.Confirmed, f.ConfirmedWhy = sequence.Undecided, "the verdict is out of date: recordings, sensors or settings moved since "+v.ByName+" confirmed it"
		} else {
			f.Confirmed, f.ConfirmedWhy = verdictOf(v.Result), v.Words
		}
	} else if len(r.CountedRecordings()) > 0 {
		f.ConfirmedWhy = "strain was recorded and no verdict is confirmed yet"
	}
	if f.Confirmed != sequence.NoVerdict || len(r.CountedRecordings()) > 0 {
		f.Verdict, f.VerdictWhy = f.Confirmed, f.ConfirmedWhy
		return
	}
	if x := r.LatestInspection("load_path"); x != nil {
		f.Verdict = sequence.Verdict(x.Outcome)
	}
}

func verdictOf(result string) sequence.Verdict {
	switch result {
	case VerdictEngaged:
		return sequence.Engaged
	case VerdictNotEngaged:
		return sequence.NotYet
	}
	return sequence.Undecided
}

// Found is what the search for passages gave of one recording.
type Found struct {
	Passages  []monitor.Passage
	Levels    []monitor.Level
	Stretches []monitor.Stretch
	Taken     monitor.Taken
	Sets      []monitor.Set
}

// StrainEvidence gathers what a verdict stands on. found holds the passages of each
// recording that counts, by its identifier.
func (r *Record) StrainEvidence(s *Scope, found map[string]Found, zone *time.Location, seed uint64) monitor.Evidence {
	b := s.Basis()
	ev := monitor.Evidence{Foreseen: r.StrainForeseen(), Seed: seed}
	ev.Stiffness, _ = r.Stiffness(s)
	if len(r.StrainSetup) == 1 {
		ev.DesignSlip = r.StrainSetup[0].DesignSlip
	}
	cast := r.CastAt(s)
	if !cast.IsZero() {
		ev.Cast = cast.UnixNano()
		_, off := cast.In(zone).Zone()
		ev.ZoneOffset = int64(off) * int64(time.Second)
	}
	days := map[int64]*dayLevels{}
	for _, x := range r.CountedRecordings() {
		f, ok := found[x.ID]
		if !ok || len(f.Sets) == 0 {
			continue
		}
		set := f.Sets[0]
		ev.Control, ev.Panel, ev.Stud, ev.Slip = ev.Control || set.Control >= 0, ev.Panel || set.Panel >= 0, ev.Stud || set.Stud >= 0, ev.Slip || set.Slip >= 0
		middle := x.FromAt.Add(x.ToAt.Sub(x.FromAt) / 2).UnixNano()
		ev.Hours[monitor.StateAt(b, ev.Cast, middle)] += x.ToAt.Sub(x.FromAt).Hours() * (1 - x.Lost)
		for _, p := range f.Passages {
			if seen, ok := monitor.SeenOf(p, monitor.StateAt(b, ev.Cast, p.Web.At)); ok {
				ev.Seen = append(ev.Seen, seen)
			}
		}
		for _, l := range f.Levels {
			if ev.Cast == 0 || l.Hour < ev.Cast {
				continue
			}
			local := l.Hour + ev.ZoneOffset
			day := local - local%int64(24*time.Hour) - ev.ZoneOffset
			if days[day] == nil {
				days[day] = &dayLevels{}
			}
			switch l.Channel {
			case set.Slip:
				days[day].slip = append(days[day].slip, l.Value)
			case set.Temperature:
				days[day].warm = append(days[day].warm, l.Value)
			}
		}
	}
	slices.SortFunc(ev.Seen, func(a, b monitor.Seen) int { return cmp.Compare(a.At, b.At) })
	for day, l := range days {
		if len(l.slip) == 0 {
			continue
		}
		d := monitor.DayLevel{Day: day, Slip: monitor.Median(l.slip), Temperature: math.NaN()}
		if len(l.warm) > 0 {
			d.Temperature = monitor.Median(l.warm)
		}
		ev.Levels = append(ev.Levels, d)
	}
	slices.SortFunc(ev.Levels, func(a, b monitor.DayLevel) int { return cmp.Compare(a.Day, b.Day) })
	return ev
}

type dayLevels struct{ slip, warm []float64 }
