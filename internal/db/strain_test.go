package db_test

import (
	"bytes"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/logfile"
	"endcast/internal/domain/monitor"
	"endcast/internal/domain/monitor/truth"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
)

// truthSensors are the gauges that the records of package truth are of.
func truthSensors(installed time.Time) []repair.SaveSensor {
	base := repair.SaveSensor{Direction: "vertical", Input: "engineering", Face: "L", AboveFlange: 2 * units.Inch, InstalledAt: installed}
	var out []repair.SaveSensor
	for i, x := range []struct{ name, kind string }{{"web", "web_foil"}, {"panel", "embedded"}, {"stud", "stud_foil"}, {"slip", "displacement"}, {"control", "girder_foil"}, {"air", "thermometer"}} {
		s := base
		s.Name, s.SensorKind, s.Channel = x.name, x.kind, truth.Columns[i]
		switch x.kind {
		case "girder_foil":
			s.Direction, s.FromBearing = "along", 40*units.Foot
		case "stud_foil":
			s.Stud = "L1-1"
		case "thermometer":
			s.Direction = "none"
		}
		out = append(out, s)
	}
	return out
}

// truthMap reads the files of package truth, begun at a time.
func truthMap(start time.Time) logfile.Map {
	m := logfile.Map{Encoding: "utf-8", Separator: ",", Decimal: ".", Header: 1, Names: 1, Clock: logfile.Clock{Kind: logfile.ElapsedS, Index: 1, Start: &start}}
	for i, unit := range []string{"ue", "ue", "ue", "um", "ue", "C"} {
		m.Values = append(m.Values, logfile.Column{Index: i + 2, Name: truth.Columns[i], Unit: unit})
	}
	return m
}

func (b *bundle) instrument(t testing.TB, end string, installed time.Time) {
	t.Helper()
	for _, ch := range truthSensors(installed) {
		_, err := b.do(authz.Inspector, b.end(t, end), ch)
		require.NoError(t, err)
	}
}

// send queues a file for an end and returns its work, not done yet.
func (b *bundle) send(t testing.TB, end, name string, file []byte, start time.Time, change func(*db.StrainAsk)) string {
	t.Helper()
	r := b.end(t, end)
	who := b.people[authz.Inspector]
	d, err := b.KeepStrainDraft(b.ctx, b.program, who.ID, r.End.ID, name, bytes.NewReader(file))
	require.NoError(t, err)
	ask := db.StrainAsk{Entry: newID(), Actor: who, Map: truthMap(start), Unpacked: 1 << 31,
		Change: repair.RecordStrain{Logger: "L1", FileName: name, SHA256: d.SHA256, Size: d.Size, Rate: truth.Rate, Map: repair.Typed{"map": "truth"}}}
	for i, x := range r.Sensors {
		for k, c := range truth.Columns {
			if x.Channel == c {
				_ = i
				for len(ask.Change.Channels) <= k {
					ask.Change.Channels = append(ask.Change.Channels, repair.RecordingChannel{})
				}
				ask.Change.Channels[k] = repair.RecordingChannel{Sensor: x.ID, Name: x.Name, Column: k + 2, Title: c}
			}
		}
	}
	if change != nil {
		change(&ask)
	}
	id, err := b.QueueImport(b.ctx, b.program, who.ID, d, ask)
	require.NoError(t, err)
	return id
}

// left counts what an import could leave behind.
func (b *bundle) left(t testing.TB) (n int) {
	t.Helper()
	require.NoError(t, b.Pool.QueryRow(b.ctx, `select (select count(*) from sample_block) + (select count(*) from sample_overview) + (select count(*) from recording_found)
		+ (select count(*) from raw_file) + (select count(*) from recording)`).Scan(&n))
	return n
}

