package demo

import (
	"bytes"
	"compress/gzip"
	"encoding/json"
	"hash/fnv"
	"math"
	"slices"
	"strconv"
	"sync"
	"time"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/logfile"
	"endcast/internal/domain/monitor"
	"endcast/internal/domain/monitor/truth"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
)

// strained is one file that the strain logger of an end wrote: it woke for some
// minutes at three in the afternoon of each of the days, and slept between.
type strained struct {
	end, key string
	days     []time.Time
	seconds  float64 // of a burst
	share    float64 // of the live reaction that the panel carries
	note     string
	without  string // channel that gave nothing
}

// rate of the loggers, rows a second: every second row of the records that truth makes.
const strainRate = truth.Rate / 2

// burst is how long a logger is awake a day, s, and headway how often trucks pass.
const (
	burst   = 275.0
	headway = 9.0
)

// every lists afternoons, so many days apart.
func every(month, date, apart, n int) (out []time.Time) {
	for i := range n {
		out = append(out, day(month, date).AddDate(0, 0, i*apart).Add(15*hour))
	}
	return out
}

// strainFiles are the recordings of the story, by end. At 1F-3 the panel carries what
// its design foresees; at 1N-2 it carries nothing; at 5N-2 the control gauge is lost;
// at 2N-6 the logger fell silent after four days.
var strainFiles = []strained{
	{end: "1F-3", key: "before", days: every(4, 7, 1, 8), seconds: burst, note: "Before the panel, traffic as usual."},
	{end: "1F-3", key: "after", days: every(4, 21, 1, 9), seconds: burst, share: 0.235, note: "From the first afternoon after the return to traffic."},
	{end: "1F-3", key: "weeks to June", days: every(5, 12, 7, 5), seconds: burst, share: 0.24, note: "One afternoon a week."},
	{end: "1F-3", key: "weeks to July", days: every(6, 16, 7, 5), seconds: burst, share: 0.235, note: "One afternoon a week."},
	{end: "1N-2", key: "before", days: every(5, 17, 1, 7), seconds: 330, note: "Before the panel, traffic as usual."},
	{end: "1N-2", key: "after", days: every(6, 1, 1, 9), seconds: burst, share: 0.01, note: "After the return to traffic."},
	{end: "5N-2", key: "before", days: every(6, 5, 1, 8), seconds: burst, without: "C1", note: "The cable of the control gauge was cut in the night of 4 June; its column is empty and left out."},
	{end: "5N-2", key: "after", days: every(7, 2, 1, 9), seconds: burst, share: 0.33, without: "C1", note: "Without the control gauge: it sits above the closed lane and cannot be reached before August."},
	{end: "2N-6", key: "before", days: every(5, 19, 1, 8), seconds: burst, note: "Before the panel, traffic as usual."},
	{end: "2N-6", key: "after", days: every(6, 17, 1, 4), seconds: burst, share: 0.40, note: "The battery of the logger was flat on the fifth day; a new one is ordered."},
}

// recordedAt tells whether strain was recorded at an end.
func recordedAt(name string) bool {
	return slices.ContainsFunc(strainFiles, func(x strained) bool { return x.end == name })
}

// id is the identifier of the recording.
func (x strained) id() string { return hashID("recording", x.end, x.key) }

func (x strained) fileName() string { return x.end + " " + x.key + ".csv.gz" }

// arrived is when the file was brought in: on the morning after its last day.
func (x strained) arrived() time.Time {
	d := x.days[len(x.days)-1]
	return time.Date(d.Year(), d.Month(), d.Day(), 17, 30, 0, 0, zone)
}

// Samples are the rows of a recording and the file that they are from.
type Samples struct {
	ID     string
	Rate   float64 // rows a second
	File   []byte
	SHA256 string // of the file
	Times  []int64
	Rows   [][]float64 // in the order of its channels
	Found  repair.Found
	Plan   string // digest of the plan that Found is of
}

// heardOf keeps what was found in each recording when its samples are gone, so that the
// story is played again without making them anew. The key is everything that they follow
// from.
var heardOf = struct {
	sync.Mutex
	by    map[string]repair.RecordStrain
	found map[string]repair.Found // by recording
}{by: map[string]repair.RecordStrain{}, found: map[string]repair.Found{}}

// written are the gauges in the order of what truth makes of them, with the unit that
// the logger writes each in and how many decimals.
var written = []channel{{"W1", "ue", 1}, {"W2", "ue", 1}, {"P1", "ue", 1}, {"T1", "ue", 1}, {"S1", "mm", 4}, {"C1", "ue", 1}, {"A1", "C", 1}}

