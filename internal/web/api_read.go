package web

import (
	"encoding/hex"
	"encoding/json"
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"time"

	"github.com/go-chi/chi/v5"
	"github.com/google/uuid"

	"endcast/internal/db"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/sequence"
)

// askedMe is who asks.
type askedMe struct {
	Name    string    `json:"name"`
	Token   string    `json:"token"`
	Program string    `json:"program"` // identifier
	Role    string    `json:"role"`
	Scopes  []string  `json:"scopes"`
	Until   time.Time `json:"until"`
}

func (s *Server) askMe(r *http.Request) (askedMe, error) {
	v := visitOf(r.Context())
	return askedMe{Name: v.user.Name, Token: v.token.Name, Program: v.token.ProgramID.String(), Role: string(v.person.Roles[v.token.ProgramID]), Scopes: v.token.Scopes, Until: v.token.ExpiresAt.UTC()}, nil
}

func (s *Server) askPrograms(r *http.Request) (list[repair.Program], error) {
	v := visitOf(r.Context())
	ids := []string{}
	if _, ok := v.person.Roles[v.token.ProgramID]; ok {
		ids = append(ids, v.token.ProgramID.String())
	}
	ps, err := s.store.Programs(r.Context(), ids)
	return pageOf(ps, askMostRows, func(p repair.Program) string { return p.ID }), err
}

func (s *Server) askProgram(r *http.Request) (repair.Program, error) {
	return s.store.Program(r.Context(), s.program(r).ID.String())
}

// askedBridge is what the ends of a program refer to.
type askedBridge struct {
	Supports []repair.Support `json:"supports"`
	Spans    []repair.Span    `json:"spans"`
	Sections []repair.Section `json:"sections"`
	Steps    []repair.StepRow `json:"steps"`
}

func (s *Server) askBridge(r *http.Request) (askedBridge, error) {
	f, err := s.store.Frame(r.Context(), s.program(r).ID.String())
	if err != nil {
		return askedBridge{}, err
	}
	return askedBridge{f.Supports, f.Spans, f.Sections, f.Steps}, nil
}

func (s *Server) askEnds(r *http.Request) (list[db.EndStanding], error) {
	size, after, err := pageAsked(r)
	if err != nil {
		return list[db.EndStanding]{}, err
	}
	f := listFilter(r.URL.Query())
	f.Span, _ = strconv.Atoi(r.URL.Query().Get("span"))
	key, id, _ := strings.Cut(after, "\n")
	if _, err := uuid.Parse(id); err != nil && after != "" {
		var bad fault.Invalid
		bad.Add("after", r.URL.Query().Get("after"), "is no cursor of this list")
		return list[db.EndStanding]{}, bad.Err()
	}
	rows, err := s.store.EndsAfter(r.Context(), s.program(r).ID.String(), f, key, id, size+1)
	return pageOf(rows, size, func(e db.EndStanding) string { return e.SortKey + "\n" + e.EndID }), err
}

// askedEnd is one end.
type askedEnd struct {
	End     repair.End          `json:"end"`
	Version int64               `json:"version"` // what an edit of it must name
	State   *repair.State       `json:"state"`
	Results []askedResult       `json:"results"`
	Step    *askedStep          `json:"step"`     // the one that still asks something; null when none is left
	Blocks  []askedBlock        `json:"blocking"` // what stops it, the most pressing first
	ToDo    []askedBlock        `json:"to_do"`    // what doing it will bring
	Steps   []askedStep         `json:"steps"`
	Records []repair.StepRecord `json:"step_records"`
}

type askedResult struct {
	Subject       string          `json:"subject"` // as_new, corroded, repaired or as_welded
	Capacity      float64         `json:"capacity_n"`
	Demand        float64         `json:"demand_n"`
	Verdict       string          `json:"verdict"`
	Governing     string          `json:"governing"`
	MethodVersion string          `json:"method_version"`
	InputDigest   string          `json:"input_digest"`
	Checks        json.RawMessage `json:"checks"`
}

