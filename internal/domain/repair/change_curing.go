package repair

import (
	"fmt"
	"io"
	"iter"
	"regexp"
	"slices"
	"strings"
	"time"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/uhpc"
	"endcast/internal/domain/units"
)

// placesOfSensors are where the sensor of a log may sit.
var placesOfSensors = []string{"coldest", "core", "form", "air", "specimen"}

// mostReadings bounds one log: a reading a second for a month.
const mostReadings = 2_600_000

// mostByHand bounds the readings by hand of one sensor.
const mostByHand = 2000

// LogHead is what a curing log is of.
type LogHead struct {
	Pour      int       `json:"pour"`
	EndID     string    `json:"end_id"` // empty: every end of the casting
	Sensor    string    `json:"sensor"`
	Place     string    `json:"place"`
	CoveredAt time.Time `json:"covered_at"`
	Note      string    `json:"note"`
}

// validate refuses what cannot be true of a log.
func (h LogHead) validate(bad *fault.Invalid, s *Scope, p Pour, c Context) {
	need(bad, "sensor", h.Sensor, "name the sensor as it is marked")
	tooLong(bad, "sensor", h.Sensor, 100)
	tooLong(bad, "note", h.Note, 4000)
	if !slices.Contains(placesOfSensors, h.Place) {
		bad.Add("place", h.Place, "must be one of: %s", strings.Join(placesOfSensors, ", "))
	}
	if h.EndID != "" && !slices.Contains(s.endsOfPour(p.ID), h.EndID) {
		bad.Add("end_id", h.EndID, "pour %d does not serve this end", p.Number)
	}
	notAfter(bad, "covered_at", h.CoveredAt, c.Now)
	if h.CoveredAt.Before(p.StartedAt.Add(-time.Hour)) {
		bad.Add("covered_at", h.CoveredAt.Format(time.RFC3339), "lies before the pour began, %s", p.StartedAt.In(h.CoveredAt.Location()).Format(time.RFC3339))
	}
}

// row is a new log of a casting.
func (h LogHead) row(s *Scope, p Pour, kind string, c Context) CuringLog {
	l := CuringLog{ID: c.NewID(), ProgramID: s.Program.ID, PourID: p.ID, Sensor: strings.TrimSpace(h.Sensor), Place: h.Place, CoveredAt: stored(h.CoveredAt), Kind: kind, Map: Typed{},
		Note: h.Note, ByUser: c.Actor.ID, ByName: c.Actor.Name, ByRole: string(c.Actor.Role), CapturedAt: c.Captured, ArrivedAt: c.Now}
	if h.EndID != "" {
		id := h.EndID
		l.EndID = &id
	}
	return l
}

// fromCovering yields the readings of a source from the moment a sensor was covered on, at
// the precision that is stored: what it felt before is no record of concrete.
func fromCovering(covered time.Time, open func() iter.Seq2[uhpc.Temperature, error]) func() iter.Seq2[uhpc.Temperature, error] {
	covered = stored(covered)
	return func() iter.Seq2[uhpc.Temperature, error] {
		return func(yield func(uhpc.Temperature, error) bool) {
			for t, err := range open() {
				t.At = stored(t.At)
				if err == nil && t.At.Before(covered) {
					continue
				}
				if !yield(t, err) || err != nil {
					return
				}
			}
		}
	}
}

