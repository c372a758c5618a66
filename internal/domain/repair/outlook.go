package repair

import (
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/demand"
	"endcast/internal/domain/encasement"
	"endcast/internal/domain/outlook"
	"endcast/internal/domain/resistance"
	"endcast/internal/domain/survey"
	"endcast/internal/domain/units"
)

// ChanceSamples is how often an edit that moves the capacity of an end samples it.
var ChanceSamples = basis.Define(basis.Definition{Key: "chance.samples", Group: "Uncertainty of capacity", Name: "samples of an end at every edit that moves it",
	Unit: basis.Number, Default: 500, Min: 100, Max: 100_000, Source: "the interval that is shown beside the chance says how sure it is; a page can ask for more", Tag: basis.Proposal})

// LatestOutlook is the stored outlook, nil for an end that was never computed.
func (r *Record) LatestOutlook() *Outlook {
	if len(r.Outlook) == 0 {
		return nil
	}
	return &r.Outlook[0]
}

// FallOf, OddsOf, RatingOf and ForeseenOf read the documents of a stored outlook;
// false where there is none.
func (o *Outlook) FallOf() (out outlook.Fall, ok bool)    { return out, document(o.Fall, &out) }
func (o *Outlook) OddsOf() (out outlook.Odds, ok bool)    { return out, document(o.Odds, &out) }
func (o *Outlook) RatingOf() (out RatingSummary, ok bool) { return out, document(o.Rating, &out) }
func (o *Outlook) ForeseenOf() (out encasement.Foreseen, ok bool) {
	return out, document(o.Foreseen, &out)
}

func document(raw []byte, into any) bool { return len(raw) > 0 && json.Unmarshal(raw, into) == nil }

// written is a document as it is stored; none for one with a number that has no
// form there, such as an infinite capacity: an edit is not refused for it.
func written(v any) ([]byte, error) {
	raw, err := json.Marshal(v)
	var no *json.UnsupportedValueError
	if errors.As(err, &no) {
		return nil, nil
	}
	return raw, err
}

// predict makes the outlook of an end. Each part whose inputs are those of the
// stored one is taken over as it stands.
func (r *Record) predict(s *Scope, ev Evaluations, in Inputs, base parts, d Demand) (Outlook, error) {
	out := Outlook{EndID: r.End.ID, ProgramID: r.End.ProgramID, MethodVersion: string(calc.MethodVersion)}
	var was Outlook
	if len(r.Outlook) == 1 && r.Outlook[0].MethodVersion == out.MethodVersion {
		was = r.Outlook[0]
	}
	for _, part := range []func(*Outlook, Outlook) error{
		func(o *Outlook, was Outlook) error { return r.chance(s, o, was, in, base) },
		func(o *Outlook, was Outlook) error { return r.decline(s, o, was, in, base) },
		func(o *Outlook, was Outlook) error { return r.share(s, o, was, in, base, d) },
		func(o *Outlook, was Outlook) error { return r.rate(s, o, was, ev, d) },
	} {
		if err := part(&out, was); err != nil {
			return out, fmt.Errorf("outlook: %w", err)
		}
	}
	out.InputDigest = calc.Digest([]string{out.ChanceDigest, out.FallDigest, out.ShareDigest, out.RatingDigest})
	return out, nil
}

// rulesOf is the procedure that the inputs follow.
func rulesOf(in Inputs, b basis.Basis) resistance.Procedure {
	if in.Procedure != nil {
		return *in.Procedure
	}
	return resistance.Default(b)
}

// changed are the changed settings of some groups.
func (s *Scope) changed(groups ...string) map[basis.Key]float64 {
	out := map[basis.Key]float64{}
	for k, v := range s.Basis().Changed() {
		if group, _, _ := strings.Cut(string(k), "."); slices.Contains(groups, group) {
			out[k] = v
		}
	}
	return out
}