func TestRecordingComesInWhole(t *testing.T) {
	t.Parallel()
	b := setup(t)
	start := time.Now().UTC().Add(-48 * time.Hour).Truncate(time.Minute)
	b.instrument(t, "1N-1", start.Add(-time.Hour))
	rec := truth.Make(truth.Case{Seed: 22, Share: 0.55, Weight: 1, Seconds: 240})
	file := rec.CSV(nil)
	id := b.send(t, "1N-1", "after.csv", file, start, nil)
	require.Empty(t, b.end(t, "1N-1").Recordings, "nothing counts before it is read")
	require.NoError(t, b.WorkStrain(b.ctx))
	r := b.end(t, "1N-1")
	j, err := b.StrainJob(b.ctx, r.End.ID, id)
	require.NoError(t, err)
	require.Equal(t, db.JobDone, j.State, j.Message)
	require.EqualValues(t, len(rec.Rows), j.Rows)
	require.Len(t, r.Recordings, 1)
	x := r.Recordings[0]
	require.EqualValues(t, len(rec.Rows), x.Rows)
	require.InDelta(t, 100, x.Rate, 0)
	require.Empty(t, x.Found, "nothing is wrong with it")
	b.sound(t)

	var back bytes.Buffer
	require.NoError(t, b.RawFile(b.ctx, x.SHA256, &back))
	require.Equal(t, file, back.Bytes(), "the file stays as it came")
	n := 0
	require.NoError(t, b.StreamSamples(b.ctx, x.ID, 6, func(at int64, v []float64) error {
		require.Equal(t, start.UnixNano()+int64(n)*10_000_000, at)
		for c := range v {
			want := rec.Rows[n][c]
			if c == 3 {
				want *= 1e-3
			}
			require.InDelta(t, want, v[c], 1e-12)
		}
		n++
		return nil
	}))
	require.Equal(t, len(rec.Rows), n)

	// Every truck is found.
	s, err := b.End(b.ctx, b.program, "1N-1")
	require.NoError(t, err)
	found, stale, err := b.FoundPassages(b.ctx, s, s.Ends[0])
	require.NoError(t, err)
	require.Empty(t, stale)
	require.Len(t, found[x.ID].Passages, len(rec.Trucks))
	for i, p := range found[x.ID].Passages {
		require.InDelta(t, rec.Trucks[i].PeakAt, float64(p.Web.At-start.UnixNano())/1e9, 0.6)
	}

	// A picture of whatever width loses no peak.
	least := math.Inf(1)
	for _, row := range rec.Rows {
		least = min(least, row[0])
	}
	from, to := x.FromAt.UnixNano(), x.ToAt.UnixNano()
	for _, columns := range []int{5, 300, 5000, 50_000} {
		cols, exact, err := b.Trace(b.ctx, x, 0, from, to, columns)
		require.NoError(t, err)
		low := math.Inf(1)
		for _, c := range cols {
			low = min(low, c.Bin.Min)
		}
		require.InDelta(t, least, low, 1e-4)
		require.Equal(t, columns == 50_000, exact)
		require.LessOrEqual(t, len(cols), max(columns+1, 24_000))
	}

	// The same file again, or its time again, is refused and leaves nothing more.
	before := b.left(t)
	id = b.send(t, "1N-1", "again.csv", file, start, nil)
	require.NoError(t, b.WorkStrain(b.ctx))
	j, err = b.StrainJob(b.ctx, r.End.ID, id)
	require.NoError(t, err)
	require.Equal(t, db.JobFailed, j.State)
	require.Contains(t, j.Message, "on record already")
	require.Equal(t, before, b.left(t))

	// A corrected sensor has its passages found anew.
	fix := truthSensors(start.Add(-time.Hour))[0]
	fix.Sensor = x.Channels[0].Sensor
	fix.Reversed = true
	_, err = b.do(authz.Engineer, r, fix)
	require.NoError(t, err)
	s, err = b.End(b.ctx, b.program, "1N-1")
	require.NoError(t, err)
	_, stale, err = b.FoundPassages(b.ctx, s, s.Ends[0])
	require.NoError(t, err)
	require.Len(t, stale, 1)
	require.NoError(t, b.QueueFind(b.ctx, b.program, b.people[authz.Engineer].ID, r.End.ID, stale))
	require.NoError(t, b.WorkStrain(b.ctx))
	found, stale, err = b.FoundPassages(b.ctx, s, s.Ends[0])
	require.NoError(t, err)
	require.Empty(t, stale)
	require.Less(t, len(found[x.ID].Passages), 3, "the web now stretches under trucks: none is a passage of its sign")

	// Nobody changes a sample unseen.
	_, err = b.Pool.Exec(b.ctx, "update sample_block set data = (select data from sample_block where channel = 1 and block = 0) where channel = 0 and block = 0")
	require.NoError(t, err)
	v, err := b.Verify(b.ctx)
	require.NoError(t, err)
	require.Len(t, v.Differences, 1)
	require.Contains(t, v.Differences[0].What, "digest")
}