// sum walks over readings once, in constant room, and notes in a log what they say.
// Readings that go back in time, that come twice, or that no concrete has are refused.
func (l *CuringLog) sum(open func() iter.Seq2[uhpc.Temperature, error], b basis.Basis, now time.Time, most int) error {
	a := uhpc.NewAccumulator(l.CoveredAt, b)
	h := NewReadingsHash()
	var first, last time.Time
	for t, err := range open() {
		if err != nil {
			return err
		}
		if h.Count() > 0 && t.At.Equal(last) {
			return fault.New(fault.Refused, "there are two readings at %s: one sensor has one at a time", t.At.Format(time.RFC3339))
		}
		if err := a.Add(t.At, t.Value); err != nil {
			return err
		}
		if h.Count() == 0 {
			first = t.At
		}
		if h.Count() == most {
			return fault.New(fault.TooLarge, "a log may have at most %d readings", most)
		}
		last = t.At
		h.Add(t)
	}
	if h.Count() == 0 {
		return fault.New(fault.Refused, "there is no reading from %s on, when the sensor was covered", l.CoveredAt.Format(time.RFC3339))
	}
	if last.After(now.Add(clockSlack)) {
		return fault.New(fault.Refused, "the last reading is at %s, later than now: is the clock of the logger right?", last.Format(time.RFC3339))
	}
	r := a.Result(b)
	l.Rows, l.FirstAt, l.LastAt, l.ReadingsDigest = h.Count(), &first, &last, h.Sum()
	l.Hottest, l.Coldest, l.LongestGapH, l.SteepestRise = r.Hottest, r.Coldest, r.LongestGap, r.Rise
	return nil
}

// RecordCuringLog takes one sensor's column of a logger's file. The file is kept as
// it came; File and Open do not go into the journal, where its digest and the way its
// columns were read stand for them.
type RecordCuringLog struct {
	LogHead
	FileName string `json:"file_name"`
	SHA256   string `json:"sha256"`
	Map      Typed  `json:"map"`
	Remember string `json:"remember"` // keep the map under this name

	// File and Open begin anew each time they are called.
	File func() (io.ReadCloser, error)             `json:"-"`
	Open func() iter.Seq2[uhpc.Temperature, error] `json:"-"`
}

// Kind implements Change.
func (RecordCuringLog) Kind() string { return "curing.log" }

// Want implements Wanting.
func (ch RecordCuringLog) Want() Want { return Want{Pours: []int{ch.Pour}} }

var hexDigest = regexp.MustCompile(`^[0-9a-f]{64}$`)

// Apply implements Change. It walks over the readings once; the store walks over them
// again when it writes them.
func (ch RecordCuringLog) Apply(s *Scope, c Context) error {
	i, err := s.pour(ch.Pour)
	if err != nil {
		return err
	}
	p := s.Pours[i]
	var bad fault.Invalid
	ch.validate(&bad, s, p, c)
	if !hexDigest.MatchString(ch.SHA256) || ch.File == nil || ch.Open == nil {
		bad.Add("file", ch.FileName, "the file of the logger is needed")
	}
	tooLong(&bad, "file", ch.FileName, 300)
	tooLong(&bad, "remember", ch.Remember, 100)
	for _, l := range s.CuringLogs {
		if l.PourID == p.ID && l.SHA256 == ch.SHA256 && l.WithdrawnAt == nil && digestOf(l.Map) == digestOf(ch.Map) {
			bad.Add("file", ch.FileName, "this column of this file is on record already, as sensor %s", l.Sensor)
		}
	}
	if err := bad.Err(); err != nil {
		return err
	}
	open := fromCovering(ch.CoveredAt, ch.Open)
	l := ch.row(s, p, "file", c)
	l.FileName, l.SHA256, l.Map = ch.FileName, ch.SHA256, ch.Map.orNone()
	if err := l.sum(open, s.Basis(), c.Now, mostReadings); err != nil {
		return err
	}
	s.CuringLogs = append(s.CuringLogs, l)
	s.RawFiles = append(s.RawFiles, RawFile{SHA256: ch.SHA256, Open: ch.File})
	s.Readings = &Readings{LogID: l.ID, Open: open, Digest: l.ReadingsDigest}
	if ch.Remember != "" {
		s.rememberMap(ch.Remember, ch.Map, c)
	}
	return nil
}

// rememberMap keeps how the columns of a logger's files are read.
func (s *Scope) rememberMap(name string, m Typed, c Context) {
	row := LoggerMap{ProgramID: s.Program.ID, Name: strings.TrimSpace(name), Map: m.orNone(), SetBy: c.Actor.ID, SetByName: c.Actor.Name, SetAt: c.Now}
	if i := slices.IndexFunc(s.LoggerMaps, func(x LoggerMap) bool { return x.Name == row.Name }); i >= 0 {
		s.LoggerMaps[i] = row
		return
	}
	s.LoggerMaps = append(s.LoggerMaps, row)
}