func (r *Record) chance(s *Scope, out *Outlook, was Outlook, in Inputs, base parts) error {
	sv := r.LatestSurvey()
	if sv == nil {
		return nil
	}
	out.ChanceDigest = calc.Digest([]any{base.Fixed, base.Survey, survey.MethodOf(sv.Method), s.changed("chance")})
	if was.ChanceDigest == out.ChanceDigest {
		out.Chance, out.ChanceLow, out.ChanceHigh, out.Samples, out.Seed, out.Odds = was.Chance, was.ChanceLow, was.ChanceHigh, was.Samples, was.Seed, was.Odds
		return nil
	}
	seed, err := hex.DecodeString(out.ChanceDigest[:16])
	if err != nil {
		return err
	}
	for _, b := range seed {
		out.Seed = out.Seed<<8 | int64(b)
	}
	out.Seed &= 1<<62 - 1
	b := s.Basis()
	odds := outlook.Chance(b, rulesOf(in, b), in.Geometry, r.dated(sv).Survey, in.Demand, uint64(out.Seed), int(b.Value(ChanceSamples)))
	out.Chance, out.ChanceLow, out.ChanceHigh, out.Samples = &odds.Chance, &odds.Low, &odds.High, odds.Samples
	out.Odds, err = written(odds)
	return err
}

// OddsAt samples an end as its stored outlook does, with another number of samples.
func (r *Record) OddsAt(s *Scope, samples int) (outlook.Odds, bool) {
	sv := r.LatestSurvey()
	if sv == nil {
		return outlook.Odds{}, false
	}
	in, b := r.inputs(s), s.Basis()
	seed := uint64(0)
	if o := r.LatestOutlook(); o != nil {
		seed = uint64(o.Seed)
	}
	return outlook.Chance(b, rulesOf(in, b), in.Geometry, r.dated(sv).Survey, in.Demand, seed, samples), true
}

// dated is a survey as package outlook reads it.
func (r *Record) dated(sv *Survey) outlook.Dated {
	f := r.SurveyFindings(sv)
	f.Method = survey.MethodOf(sv.Method)
	return outlook.Dated{Number: sv.Number, On: sv.CapturedAt, Kind: sv.Kind, Method: f.Method, Survey: f}
}

func (r *Record) decline(s *Scope, out *Outlook, was Outlook, in Inputs, base parts) error {
	if len(r.Surveys) == 0 {
		return nil
	}
	// What is digested of a survey: the findings of the latest are in base already.
	type content struct {
		Number   int
		On       time.Time
		Kind     string
		Method   survey.Method
		Findings string
	}
	var surveys []outlook.Dated
	var told []content
	latest := r.LatestSurvey()
	for i := range r.Surveys {
		sv := &r.Surveys[i]
		d := r.dated(sv)
		c := content{d.Number, d.On, d.Kind, d.Method, base.Survey}
		if sv != latest {
			c.Findings = calc.Digest(d.Survey)
		}
		surveys, told = append(surveys, d), append(told, c)
	}
	slices.SortFunc(surveys, func(a, b outlook.Dated) int { return a.Number - b.Number })
	slices.SortFunc(told, func(a, b content) int { return a.Number - b.Number })
	var assumed *outlook.Rate
	if a := s.Assumed(); a != nil {
		assumed = &outlook.Rate{Low: a.RateLow, Central: a.Rate, High: a.RateHigh, Origin: a.Source}
	}
	out.FallDigest = calc.Digest([]any{base.Fixed, told, s.Program.BuiltYear, assumed, s.changed("decline", "chance")})
	if was.FallDigest == out.FallDigest {
		out.FallVerdict, out.FallYear, out.FallEarly, out.FallLate, out.Fall = was.FallVerdict, was.FallYear, was.FallEarly, was.FallLate, was.Fall
		return nil
	}
	b := s.Basis()
	f := outlook.Decline(b, rulesOf(in, b), in.Geometry, surveys, in.Demand, s.Program.BuiltYear, assumed)
	out.FallVerdict = string(f.Verdict)
	year := func(y float64) *float64 {
		if !(y > 0) {
			return nil
		}
		return &y
	}
	out.FallYear, out.FallEarly, out.FallLate = year(f.Year), year(f.Early), year(f.Late)
	var err error
	out.Fall, err = written(f)
	return err
}