// What cannot be believed is told with line and column, and nothing of it stays.
func TestRecordingsThatAreRefused(t *testing.T) {
	t.Parallel()
	b := setup(t)
	start := time.Now().UTC().Add(-48 * time.Hour).Truncate(time.Minute)
	b.instrument(t, "1N-1", start.Add(-time.Hour))
	lines := strings.Split(strings.TrimSpace(string(truth.Make(truth.Case{Seed: 3, Weight: 1, Seconds: 60}).CSV(nil))), "\n")
	with := func(line int, change func(cells []string)) []byte {
		out := append([]string(nil), lines...)
		cells := strings.Split(out[line-1], ",")
		change(cells)
		out[line-1] = strings.Join(cells, ",")
		return []byte(strings.Join(out, "\n") + "\n")
	}
	for name, x := range map[string]struct {
		file []byte
		ask  func(*db.StrainAsk)
		says string
	}{
		"text":      {with(4000, func(c []string) { c[3] = "OVER" }), nil, `line 4000, column 4: "OVER" is not a number`},
		"backwards": {with(3000, func(c []string) { c[0] = "2.00" }), nil, "line 3000, column 1: the time goes back"},
		"no gauge":  {with(2000, func(c []string) { c[1] = "900000" }), nil, "line 2000, column 2: 900000 µε cannot be true"},
		"columns":   {with(1500, func(c []string) { c[2] = "1,5" }), nil, "line 1500: the row has 8 columns"},
		"rate":      {with(2, func([]string) {}), func(a *db.StrainAsk) { a.Change.Rate = 50 }, "the file has 100 rows a second, 50 rows a second was entered"},
		"wrong map": {with(2, func([]string) {}), func(a *db.StrainAsk) { a.Map.Clock.Index, a.Map.Values[0].Index = 2, 1 }, "line 3, column 2: the time goes back"},
		"sensor":    {with(2, func([]string) {}), func(a *db.StrainAsk) { a.Change.Channels[0].Sensor = newID() }, "no such sensor"},
		"too early": {with(2, func([]string) {}), func(a *db.StrainAsk) { early := start.AddDate(-1, 0, 0); a.Map.Clock.Start = &early }, "was not there"},
	} {
		id := b.send(t, "1N-1", name+".csv", x.file, start, x.ask)
		require.NoError(t, b.WorkStrain(b.ctx))
		j, err := b.StrainJob(b.ctx, b.end(t, "1N-1").End.ID, id)
		require.NoError(t, err)
		require.Equal(t, db.JobFailed, j.State, name)
		require.Contains(t, j.Message, x.says, name)
		require.Zero(t, b.left(t), name)
	}
	b.sound(t)
}

// An hour without numbers, gaps, a stuck and a saturated gauge are taken and listed.
func TestOddRecordingsAreTakenAndTold(t *testing.T) {
	t.Parallel()
	b := setup(t)
	start := time.Now().UTC().Add(-72 * time.Hour).Truncate(time.Minute)
	b.instrument(t, "1N-1", start.Add(-time.Hour))
	rec := truth.Make(truth.Case{Seed: 8, Weight: 1, Seconds: 120})
	var f strings.Builder
	f.WriteString("t_s,web_ue,panel_ue,stud_ue,slip_um,ctrl_ue,temp_C\n")
	for i, row := range rec.Rows {
		at := float64(i) / 100
		if i > 8000 {
			at += 3600 // a pause of an hour
		}
		web, panel := fmt.Sprintf("%.3f", row[0]), fmt.Sprintf("%.3f", row[1])
		if i >= 2000 && i < 4000 {
			web = "NaN"
		}
		if i >= 5000 && i < 7500 {
			panel = "-40.125"
		}
		fmt.Fprintf(&f, "%.2f,%s,%s,%.3f,%.3f,%.3f,%.3f\n", at, web, panel, row[2], row[3], row[4], row[5])
		if i == 100 {
			fmt.Fprintf(&f, "%.2f,%s,%s,%.3f,%.3f,%.3f,%.3f\n", at, web, panel, row[2], row[3], row[4], row[5])
		}
	}
	id := b.send(t, "1N-1", "odd.csv", []byte(f.String()), start, func(a *db.StrainAsk) { a.Map.NoReading = []string{"NaN"} })
	require.NoError(t, b.WorkStrain(b.ctx))
	r := b.end(t, "1N-1")
	j, err := b.StrainJob(b.ctx, r.End.ID, id)
	require.NoError(t, err)
	require.Equal(t, db.JobDone, j.State, j.Message)
	x := r.Recordings[0]
	has := map[string]repair.RecordingFault{}
	for _, f := range x.Found {
		has[f.Kind] = f
	}
	require.Equal(t, "web", has["missing"].Sensor)
	require.Equal(t, 2003, has["missing"].Line, "a line is twice before it")
	require.Equal(t, 2, has["missing"].Column)
	require.Equal(t, "panel", has["stuck"].Sensor)
	require.Contains(t, has, "gap")
	require.Contains(t, has, "same_row")
	require.Greater(t, x.Lost, 0.9)
	b.sound(t)
	cols, _, err := b.Trace(b.ctx, x, 0, x.FromAt.UnixNano(), x.ToAt.UnixNano(), 400)
	require.NoError(t, err)
	for _, c := range cols {
		middle := float64(c.From-start.UnixNano())/1e9 + float64(c.To-c.From)/2e9
		require.False(t, middle > 90 && middle < 3600, "no column lies in the pause, one is at %g s", middle)
	}
}