type channel struct {
	name, unit string
	decimals   int
}

// write makes the samples, as the logger wrote them.
func (x strained) write(r *repair.Record, s *repair.Scope) (repair.RecordStrain, *Samples, error) {
	b := s.Basis()
	st, _ := r.Stiffness(s)
	out := &Samples{ID: x.id(), Rate: strainRate}
	ch := repair.RecordStrain{ID: x.id(), Logger: "strain logger " + x.end, FileName: x.fileName(), Rate: strainRate, Note: x.note}
	m := logfile.Map{Encoding: "utf-8", Separator: ",", Decimal: ".", Header: 1, Names: 1, Clock: logfile.Clock{Kind: logfile.EpochMS, Index: 1}}
	var text []byte
	text = append(text, "time_ms"...)
	var gauge []int    // of written, by channel
	var zero []float64 // what each wrote without load
	for _, k := range r.Sensors {
		w := slices.IndexFunc(written, func(w channel) bool { return w.name == k.Name })
		if k.Name == x.without || w < 0 {
			continue
		}
		gauge, zero = append(gauge, w), append(zero, k.ZeroRaw)
		text = append(append(text, ','), k.Channel...)
		m.Values = append(m.Values, logfile.Column{Index: len(gauge) + 1, Name: k.Channel, Unit: written[w].unit})
		ch.Channels = append(ch.Channels, repair.RecordingChannel{Sensor: k.ID, Name: k.Name, Column: len(gauge) + 1, Title: k.Channel})
	}
	text = append(text, '\n')
	plan, err := r.Planned(b, ch.Channels, "")
	if err != nil {
		return ch, nil, err
	}
	search, err := repair.NewSearcher(plan, b, strainRate)
	if err != nil {
		return ch, nil, err
	}
	seen := make([]monitor.ScreenChannel, len(plan.Sensors))
	low, high := make([]float64, len(gauge)), make([]float64, len(gauge))
	for i, k := range plan.Sensors {
		seen[i] = monitor.ScreenChannel{Name: k.Name, Kind: monitor.Kind(k.Kind), Low: k.Low, High: k.High}
		low[i], high[i] = math.Inf(1), math.Inf(-1)
	}
	screen := monitor.NewScreen(b, strainRate, seen)
	digest := monitor.NewSamplesHash()
	web, panel := truth.WebEA*float64(units.Kip/st.Web), truth.PanelEA*float64(units.Kip/st.Panel)
	for i, at := range x.days {
		rec := truth.Make(truth.Case{Seed: uint64(1e6 * uniform(x.end, x.key, "burst", strconv.Itoa(i))), Share: x.share, Weight: between(0.95, 1.25, x.end, at.Format(time.DateOnly), "trucks"), Seconds: x.seconds, Headway: headway})
		warm := 11 * math.Sin((float64(at.YearDay())-115)/365*2*math.Pi)
		slip := 2e-5 * warm // mm: the panel is shaded, the girder follows the air
		for k := 0; k < len(rec.Rows); k += 2 {
			row := rec.Rows[k]
			live := web * (row[0] - 120) // the records of truth begin off zero
			bend := 0.03 * live          // out of the plane of the web
			all := [...]float64{live + bend, live - bend, panel * (row[1] + 35), panel * (row[2] - 12), row[3]/1000 + slip, row[4] + 60, row[5] + warm}
			t := at.UnixNano() + int64(k)*int64(1e9/truth.Rate)
			values := make([]float64, len(gauge))
			text = strconv.AppendInt(text, t/1e6, 10)
			for c, w := range gauge {
				text = append(text, ',')
				text, values[c] = decimal(text, all[w]+zero[c], written[w].decimals)
				low[c], high[c] = min(low[c], values[c]), max(high[c], values[c])
			}
			text = append(text, '\n')
			screen.Row(len(out.Times)+2, t, values)
			digest.Add(t, values)
			if err := search.Row(t, values); err != nil {
				return ch, nil, err
			}
			out.Times, out.Rows = append(out.Times, t), append(out.Rows, values)
		}
	}
	listed := screen.Close()
	ch.FoundTotal = map[string]int{}
	for k, n := range listed.Total {
		ch.FoundTotal[string(k)] = n
	}
	for _, f := range listed.Faults {
		y := repair.RecordingFault{Kind: string(f.Kind), Line: f.Line, From: f.From, To: f.To, Rows: f.Rows, Words: f.Words}
		if f.Channel >= 0 {
			y.Sensor, y.Column = ch.Channels[f.Channel].Name, ch.Channels[f.Channel].Column
		}
		ch.Found = append(ch.Found, y)
	}
	for i := range ch.Channels {
		ch.Channels[i].Low, ch.Channels[i].High = &low[i], &high[i]
	}
	var packed bytes.Buffer
	z, err := gzip.NewWriterLevel(&packed, gzip.BestSpeed)
	if err != nil {
		return ch, nil, err
	}
	if _, err := z.Write(text); err != nil {
		return ch, nil, err
	}
	if err := z.Close(); err != nil {
		return ch, nil, err
	}
	out.File = packed.Bytes()
	ch.SHA256, ch.Size, ch.Rows, ch.Lost, ch.SamplesDigest = sum(out.File), int64(len(out.File)), int64(len(out.Times)), listed.Lost, digest.Sum()
	ch.From, ch.To = time.Unix(0, listed.From).UTC(), time.Unix(0, listed.To).UTC()
	how, err := json.Marshal(m)
	if err != nil {
		return ch, nil, err
	}
	ch.Map = repair.Typed{"map": string(how)}
	if plan, err = r.Planned(b, ch.Channels, ch.SamplesDigest); err != nil {
		return ch, nil, err
	}
	out.SHA256, out.Found, out.Plan = ch.SHA256, search.Close(), plan.Digest
	return ch, out, nil
}

