package db

import (
	"bytes"
	"context"
	"encoding/gob"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/logfile"
	"endcast/internal/domain/monitor"
	"endcast/internal/domain/repair"
)

// toldEvery is after how many rows the page of a reading can tell more.
const toldEvery = 50_000

// strainRanges are values that no gauge can give; a column outside them is read with
// the wrong unit or from the wrong place. They guard, no practice reaches them.
var strainRanges = map[logfile.Quantity][2]float64{logfile.Strain: {-50_000, 50_000}, logfile.Displacement: {-1000, 1000}, logfile.Stress: {-50, 500}}

// StrainRules are those by which a file of strain is read.
func StrainRules(b basis.Basis, m logfile.Map, allow []logfile.Kind) (logfile.Rules, error) {
	r := logfile.Rules{Allow: allow, Ranges: map[logfile.Quantity][2]float64{logfile.Temperature: {b.Value(basis.LoggerColdest), b.Value(basis.LoggerHottest)}}}
	for q, lim := range strainRanges {
		r.Ranges[q] = lim
	}
	if name := m.Clock.Zone; name != "" {
		z, ok := logfile.Zone(name)
		if !ok {
			var err error
			if z, err = time.LoadLocation(name); err != nil || strings.EqualFold(name, "local") {
				bad := &fault.Invalid{}
				bad.Add("zone", name, "no time zone is called so")
				return r, bad
			}
		}
		r.Zone = z
	}
	return r, nil
}

// importStrain reads a draft to its end and puts it on record, or leaves nothing of it.
func (st *Store) importStrain(ctx context.Context, j StrainJob) (err error) {
	var ask StrainAsk
	if err := json.Unmarshal(j.Ask, &ask); err != nil || j.DraftID == nil {
		return fault.New(fault.Malformed, "what was asked cannot be read; send the file again")
	}
	sc, err := loadScope(ctx, st.Pool, j.ProgramID, []string{j.EndID})
	if err != nil {
		return err
	}
	rec, b := sc.Ends[0], sc.Basis()
	if _, on := rec.RecordingOf(j.RecordingID); on {
		return nil // the server ended after it was put on record
	}
	if err := ask.Change.Check(rec, st.clock(Entry{}, sc.Program)); err != nil {
		return err
	}
	d, err := st.LoggerDraft(ctx, j.ProgramID, j.UserID, *j.DraftID)
	if err != nil {
		return err
	}
	src := &draftBytes{ctx: ctx, st: st, id: d.ID, size: d.Size, piece: -1}
	defer func() {
		if err != nil && ctx.Err() == nil { // a server that ends leaves what it read to the next
			err = errors.Join(err, st.dropSamples(context.WithoutCancel(ctx), j.RecordingID))
		}
	}()
	in := &strainImport{st: st, job: j, ask: &ask, src: src, scope: sc, rec: rec, basis: b}
	if err := in.read(ctx, d); err != nil {
		return err
	}
	found := in.search.Close()
	plan, err := rec.Planned(b, ask.Change.Channels, ask.Change.SamplesDigest)
	if err != nil {
		return err
	}
	if err := keepFound(ctx, st.Pool, st.Now(), j.RecordingID, plan.Digest, found); err != nil {
		return err
	}
	if _, err := st.Pool.Exec(ctx, `insert into raw_file (sha256, piece, bytes) select $1, piece, bytes from logger_draft_piece where draft_id = $2 on conflict do nothing`, d.SHA256, d.ID); err != nil {
		return writeFault(err)
	}
	if _, err := st.Edit(ctx, Entry{ID: ask.Entry, ProgramID: j.ProgramID, Actor: ask.Actor, Captured: ask.Captured, Ends: []EndRef{{ID: j.EndID}}, Change: ask.Change}); err != nil {
		_, drop := st.Pool.Exec(context.WithoutCancel(ctx), `delete from raw_file where sha256 = $1 and not exists (select from recording where sha256 = $1)
			and not exists (select from curing_log where sha256 = $1)`, d.SHA256)
		return errors.Join(err, drop)
	}
	if _, err := st.Pool.Exec(ctx, "delete from strain_mark where job_id = $1", j.ID); err != nil {
		return fmt.Errorf("mark: %w", err)
	}
	return st.DropLoggerDraft(ctx, j.ProgramID, j.UserID, d.ID)
}

// strainImport is one file on its way into blocks.
type strainImport struct {
	st     *Store
	job    StrainJob
	ask    *StrainAsk
	src    *draftBytes
	scope  *repair.Scope
	rec    *repair.Record
	basis  basis.Basis
	search *repair.Searcher
	screen *monitor.Screen
	to     *sampleWriter
	sum    *monitor.SamplesHash
}