type askedStep struct {
	ID    string `json:"id"`
	Code  string `json:"code"`
	Name  string `json:"name"`
	Hold  bool   `json:"hold"`
	State string `json:"state"`
}

type askedBlock struct {
	Track  string     `json:"track"`
	Reason string     `json:"reason"`
	Words  string     `json:"words"`
	Detail string     `json:"detail"`
	Actor  string     `json:"actor"` // the role that must act
	Since  *time.Time `json:"since"`
}

func askedBlocks(in []sequence.Block) []askedBlock {
	out := []askedBlock{}
	for _, b := range in {
		x := askedBlock{Track: string(b.Track), Reason: string(b.Reason), Words: b.Reason.Words(), Detail: b.Detail, Actor: string(b.Actor)}
		if !b.Since.IsZero() {
			at := b.Since
			x.Since = &at
		}
		out = append(out, x)
	}
	return out
}

func (s *Server) askedRecord(r *http.Request) (*repair.Scope, *repair.Record, error) {
	sc, err := s.store.End(r.Context(), s.program(r).ID.String(), chi.URLParam(r, "end"))
	if err != nil {
		return nil, nil, err
	}
	return sc, sc.Ends[0], nil
}

func (s *Server) askEnd(r *http.Request) (askedEnd, error) {
	sc, rec, err := s.askedRecord(r)
	if err != nil {
		return askedEnd{}, err
	}
	facts, err := rec.Facts(sc)
	if err != nil {
		return askedEnd{}, err
	}
	status := sequence.Evaluate(sc.Sequence(), facts)
	out := askedEnd{End: rec.End, Version: rec.End.Version, Results: []askedResult{}, Steps: []askedStep{}, Records: rec.StepRecords, Blocks: askedBlocks(status.Blocks), ToDo: askedBlocks(status.ToDo)}
	if len(rec.State) > 0 {
		out.State = &rec.State[0]
	}
	for _, x := range rec.Results {
		out.Results = append(out.Results, askedResult{x.Subject, float64(x.Capacity), float64(x.Demand), x.Verdict, x.Governing, x.MethodVersion, x.InputDigest, x.Checks})
	}
	for _, st := range status.All {
		out.Steps = append(out.Steps, askedStep{st.Step.ID, st.Step.Code, st.Step.Name, st.Step.Hold, string(st.State)})
		if status.Current != nil && st.Step.ID == status.Current.ID {
			at := out.Steps[len(out.Steps)-1]
			out.Step = &at
		}
	}
	return out, nil
}

// askedSurvey is one survey with what was found. A reading that was corrected stays, and
// names what took its place.
type askedSurvey struct {
	repair.Survey
	Readings []repair.Reading `json:"readings"`
	Holes    []repair.Hole    `json:"holes"`
}

func (s *Server) askSurveys(r *http.Request) (list[askedSurvey], error) {
	_, rec, err := s.askedRecord(r)
	if err != nil {
		return list[askedSurvey]{}, err
	}
	out := make([]askedSurvey, len(rec.Surveys))
	at := map[string]*askedSurvey{}
	for i, x := range rec.Surveys {
		out[i] = askedSurvey{x, []repair.Reading{}, []repair.Hole{}}
		at[x.ID] = &out[i]
	}
	for _, x := range rec.Readings {
		at[x.SurveyID].Readings = append(at[x.SurveyID].Readings, x)
	}
	for _, x := range rec.Holes {
		at[x.SurveyID].Holes = append(at[x.SurveyID].Holes, x)
	}
	return list[askedSurvey]{Items: out}, nil
}

// askedDesign is one revision. Digest is what a review or a confirmation of it must name.
type askedDesign struct {
	repair.Design
	Digest  string          `json:"digest"`
	Studs   []repair.Stud   `json:"studs"`
	Reviews []repair.Review `json:"reviews"`
}