// HandReading is one temperature that a person read.
type HandReading struct {
	At   time.Time         `json:"at"`
	Temp units.Temperature `json:"temp"`
}

// AddHandReadings adds readings that a person took: to a log begun before, or to a
// new one.
type AddHandReadings struct {
	LogHead
	Log      string        `json:"log"` // identifier; empty begins one
	Readings []HandReading `json:"readings"`
}

// Kind implements Change.
func (AddHandReadings) Kind() string { return "curing.hand" }

// Want implements Wanting.
func (ch AddHandReadings) Want() Want { return Want{Pours: []int{ch.Pour}, HandLog: ch.Log} }

// Apply implements Change. The fields of reading n, counted from 1, are readings-n-at
// and readings-n-temp.
func (ch AddHandReadings) Apply(s *Scope, c Context) error {
	i, err := s.pour(ch.Pour)
	if err != nil {
		return err
	}
	p := s.Pours[i]
	var bad fault.Invalid
	l := CuringLog{}
	at := -1
	if ch.Log == "" {
		ch.validate(&bad, s, p, c)
		if err := bad.Err(); err != nil {
			return err
		}
		l = ch.row(s, p, "hand", c)
	} else {
		at = slices.IndexFunc(s.CuringLogs, func(x CuringLog) bool { return x.ID == ch.Log && x.PourID == p.ID })
		switch {
		case at < 0:
			return fault.New(fault.NotFound, "pour %d has no such curing log", p.Number)
		case s.CuringLogs[at].Kind != "hand":
			return fault.New(fault.Refused, "the log of sensor %s came from a file; readings by hand stand in a log of their own", s.CuringLogs[at].Sensor)
		case s.CuringLogs[at].WithdrawnAt != nil:
			return fault.New(fault.Refused, "the log of sensor %s was withdrawn", s.CuringLogs[at].Sensor)
		}
		l = s.CuringLogs[at]
	}
	if len(ch.Readings) == 0 {
		bad.Add("readings", "", "enter at least one reading")
	}
	var fresh, all []uhpc.Temperature
	have := map[int64]bool{}
	for _, r := range s.HandReadings {
		all = append(all, uhpc.Temperature{At: r.At, Value: r.Temp})
		have[r.At.UnixMicro()] = true
	}
	for i, r := range ch.Readings {
		f := fmt.Sprintf("readings-%d-", i+1)
		t := uhpc.Temperature{At: stored(r.At), Value: r.Temp}
		notAfter(&bad, f+"at", r.At, c.Now)
		if t.At.Before(l.CoveredAt) {
			bad.Add(f+"at", r.At.Format(time.RFC3339), "lies before the sensor was covered, %s", l.CoveredAt.In(r.At.Location()).Format(time.RFC3339))
		}
		if have[t.At.UnixMicro()] {
			bad.Add(f+"at", r.At.Format(time.RFC3339), "there is a reading of this moment already")
		}
		have[t.At.UnixMicro()] = true
		if !(r.Temp >= -40 && r.Temp <= 120) {
			sys := units.System(s.Program.Units)
			bad.Add(f+"temp", fmt.Sprint(float64(r.Temp)), "temperature must be from %s to %s, got %s", units.Temperature(-40).Format(sys, -1), units.Temperature(120).Format(sys, -1), r.Temp.Format(sys, -1))
		}
		fresh, all = append(fresh, t), append(all, t)
	}
	if len(all) > mostByHand {
		bad.Add("readings", "", "a log by hand may have at most %d readings", mostByHand)
	}
	if err := bad.Err(); err != nil {
		return err
	}
	inTime := func(a, b uhpc.Temperature) int { return a.At.Compare(b.At) }
	slices.SortFunc(fresh, inTime)
	slices.SortFunc(all, inTime)
	was := len(all) - len(fresh)
	if err := l.sum(listed(all), s.Basis(), c.Now, mostByHand); err != nil {
		return err
	}
	if at < 0 {
		s.CuringLogs = append(s.CuringLogs, l)
	} else {
		s.CuringLogs[at] = l
	}
	s.Readings = &Readings{LogID: l.ID, Open: listed(fresh), Digest: l.ReadingsDigest, Was: was}
	return nil
}