// Work that a person cancels, or that a server leaves behind, leaves nothing half read.
func TestCancelledAndAbandonedImports(t *testing.T) {
	t.Parallel()
	b := setup(t)
	start := time.Now().UTC().Add(-48 * time.Hour).Truncate(time.Minute)
	b.instrument(t, "1N-1", start.Add(-time.Hour))
	file := truth.Make(truth.Case{Seed: 4, Weight: 1, Seconds: 90}).CSV(nil)
	end := b.end(t, "1N-1").End.ID
	id := b.send(t, "1N-1", "a.csv", file, start, nil)
	require.NoError(t, b.CancelStrainJob(b.ctx, end, id))
	require.ErrorIs(t, b.CancelStrainJob(b.ctx, end, id), fault.Refused)
	require.NoError(t, b.WorkStrain(b.ctx))
	require.Zero(t, b.left(t))
	require.Empty(t, b.end(t, "1N-1").Recordings)

	// A server that ended in the middle: its work begins anew, over what it left.
	id = b.send(t, "1N-1", "b.csv", file, start, nil)
	j, err := b.StrainJob(b.ctx, end, id)
	require.NoError(t, err)
	_, err = b.Pool.Exec(b.ctx, "update strain_job set state = 'running', rows_read = 100 where id = $1", id)
	require.NoError(t, err)
	_, err = b.Pool.Exec(b.ctx, "insert into sample_block values ($1, 0, 0, 1, 2, 7, ''::bytea, ''::bytea)", j.RecordingID)
	require.NoError(t, err)
	require.NoError(t, b.WorkStrain(b.ctx))
	r := b.end(t, "1N-1")
	require.Len(t, r.Recordings, 1)
	require.EqualValues(t, 9000, r.Recordings[0].Rows)
	b.sound(t)

	// One that ended after it was on record does not put it there twice.
	_, err = b.Pool.Exec(b.ctx, "update strain_job set state = 'running' where id = $1", id)
	require.NoError(t, err)
	require.NoError(t, b.WorkStrain(b.ctx))
	require.Len(t, b.end(t, "1N-1").Recordings, 1)
	b.sound(t)
	_, err = b.do(authz.Engineer, r, repair.WithdrawRecording{Recording: r.Recordings[0].ID, Why: "the lead was loose"})
	require.NoError(t, err)
	require.Empty(t, b.end(t, "1N-1").CountedRecordings())
	require.NotEmpty(t, b.end(t, "1N-1").Recordings[0].WithdrawnBy)
}