func (s *Server) askDesigns(r *http.Request) (list[askedDesign], error) {
	sc, rec, err := s.askedRecord(r)
	if err != nil {
		return list[askedDesign]{}, err
	}
	out := make([]askedDesign, len(rec.Designs))
	at := map[string]*askedDesign{}
	for i := range rec.Designs {
		d := rec.Designs[i]
		out[i] = askedDesign{d, rec.DesignDigest(sc, &d), []repair.Stud{}, []repair.Review{}}
		at[d.ID] = &out[i]
	}
	for _, x := range rec.Studs {
		at[x.DesignID].Studs = append(at[x.DesignID].Studs, x)
	}
	for _, x := range rec.Reviews {
		at[x.DesignID].Reviews = append(at[x.DesignID].Reviews, x)
	}
	return list[askedDesign]{Items: out}, nil
}

// askedField is what was recorded at an end on site.
type askedField struct {
	Cleanings       []repair.Cleaning       `json:"cleanings"`
	Collars         []repair.Collar         `json:"collars"`
	Inspections     []repair.Inspection     `json:"inspections"`
	TestStuds       []repair.TestStud       `json:"test_studs"`
	FormChecks      []repair.FormCheck      `json:"form_checks"`
	DeckCores       []repair.DeckCore       `json:"deck_cores"`
	Photos          []repair.Photo          `json:"photos"`
	Gates           []repair.GateDecision   `json:"gate_decisions"`
	Waivers         []repair.Waiver         `json:"waivers"`
	Nonconformances []repair.Nonconformance `json:"nonconformances"`
}

func (s *Server) askField(r *http.Request) (askedField, error) {
	_, x, err := s.askedRecord(r)
	if err != nil {
		return askedField{}, err
	}
	return askedField{x.Cleanings, x.Collars, x.Inspections, x.TestStuds, x.FormChecks, x.DeckCores, x.Photos, x.Gates, x.Waivers, x.Nonconformances}, nil
}

// askedPour is one casting with what belongs to it.
type askedPour struct {
	repair.Pour
	Batches   []repair.Batch    `json:"batches"`
	BatchEnds []repair.BatchEnd `json:"batch_ends"`
	Ends      []askedPourEnd    `json:"ends"`
	Specimens []repair.Specimen `json:"specimens"`
}

type askedPourEnd struct {
	repair.PourEnd
	Name string `json:"name"`
}

func askedPours(c db.CastingList) []askedPour {
	out := make([]askedPour, len(c.Pours))
	at := map[string]*askedPour{}
	ofBatch := map[string]*askedPour{}
	for i, p := range c.Pours {
		out[i] = askedPour{p, []repair.Batch{}, []repair.BatchEnd{}, []askedPourEnd{}, []repair.Specimen{}}
		at[p.ID] = &out[i]
	}
	for _, x := range c.Batches {
		at[x.PourID].Batches = append(at[x.PourID].Batches, x)
		ofBatch[x.ID] = at[x.PourID]
	}
	for _, x := range c.BatchEnds {
		ofBatch[x.BatchID].BatchEnds = append(ofBatch[x.BatchID].BatchEnds, x)
	}
	for _, x := range c.PourEnds {
		at[x.PourID].Ends = append(at[x.PourID].Ends, askedPourEnd{x, c.EndNames[x.EndID]})
	}
	for _, x := range c.Specimens {
		at[x.PourID].Specimens = append(at[x.PourID].Specimens, x)
	}
	return out
}

func (s *Server) askPours(r *http.Request) (list[askedPour], error) {
	size, after, err := numberAsked(r)
	if err != nil {
		return list[askedPour]{}, err
	}
	c, err := s.store.CastingsAfter(r.Context(), s.program(r).ID.String(), after, size+1)
	return pageOf(askedPours(c), size, func(p askedPour) string { return strconv.Itoa(p.Number) }), err
}