// begin makes what rows pass through, with nothing seen yet.
func (in *strainImport) begin() error {
	ch := &in.ask.Change
	plan, err := in.rec.Planned(in.basis, ch.Channels, "")
	if err != nil {
		return err
	}
	if in.search, err = repair.NewSearcher(plan, in.basis, ch.Rate); err != nil {
		return err
	}
	screened := make([]monitor.ScreenChannel, len(plan.Sensors))
	for i, x := range plan.Sensors {
		screened[i] = monitor.ScreenChannel{Name: x.Name, Kind: monitor.Kind(x.Kind), Low: x.Low, High: x.High}
	}
	in.screen, in.sum = monitor.NewScreen(in.basis, ch.Rate, screened), monitor.NewSamplesHash()
	if in.to, err = newSampleWriter(in.st.Pool, in.job.RecordingID, len(ch.Channels), ch.Rate); err != nil {
		return err
	}
	in.to.hold = true
	if n := in.st.atOnce; n > 0 {
		in.to.atOnce = n
	}
	return nil
}

// open goes on with an earlier reading that was cut short, or begins.
func (in *strainImport) open(ctx context.Context, parts []logfile.Part, rules logfile.Rules) (*logfile.Reader, int64, error) {
	if err := in.begin(); err != nil {
		return nil, 0, err
	}
	r, rows, err := in.resume(ctx, parts, rules)
	if r != nil || err != nil {
		return r, rows, err
	}
	if err := in.st.dropSamples(ctx, in.job.RecordingID); err != nil {
		return nil, 0, err
	}
	if err := in.begin(); err != nil {
		return nil, 0, err
	}
	return logfile.ReadParts(parts, in.ask.Map, rules), 0, nil
}

func (in *strainImport) read(ctx context.Context, d LoggerDraft) error {
	ch := &in.ask.Change
	rules, err := StrainRules(in.basis, in.ask.Map, in.ask.Allow)
	if err != nil {
		return err
	}
	parts, err := logfile.Unpack(d.Name, in.src, d.Size, logfile.Limits{Bytes: in.ask.Unpacked})
	if err != nil {
		return err
	}
	r, rows, err := in.open(ctx, parts, rules)
	if err != nil {
		return err
	}
	defer r.Close()
	for r.Next() {
		t, v := r.At().UnixNano(), r.Values()
		if !in.screen.Row(r.Line(), t, v) {
			continue
		}
		for i := range v {
			v[i] += 0 // a negative nothing is nothing
		}
		in.sum.Add(t, v)
		if err := in.to.add(ctx, t, v); err != nil {
			return err
		}
		if err := in.search.Row(t, v); err != nil {
			return err
		}
		rows++
		if in.to.full() {
			if err := in.save(ctx, r, rows); err != nil {
				return err
			}
		}
		if rows%toldEvery == 0 {
			if err := in.st.told(ctx, in.job, rows, in.src.read); err != nil {
				return err
			}
		}
	}
	if err := r.Err(); err != nil {
		return err
	}
	seen, report := in.screen.Close(), r.Report()
	if has := 1e9 / float64(max(seen.Interval, 1)); rows > 2 && (has > ch.Rate*1.05 || has < ch.Rate*0.95) {
		return fault.New(fault.Refused, "the file has %s, %s was entered: name the rate of the file, or look whether its times are read rightly", monitor.RateWords(has), monitor.RateWords(ch.Rate))
	}
	if err := in.to.end(ctx, seen.From, seen.To); err != nil {
		return err
	}
	ch.From, ch.To, ch.Rows, ch.Lost, ch.SamplesDigest = time.Unix(0, seen.From).UTC(), time.Unix(0, seen.To).UTC(), rows, seen.Lost, in.sum.Sum()
	for i := range ch.Channels {
		if lo, hi := report.Low[i], report.High[i]; !math.IsInf(lo, 0) && !math.IsInf(hi, 0) {
			ch.Channels[i].Low, ch.Channels[i].High = &lo, &hi
		}
	}
	ch.Found, ch.FoundTotal = foundIn(seen, report, ch.Channels)
	if err := ch.Check(in.rec, in.st.clock(Entry{}, in.scope.Program)); err != nil {
		return err
	}
	return in.st.told(ctx, in.job, rows, d.Size)
}

// mostFaults bounds what is listed of one kind with a recording.
const mostFaults = 50

// readOnly are the findings of the reader of files that the screening of rows does not
// see.
var readOnly = []logfile.Kind{logfile.SameRow, logfile.Repeated, logfile.CutShort, logfile.AgainHeader, logfile.Spike}

