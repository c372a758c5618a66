package repair

import (
	"math"
	"slices"
	"time"

	"endcast/internal/domain/fault"
)

// RecordStrain puts a recording on record that was read to its end. Its samples and
// its file are stored beforehand; SamplesDigest and SHA256 stand for them, and the
// store looks that both are there.
type RecordStrain struct {
	ID            string             `json:"id"` // that the samples are stored under
	Logger        string             `json:"logger"`
	FileName      string             `json:"file_name"`
	SHA256        string             `json:"sha256"`
	Size          int64              `json:"size"`
	Map           Typed              `json:"map"`
	From          time.Time          `json:"from"`
	To            time.Time          `json:"to"`
	Rate          float64            `json:"rate"`
	Rows          int64              `json:"rows"`
	Lost          float64            `json:"lost"`
	Channels      []RecordingChannel `json:"channels"`
	Found         []RecordingFault   `json:"found"`
	FoundTotal    map[string]int     `json:"found_total"`
	SamplesDigest string             `json:"samples_digest"`
	Note          string             `json:"note"`
	Remember      string             `json:"remember"` // keep the map under this name
}

// Kind implements Change.
func (RecordStrain) Kind() string { return "recording.add" }

// Apply implements Change.
func (ch RecordStrain) Apply(s *Scope, c Context) error {
	r, err := s.One()
	if err != nil {
		return err
	}
	if err := ch.Check(r, c.Now); err != nil {
		return err
	}
	x := Recording{ID: ch.ID, ProgramID: s.Program.ID, EndID: r.End.ID, Logger: ch.Logger, FileName: ch.FileName, SHA256: ch.SHA256, Size: ch.Size, Map: ch.Map.orNone(),
		FromAt: stored(ch.From), ToAt: stored(ch.To), Rate: ch.Rate, Rows: ch.Rows, Lost: ch.Lost, Channels: ch.Channels, Found: ch.Found, FoundTotal: ch.FoundTotal,
		SamplesDigest: ch.SamplesDigest, Note: ch.Note, ByUser: c.Actor.ID, ByName: c.Actor.Name, ByRole: string(c.Actor.Role), CapturedAt: c.Captured, ArrivedAt: c.Now}
	if x.Found == nil {
		x.Found = []RecordingFault{}
	}
	if x.FoundTotal == nil {
		x.FoundTotal = map[string]int{}
	}
	r.Recordings = append(r.Recordings, x)
	s.Stored = append(s.Stored, StoredSamples{RecordingID: x.ID, SHA256: x.SHA256, Size: x.Size, Rows: x.Rows, Channels: len(x.Channels)})
	if ch.Remember != "" {
		s.rememberMap(ch.Remember, ch.Map, c)
	}
	return nil
}

// Check refuses a recording that cannot be taken at an end; rows and digests of one
// that is still to be read are not looked at.
func (ch RecordStrain) Check(r *Record, now time.Time) error {
	var bad fault.Invalid
	need(&bad, "logger", ch.Logger, "name the logger")
	tooLong(&bad, "logger", ch.Logger, 100)
	tooLong(&bad, "file", ch.FileName, 300)
	tooLong(&bad, "note", ch.Note, 4000)
	tooLong(&bad, "remember", ch.Remember, 100)
	if !hexDigest.MatchString(ch.SHA256) {
		bad.Add("file", ch.FileName, "the file of the logger is needed")
	}
	if !(ch.Rate > 0 && ch.Rate <= 100_000) || math.IsInf(ch.Rate, 0) {
		bad.Add("rate", number(ch.Rate), "must be above 0 and at most 100000 rows a second, got %s", number(ch.Rate))
	}
	if len(ch.Channels) == 0 {
		bad.Add("channels", "", "say of at least one column which sensor wrote it")
	}
	used := map[string]bool{}
	for _, k := range ch.Channels {
		x, ok := r.SensorOf(k.Sensor)
		switch {
		case !ok:
			bad.Add("channels", k.Sensor, "this end has no such sensor")
		case used[k.Sensor]:
			bad.Add("channels", x.Name, "sensor %s cannot have written two columns", x.Name)
		case !ch.From.IsZero() && (ch.To.Before(x.InstalledAt) || x.RemovedAt != nil && ch.From.After(*x.RemovedAt)):
			bad.Add("channels", x.Name, "sensor %s was not there from %s to %s", x.Name, ch.From.Format(time.RFC3339), ch.To.Format(time.RFC3339))
		}
		used[k.Sensor] = true
	}
	if !ch.To.IsZero() {
		notAfter(&bad, "file", ch.To, now)
	}
	for _, o := range r.Recordings {
		switch {
		case o.WithdrawnAt != nil || !slices.ContainsFunc(o.Channels, func(k RecordingChannel) bool { return used[k.Sensor] }):
		case o.SHA256 == ch.SHA256:
			bad.Add("file", ch.FileName, "this file is on record already, from %s to %s", o.FromAt.Format(time.RFC3339), o.ToAt.Format(time.RFC3339))
		case !ch.From.IsZero() && !ch.From.After(o.ToAt) && !ch.To.Before(o.FromAt):
			bad.Add("file", ch.FileName, "covers a time of the same sensors that is on record already: %s, from %s to %s; withdraw that one or leave this one out",
				o.FileName, o.FromAt.Format(time.RFC3339), o.ToAt.Format(time.RFC3339))
		}
	}
	return bad.Err()
}

// StoredSamples are the samples that a recording says it has.
type StoredSamples struct {
	RecordingID, SHA256 string
	Size, Rows          int64
	Channels            int
}

// WithdrawRecording takes a recording out of what counts. It stays on record.
type WithdrawRecording struct {
	Recording string `json:"recording"`
	Why       string `json:"why"`
}

// Kind implements Change.
func (WithdrawRecording) Kind() string { return "recording.withdraw" }

// Apply implements Change.
func (ch WithdrawRecording) Apply(s *Scope, c Context) error {
	r, err := s.One()
	if err != nil {
		return err
	}
	i := slices.IndexFunc(r.Recordings, func(x Recording) bool { return x.ID == ch.Recording })
	if i < 0 {
		return fault.New(fault.NotFound, "this end has no such recording")
	}
	x := r.Recordings[i]
	if x.WithdrawnAt != nil {
		return fault.New(fault.Refused, "this recording was withdrawn by %s", x.WithdrawnBy)
	}
	var bad fault.Invalid
	need(&bad, "why", ch.Why, "say why the recording does not count")
	tooLong(&bad, "why", ch.Why, 4000)
	if err := bad.Err(); err != nil {
		return err
	}
	now := c.Now
	x.WithdrawnWhy, x.WithdrawnBy, x.WithdrawnAt = ch.Why, signed(c.Actor), &now
	r.Recordings[i] = x
	return nil
}

// RecordingOf returns a recording by its identifier.
func (r *Record) RecordingOf(id string) (Recording, bool) {
	i := slices.IndexFunc(r.Recordings, func(x Recording) bool { return x.ID == id })
	if i < 0 {
		return Recording{}, false
	}
	return r.Recordings[i], true
}