func (r *Record) share(s *Scope, out *Outlook, was Outlook, in Inputs, base parts, d Demand) error {
	if in.Design == nil {
		return nil
	}
	load := encasement.Loading{Total: in.Demand}
	if d.rates() {
		load.Before = d.Loads.DC1.Force + d.Loads.DC2.Force + d.Loads.DW.Force
		load.Service = load.Before
		if ll, ok := d.Loads.Of(demand.HL93, demand.LRFR); ok {
			load.Service += ll.Force
		}
	}
	out.ShareDigest = calc.Digest([]any{base, in.Rejected, load})
	if was.ShareDigest == out.ShareDigest {
		out.ShareLow, out.ShareHigh, out.ReductionLow, out.ReductionHigh, out.Foreseen = was.ShareLow, was.ShareHigh, was.ReductionLow, was.ReductionHigh, was.Foreseen
		return nil
	}
	b := s.Basis()
	var accepted func(string) bool
	if len(in.Rejected) > 0 {
		accepted = func(mark string) bool { return !slices.Contains(in.Rejected, mark) }
	}
	f, err := encasement.Foresee(b, in.Geometry, steelOf(b, in.Geometry, in.Survey), *in.Design, load, accepted)
	if errors.Is(err, encasement.ErrNoShare) {
		return nil // nothing can be foreseen; the checks say what is wrong with the design
	}
	if err != nil {
		return err
	}
	out.ShareLow, out.ShareHigh = &f.Service.ShareLow, &f.Service.ShareHigh
	out.ReductionLow, out.ReductionHigh = &f.ReductionLow, &f.ReductionHigh
	out.Foreseen, err = written(f)
	return err
}

func (r *Record) rate(s *Scope, out *Outlook, was Outlook, ev Evaluations, d Demand) error {
	in, why := r.statics(s, nil, nil)
	type resists struct {
		Nominal units.Force
		Phi     float64
		Outside bool
		Governs string
	}
	var held []resists
	for _, name := range [...]string{AsNew, Corroded, Repaired, AsWelded} {
		x := resists{}
		if e := ev.of(name); e != nil {
			x = resists{e.Nominal, e.Phi, e.Outside(), e.Governing}
		}
		held = append(held, x)
	}
	// The content of the rows, not who set them when: a confirmation moves no factor.
	var how EndDemand
	if x := r.DemandOf(); x != nil {
		how = EndDemand{How: x.How, DC1: x.DC1, DC2: x.DC2, DW: x.DW, Live: x.Live, Condition: x.Condition, LossMeasured: x.LossMeasured,
			WearingMeasured: x.WearingMeasured, Source: x.Source}
	}
	var vehicles []Truck // those that ship are of the method's version
	if d.rates() {
		vehicles = s.Trucks
	}
	out.RatingDigest = calc.Digest([]any{how, d.Problem, in.Span, in.End, in.Parts, why, r.traffic(s), vehicles, s.changed("demand", "rating"), held})
	if was.RatingDigest == out.RatingDigest {
		out.RatingNew, out.RatingCorroded, out.RatingRepaired, out.RatingWelded, out.Rating = was.RatingNew, was.RatingCorroded, was.RatingRepaired, was.RatingWelded, was.Rating
		return nil
	}
	if d.rates() {
		d = r.Demand(s)
	}
	sum := r.ratings(s, d, ev)
	out.RatingNew, out.RatingCorroded = sum.least(AsNew), sum.least(Corroded)
	out.RatingRepaired, out.RatingWelded = sum.least(Repaired), sum.least(AsWelded)
	var err error
	out.Rating, err = written(sum)
	return err
}