// listed yields a list of readings.
func listed(list []uhpc.Temperature) func() iter.Seq2[uhpc.Temperature, error] {
	return func() iter.Seq2[uhpc.Temperature, error] {
		return func(yield func(uhpc.Temperature, error) bool) {
			for _, t := range list {
				if !yield(t, nil) {
					return
				}
			}
		}
	}
}

// WithdrawCuringLog takes a log out of what counts: the wrong file, a sensor that had
// come loose. It stays on record.
type WithdrawCuringLog struct {
	Pour int    `json:"pour"`
	Log  string `json:"log"`
	Why  string `json:"why"`
}

// Kind implements Change.
func (WithdrawCuringLog) Kind() string { return "curing.withdraw" }

// Want implements Wanting.
func (ch WithdrawCuringLog) Want() Want { return Want{Pours: []int{ch.Pour}} }

// Apply implements Change.
func (ch WithdrawCuringLog) Apply(s *Scope, c Context) error {
	i, err := s.pour(ch.Pour)
	if err != nil {
		return err
	}
	at := slices.IndexFunc(s.CuringLogs, func(x CuringLog) bool { return x.ID == ch.Log && x.PourID == s.Pours[i].ID })
	if at < 0 {
		return fault.New(fault.NotFound, "pour %d has no such curing log", ch.Pour)
	}
	l := s.CuringLogs[at]
	if l.WithdrawnAt != nil {
		return fault.New(fault.Refused, "the log of sensor %s was withdrawn by %s", l.Sensor, l.WithdrawnBy)
	}
	var bad fault.Invalid
	need(&bad, "why", ch.Why, "say why the log does not count")
	tooLong(&bad, "why", ch.Why, 4000)
	if err := bad.Err(); err != nil {
		return err
	}
	now := c.Now
	l.WithdrawnWhy, l.WithdrawnBy, l.WithdrawnAt = ch.Why, signed(c.Actor), &now
	s.CuringLogs[at] = l
	return nil
}

// EndCuring is the word of a person that curing is over at the ends of a casting.
// Said again, the later word counts.
type EndCuring struct {
	Pour  int       `json:"pour"`
	EndID string    `json:"end_id"` // empty: every end of the casting
	At    time.Time `json:"at"`
	Note  string    `json:"note"`
}

// Kind implements Change.
func (EndCuring) Kind() string { return "curing.end" }

// Want implements Wanting.
func (ch EndCuring) Want() Want { return Want{Pours: []int{ch.Pour}} }

// Apply implements Change.
func (ch EndCuring) Apply(s *Scope, c Context) error {
	i, err := s.pour(ch.Pour)
	if err != nil {
		return err
	}
	p := s.Pours[i]
	var bad fault.Invalid
	notAfter(&bad, "at", ch.At, c.Now)
	placed := p.StartedAt
	if p.EndedAt != nil {
		placed = *p.EndedAt
	}
	if !ch.At.After(placed) {
		bad.Add("at", ch.At.Format(time.RFC3339), "curing cannot end before the casting did, %s", placed.In(ch.At.Location()).Format(time.RFC3339))
	}
	if p.Open {
		bad.Add("at", "", "pour %d is still open: finish it first", p.Number)
	}
	tooLong(&bad, "note", ch.Note, 4000)
	at := stored(ch.At)
	said := false
	for j, pe := range s.PourEnds {
		if pe.PourID == p.ID && (ch.EndID == "" || pe.EndID == ch.EndID) {
			pe.CuredAt, pe.CuredBy, pe.CuredNote = &at, signed(c.Actor), ch.Note
			s.PourEnds[j] = pe
			said = true
		}
	}
	if !said {
		bad.Add("end_id", ch.EndID, "pour %d does not serve this end", p.Number)
	}
	return bad.Err()
}