// decimal appends a number as it is written with so many decimals, and returns the
// number that a reader makes of it.
func decimal(text []byte, v float64, decimals int) ([]byte, float64) {
	p := int64(math.Pow10(decimals))
	n := int64(math.Round(v * float64(p)))
	if n < 0 {
		text = append(text, '-')
	}
	k := max(n, -n)
	text = append(strconv.AppendInt(text, k/p, 10), '.')
	for q, rest := p/10, k%p; q > 0; q /= 10 {
		text = append(text, byte('0'+rest/q))
		rest %= q
	}
	return text, float64(n) / float64(p)
}

// recorded tells that the files of an end came in.
func (e end) recorded() {
	for _, x := range strainFiles {
		if x.end != e.name {
			continue
		}
		var r *repair.Record
		var s *repair.Scope
		var made *Samples
		e.tell(e.key("strain", x.key), authz.Inspector, x.arrived(), e.ref, false, func(sc *repair.Scope) (repair.Change, error) {
			one, err := sc.One()
			if err != nil {
				return nil, err
			}
			r, s = one, sc
			stiff, _ := r.Stiffness(s)
			key, err := json.Marshal([]any{x.id(), r.Sensors, stiff})
			if err != nil {
				return nil, err
			}
			heardOf.Lock()
			defer heardOf.Unlock()
			if ch, ok := heardOf.by[string(key)]; ok {
				return ch, nil
			}
			ch, samples, err := x.write(r, s)
			if err != nil {
				return nil, err
			}
			made = samples
			heardOf.by[string(key)] = ch
			heardOf.found[ch.ID] = samples.Found
			return ch, nil
		})
		if n := len(e.steps); n > 0 && e.steps[n-1].Key == e.key("strain", x.key) {
			e.steps[n-1].Samples = func() (*Samples, error) {
				out := made
				made = nil
				if out != nil {
					return out, nil
				}
				_, out, err := x.write(r, s)
				return out, err
			}
		}
	}
}

// proven tells that the engineer confirmed what the strain records say.
func (e end) proven(key string, at time.Time, note string) {
	e.tell(e.key("verdict", key), authz.Engineer, at, e.ref, false, func(s *repair.Scope) (repair.Change, error) {
		r, err := s.One()
		if err != nil {
			return nil, err
		}
		found := map[string]repair.Found{}
		heardOf.Lock()
		for _, x := range r.CountedRecordings() {
			f, ok := heardOf.found[x.ID]
			if !ok {
				err = fault.New(fault.NotFound, "%s: nothing is known of recording %s", e.name, x.FileName)
			}
			found[x.ID] = f
		}
		heardOf.Unlock()
		if err != nil {
			return nil, err
		}
		digest := r.StrainDigest(s)
		h := fnv.New64a()
		_, _ = h.Write([]byte(digest))
		j := monitor.Judge(s.Basis(), r.StrainEvidence(s, found, zone, h.Sum64()))
		return repair.ConfirmVerdict{From: digest, Digest: digest, Judgment: j, Note: note}, nil
	})
}