func TestSensorsAreCheckedAndKept(t *testing.T) {
	t.Parallel()
	b := setup(t)
	at := time.Now().UTC().Add(-time.Hour)
	good := truthSensors(at)[0]
	refused := func(field string, change func(*repair.SaveSensor)) {
		t.Helper()
		ch := good
		change(&ch)
		_, err := b.do(authz.Inspector, b.end(t, "1N-1"), ch)
		var bad *fault.Invalid
		require.ErrorAs(t, err, &bad)
		require.NotNil(t, bad.Of(field), bad.Error())
	}
	refused("name", func(s *repair.SaveSensor) { s.Name = "" })
	refused("sensor_kind", func(s *repair.SaveSensor) { s.SensorKind = "barometer" })
	refused("channel", func(s *repair.SaveSensor) { s.Channel = " " })
	refused("input", func(s *repair.SaveSensor) { s.Input = "volts" })
	refused("installed_at", func(s *repair.SaveSensor) { s.InstalledAt = time.Now().Add(48 * time.Hour) })
	refused("from_bearing", func(s *repair.SaveSensor) { s.SensorKind, s.Direction = "girder_foil", "along" })
	refused("stud", func(s *repair.SaveSensor) { s.SensorKind = "stud_foil" })
	refused("factor", func(s *repair.SaveSensor) { s.Input, s.Bridge = "mv_v", "quarter" })
	refused("shunt_ohm", func(s *repair.SaveSensor) { r := 100.0; s.ShuntOhm = &r })
	_, err := b.do(authz.Inspector, b.end(t, "1N-1"), good)
	require.NoError(t, err)
	refused("name", func(*repair.SaveSensor) {})
	r := b.end(t, "1N-1")
	require.Equal(t, -1, r.Sensors[0].Sign, "the usual sign of a web under compression")
	_, err = b.do(authz.Inspector, r, repair.RemoveSensor{Sensor: r.Sensors[0].ID, At: at.Add(-time.Hour), Why: "torn off"})
	require.ErrorIs(t, err, fault.Fields)
	_, err = b.do(authz.Inspector, r, repair.RemoveSensor{Sensor: r.Sensors[0].ID, At: at.Add(time.Minute), Why: "torn off"})
	require.NoError(t, err)
	_, err = b.do(authz.Inspector, b.end(t, "1N-1"), good)
	require.NoError(t, err, "the name is free again")
	require.Len(t, b.end(t, "1N-1").Sensors, 2)
	require.Equal(t, monitor.WebGauge, b.end(t, "1N-1").Sensors[1].Monitor().Kind)
	b.sound(t)
}

// Loggers that write once a minute, in five minutes or in an hour are read like quick
// ones, their rows lying together in blocks and not one to each.
func TestSlowLoggers(t *testing.T) {
	t.Parallel()
	b := setup(t)
	start := time.Now().UTC().AddDate(0, 0, -20).Truncate(time.Hour)
	ch := truthSensors(start.Add(-time.Hour))[5]
	ch.Name, ch.SensorKind, ch.Channel = "S9", "strength", "S9"
	_, err := b.do(authz.Inspector, b.end(t, "1N-1"), ch)
	require.NoError(t, err)
	at := start
	for _, step := range []time.Duration{time.Minute, 5 * time.Minute, time.Hour} {
		var f strings.Builder
		f.WriteString("time,S9 [psi]\n")
		for i := range 120 {
			fmt.Fprintf(&f, "%s,%d\n", at.Add(time.Duration(i)*step).Format(time.RFC3339), 9000+10*i)
		}
		id := b.send(t, "1N-1", step.String()+".csv", []byte(f.String()), at, func(a *db.StrainAsk) {
			x := b.end(t, "1N-1").Sensors[0]
			a.Map.Clock = logfile.Clock{Kind: logfile.Dates, Index: 1, Order: "ymd"}
			a.Map.Values = []logfile.Column{{Index: 2, Name: "S9", Unit: "psi"}}
			a.Change.Rate, a.Change.Channels = 1/step.Seconds(), []repair.RecordingChannel{{Sensor: x.ID, Name: x.Name, Column: 2, Title: "S9"}}
		})
		require.NoError(t, b.WorkStrain(b.ctx))
		r := b.end(t, "1N-1")
		j, err := b.StrainJob(b.ctx, r.End.ID, id)
		require.NoError(t, err)
		require.Equal(t, db.JobDone, j.State, j.Message)
		x := r.Recordings[slices.IndexFunc(r.Recordings, func(x repair.Recording) bool { return x.FileName == step.String()+".csv" })]
		require.EqualValues(t, 120, x.Rows)
		require.Empty(t, x.Found)
		require.Zero(t, x.Lost)
		var blocks int
		require.NoError(t, b.Pool.QueryRow(b.ctx, "select count(*) from sample_block where recording_id = $1", x.ID).Scan(&blocks))
		require.Equal(t, 2, blocks, "one of times, one of values")
		cols, exact, err := b.Trace(b.ctx, x, 0, x.FromAt.UnixNano(), x.ToAt.UnixNano(), 400)
		require.NoError(t, err)
		require.True(t, exact)
		require.Len(t, cols, 120)
		require.InDelta(t, 9000*0.00689475729, cols[0].Bin.Min, 1e-6, "psi in MPa: the factor of a published table of conversions, NIST SP 811 appendix B")
		at = x.ToAt.Add(time.Hour)
	}
	b.sound(t)
}