func foundIn(seen monitor.Listed, report logfile.Report, channels []repair.RecordingChannel) ([]repair.RecordingFault, map[string]int) {
	out, total, n := []repair.RecordingFault{}, map[string]int{}, map[string]int{}
	add := func(f repair.RecordingFault) {
		if n[f.Kind]++; n[f.Kind] <= mostFaults {
			out = append(out, f)
		}
	}
	for k, c := range seen.Total {
		total[string(k)] = c
	}
	for _, f := range seen.Faults {
		x := repair.RecordingFault{Kind: string(f.Kind), Line: f.Line, From: f.From, To: f.To, Rows: f.Rows, Words: f.Words}
		if f.Channel >= 0 && f.Channel < len(channels) {
			x.Sensor, x.Column = channels[f.Channel].Name, channels[f.Channel].Column
		}
		add(x)
	}
	for _, k := range readOnly {
		if c := report.Counts[k]; c > 0 {
			total[string(k)] += c
		}
	}
	for _, f := range report.Findings {
		if slices.Contains(readOnly, f.Kind) {
			add(repair.RecordingFault{Kind: string(f.Kind), Line: f.Line, Column: f.Column, From: nanos(f.From), To: nanos(f.To), Rows: int64(f.Rows), Words: f.Text})
		}
	}
	return out, total
}

func nanos(t time.Time) int64 {
	if t.IsZero() {
		return 0
	}
	return t.UnixNano()
}

// keepFound stores the passages of a recording.
func keepFound(ctx context.Context, to sampleStore, at time.Time, id, digest string, f repair.Found) error {
	var b bytes.Buffer
	if err := gob.NewEncoder(&b).Encode(f); err != nil {
		return fmt.Errorf("keep passages: %w", err)
	}
	if _, err := to.Exec(ctx, `insert into recording_found (recording_id, digest, data, at) values ($1, $2, $3, $4)
		on conflict (recording_id) do update set digest = excluded.digest, data = excluded.data, at = excluded.at`, id, digest, b.Bytes(), at.UTC()); err != nil {
		return fmt.Errorf("keep passages: %w", err)
	}
	return nil
}

// FoundPassages returns the passages of every recording of an end that counts, by its
// identifier, and the recordings whose passages are to be found anew because samples,
// sensors or settings moved.
func (st *Store) FoundPassages(ctx context.Context, s *repair.Scope, r *repair.Record) (map[string]repair.Found, []repair.Recording, error) {
	list := r.CountedRecordings()
	ids := make([]string, len(list))
	for i, x := range list {
		ids[i] = x.ID
	}
	rows, err := st.Pool.Query(ctx, "select recording_id::text, digest, data from recording_found where recording_id = any($1::text[]::uuid[])", ids)
	if err != nil {
		return nil, nil, fmt.Errorf("passages: %w", err)
	}
	type kept struct {
		ID, Digest string
		Data       []byte
	}
	have, err := pgx.CollectRows(rows, pgx.RowToStructByPos[kept])
	if err != nil {
		return nil, nil, fmt.Errorf("passages: %w", err)
	}
	out := map[string]repair.Found{}
	var stale []repair.Recording
	for _, x := range list {
		plan, err := r.Planned(s.Basis(), x.Channels, x.SamplesDigest)
		i := slices.IndexFunc(have, func(k kept) bool { return k.ID == x.ID })
		var f repair.Found
		if err != nil || i < 0 || have[i].Digest != plan.Digest || gob.NewDecoder(bytes.NewReader(have[i].Data)).Decode(&f) != nil {
			stale = append(stale, x)
			continue
		}
		out[x.ID] = f
	}
	return out, stale, nil
}

// findAgain searches the samples of a recording on record.
func (st *Store) findAgain(ctx context.Context, j StrainJob) error {
	sc, err := loadScope(ctx, st.Pool, j.ProgramID, []string{j.EndID})
	if err != nil {
		return err
	}
	x, ok := sc.Ends[0].RecordingOf(j.RecordingID)
	if !ok {
		return fault.New(fault.NotFound, "this end has no such recording")
	}
	plan, err := sc.Ends[0].Planned(sc.Basis(), x.Channels, x.SamplesDigest)
	if err != nil {
		return err
	}
	s, err := repair.NewSearcher(plan, sc.Basis(), x.Rate)
	if err != nil {
		return err
	}
	rows := int64(0)
	if err := st.StreamSamples(ctx, x.ID, len(x.Channels), func(t int64, v []float64) error {
		if rows++; rows%toldEvery == 0 {
			if err := st.told(ctx, j, rows, 0); err != nil {
				return err
			}
		}
		return s.Row(t, v)
	}); err != nil {
		return err
	}
	return keepFound(ctx, st.Pool, st.Now(), x.ID, plan.Digest, s.Close())
}