func (s *Server) askPour(r *http.Request) (askedPour, error) {
	n, err := strconv.Atoi(chi.URLParam(r, "number"))
	if err != nil || n < 1 || n > 1<<30 {
		return askedPour{}, fault.New(fault.NotFound, "there is no such pour in this program")
	}
	c, err := s.store.Casting(r.Context(), s.program(r).ID.String(), n)
	if err != nil {
		return askedPour{}, err
	}
	return askedPours(c)[0], nil
}

func (s *Server) askSpecimens(r *http.Request) (list[repair.Specimen], error) {
	size, after, err := pageAsked(r)
	if err != nil {
		return list[repair.Specimen]{}, err
	}
	rows, err := s.store.SpecimensAfter(r.Context(), s.program(r).ID.String(), after, size+1)
	return pageOf(rows, size, func(x repair.Specimen) string { return x.Mark }), err
}

func (s *Server) askNonconformances(r *http.Request) (list[db.NonconformanceStanding], error) {
	size, after, err := numberAsked(r)
	if err != nil {
		return list[db.NonconformanceStanding]{}, err
	}
	q := r.URL.Query()
	rows, err := s.store.NonconformancesAfter(r.Context(), s.program(r).ID.String(),
		db.NonconformanceFilter{End: q.Get("end"), Open: q.Get("show") == "open", Closed: q.Get("show") == "closed"}, after, size+1)
	return pageOf(rows, size, func(x db.NonconformanceStanding) string { return strconv.Itoa(x.Number) }), err
}

func (s *Server) askWindows(r *http.Request) (list[repair.Window], error) {
	f, err := s.store.Frame(r.Context(), s.program(r).ID.String())
	if err != nil {
		return list[repair.Window]{}, err
	}
	return list[repair.Window]{Items: append([]repair.Window{}, f.Windows...)}, nil
}

// askedEntry is one entry of the journal. Hash is over it and the hash of the one before.
type askedEntry struct {
	Number   int64         `json:"number"`
	At       time.Time     `json:"at"`
	Captured time.Time     `json:"captured"`
	Actor    string        `json:"actor"`
	Role     string        `json:"role"`
	Through  string        `json:"through"` // name of the token by which a program acted; empty for the person
	Kind     string        `json:"kind"`
	End      string        `json:"end"`
	Ends     int           `json:"ends"`
	Reason   string        `json:"reason"`
	Hash     string        `json:"hash"`
	Rows     []askedChange `json:"rows"`
}

type askedChange struct {
	Table string         `json:"table"`
	Old   map[string]any `json:"old"`
	New   map[string]any `json:"new"`
}

func (s *Server) askJournal(r *http.Request) (list[askedEntry], error) {
	size, after, err := numberAsked(r)
	if err != nil {
		return list[askedEntry]{}, err
	}
	program, end := s.program(r).ID.String(), ""
	if name := r.URL.Query().Get("end"); name != "" {
		ids, err := s.store.EndIDs(r.Context(), program, []string{name})
		if err != nil {
			return list[askedEntry]{}, err
		}
		if end = ids[name]; end == "" {
			var bad fault.Invalid
			bad.Add("end", name, "there is no such girder end in this program")
			return list[askedEntry]{}, bad.Err()
		}
	}
	lines, err := s.store.History(r.Context(), program, end, after, size+1)
	if err != nil {
		return list[askedEntry]{}, err
	}
	out := make([]askedEntry, len(lines))
	for i, l := range lines {
		out[i] = askedEntry{Number: l.Seq, At: l.At.UTC(), Captured: l.Captured.UTC(), Actor: l.Actor, Role: l.Role, Through: l.Through, Kind: l.Kind, End: l.End, Ends: l.Ends, Reason: l.Reason, Hash: hex.EncodeToString(l.Hash), Rows: []askedChange{}}
		for _, c := range l.Changes {
			out[i].Rows = append(out[i].Rows, askedChange{c.Table, c.Old, c.New})
		}
	}
	return pageOf(out, size, func(e askedEntry) string { return fmt.Sprint(e.Number) }), nil
}
