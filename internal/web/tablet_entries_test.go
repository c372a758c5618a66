package web_test

import (
	"bytes"
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/tablet"
	"endcast/internal/domain/units"
	"endcast/internal/web/webtest"
)

// reply is what a tablet reads of an answer.
type reply struct {
	ID, State, Reason, Differs string
	Seq                        int64
	Repeated                   bool
	ClockWrong                 bool      `json:"clock_wrong"`
	Captured                   time.Time `json:"captured_at"`
	Fields                     []struct{ Field, Typed, Reason string }
}

// slip makes an entry as a tablet of a person would.
func (p *testProgram) slip(who *webtest.Client, end string, kind tablet.Kind, body any, changes ...func(*tablet.Envelope)) []byte {
	p.t.Helper()
	sc := p.Scope(end)
	r := sc.Ends[0]
	raw, err := json.Marshal(body)
	require.NoError(p.t, err)
	e := tablet.Envelope{Format: 1, ID: newEntryID(), By: who.User.ID.String(), Kind: kind, EndID: r.End.ID, End: r.End.Name, Units: units.US, Body: raw,
		CapturedAt: ago(5 * time.Minute).Format(time.RFC3339), Against: tablet.Against{EndVersion: r.End.Version, Sequence: tablet.SequenceDigest(sc)}}
	if d := r.DesignInForce(); d != nil {
		e.Against.DesignID, e.Against.Revision, e.Against.Studs = d.ID, d.Revision, tablet.StudsDigest(r, d.ID)
	}
	if sv := r.LatestSurvey(); sv != nil {
		e.Against.Survey = sv.Number
	}
	for _, change := range changes {
		change(&e)
	}
	out, err := json.Marshal(e)
	require.NoError(p.t, err)
	return out
}

// send sends entries and returns the answers.
func (p *testProgram) send(who *webtest.Client, path string, sent time.Time, entries ...[]byte) []reply {
	p.t.Helper()
	list := make([]json.RawMessage, len(entries))
	for i, e := range entries {
		list[i] = e
	}
	body, err := json.Marshal(map[string]any{"format": 1, "sent_at": sent.Format(time.RFC3339), "entries": list})
	require.NoError(p.t, err)
	a := p.postJSON(who, path, body).Status(http.StatusOK)
	var out struct{ Answers []reply }
	require.NoError(p.t, json.Unmarshal([]byte(a.Body), &out), a.Body)
	require.Len(p.t, out.Answers, len(entries))
	return out.Answers
}

func (p *testProgram) postJSON(who *webtest.Client, path string, body []byte) *webtest.Answer {
	r := httptest.NewRequest(http.MethodPost, webtest.Base+path, bytes.NewReader(body))
	r.Header.Set("Content-Type", "application/json")
	r.Header.Set("Accept", "application/json")
	return who.Do(r)
}

func collarAt(mark, outcome string) map[string]any {
	return map[string]any{"mark": mark, "outcome": outcome}
}

func TestEntryOfATabletCountsOnce(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	studs := p.approvedLayout("1N-1")
	inspector, path := p.Role(authz.Inspector), p.Path("tablet", "entries")
	all := repair.RecordCollars{DesignID: studs[0].DesignID}
	for _, st := range studs {
		all.Collars = append(all.Collars, repair.CollarIn{Mark: st.Mark, Outcome: "full"})
	}
	_, err := p.Store.Edit(p.ctx, db.Entry{ID: newEntryID(), ProgramID: p.ID, Actor: p.Actor(authz.Inspector), Captured: ago(time.Hour), Ends: []db.EndRef{{ID: p.End("1N-1").End.ID}}, Change: all})
	require.NoError(t, err)
	before := p.capacityOf("1N-1", "as_welded")
	one := p.slip(inspector, "1N-1", tablet.Collar, collarAt(studs[0].Mark, "rejected"))
	got := p.send(inspector, path, time.Now(), one, one)
	require.Equal(t, "stored", got[0].State, got[0])
	require.False(t, got[0].Repeated)
	require.True(t, got[1].Repeated)
	require.Equal(t, got[0].Seq, got[1].Seq)
	again := p.send(inspector, path, time.Now().Add(time.Hour), one)
	require.Equal(t, got[0].Captured, again[0].Captured, "the first answer stands")
	require.Len(t, p.End("1N-1").Collars, len(studs)+1)
	require.Less(t, float64(p.capacityOf("1N-1", "as_welded")), float64(before), "the rejected stud counts at once")

	// The same number with another content, or from another person.
	other := p.slip(inspector, "1N-1", tablet.Collar, collarAt(studs[1].Mark, "full"), func(e *tablet.Envelope) { e.ID = got[0].ID })
	require.Equal(t, "refused", p.send(inspector, path, time.Now(), other)[0].State)
	thief := p.As(authz.Inspector)
	require.Contains(t, p.send(thief, path, time.Now(), one)[0].Reason, "Another person made this entry")
	stolen := p.slip(thief, "1N-1", tablet.Collar, collarAt(studs[1].Mark, "full"), func(e *tablet.Envelope) { e.ID = got[0].ID })
	a := p.send(thief, path, time.Now(), stolen)[0]
	require.Equal(t, "refused", a.State)
	require.Contains(t, a.Reason, "belongs to an entry of another person")
	require.Len(t, p.End("1N-1").Collars, len(studs)+1)
	p.verified()
}

func (p *testProgram) verified() {
	p.t.Helper()
	v, err := p.Store.Verify(p.ctx)
	require.NoError(p.t, err)
	require.Empty(p.t, v.Differences)
}

func TestEntryIsRefusedWithFieldValueAndLimit(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	studs := p.approvedLayout("1N-1")
	inspector, path := p.Role(authz.Inspector), p.Path("tablet", "entries")
	body := map[string]any{"mark": studs[0].Mark, "outcome": "gap", "gap_clock": 4, "gap_length": "9"}
	got := p.send(inspector, path, time.Now(), p.slip(inspector, "1N-1", tablet.Collar, body),
		p.slip(inspector, "1N-1", tablet.Collar, map[string]any{"mark": studs[0].Mark, "outcome": "gap", "gap_length": "x"}),
		p.slip(inspector, "1N-1", tablet.Collar, map[string]any{"mark": studs[0].Mark, "outcome": "full", "surprise": 1}),
		p.slip(inspector, "1N-1", "weather", map[string]any{}), []byte(`{"id":"nonsense"}`), []byte(`7`),
		p.slip(inspector, "1N-1", tablet.Collar, collarAt(studs[2].Mark, "full")))
	for i, want := range []string{"refused", "refused", "refused", "refused", "refused", "refused", "stored"} {
		require.Equal(t, want, got[i].State, "%d %+v", i, got[i])
	}
	require.Contains(t, got[0].Fields[0].Field, "gap_length")
	require.Contains(t, got[0].Fields[0].Reason, "at most")
	require.Equal(t, "x", got[1].Fields[0].Typed)
	require.Contains(t, got[2].Reason, "surprise")
	require.Equal(t, "nonsense", got[4].ID)
	require.Len(t, p.End("1N-1").Collars, 1, "the one that was right")

	// Handed over as it is: kept for the engineer, never half applied.
	over := p.slip(inspector, "1N-1", tablet.Collar, body, func(e *tablet.Envelope) { e.HandOver = true })
	a := p.send(inspector, path, time.Now(), over)[0]
	require.Equal(t, "aside", a.State)
	require.Contains(t, a.Reason, "at most")
	require.Len(t, p.End("1N-1").Collars, 1)
	require.True(t, p.send(inspector, path, time.Now(), over)[0].Repeated)
}

func TestEntryAgainstAnOlderRecordIsKeptAside(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	studs := p.approvedLayout("1N-1")
	inspector, engineer, path := p.Role(authz.Inspector), p.Role(authz.Engineer), p.Path("tablet", "entries")
	late := p.slip(inspector, "1N-1", tablet.Collar, collarAt(studs[0].Mark, "full"))
	survey := p.slip(inspector, "1N-1", tablet.Survey, map[string]any{"kind": "as_found", "method": "ultrasonic",
		"readings": []map[string]string{{"face": "T", "x": "2", "z": "1", "t": "0.31"}}})
	gone := p.slip(inspector, "1N-1", tablet.Inspection, map[string]any{"subject": "note", "outcome": "noted", "note": "ladder is loose"},
		func(e *tablet.Envelope) { e.EndID, e.End = newEntryID(), "9F-9" })
	signed := p.slip(inspector, "1N-1", tablet.Inspection, map[string]any{"subject": "gauges", "outcome": "accepted", "note": "all read"},
		func(e *tablet.Envelope) { e.Against.Sequence = "0123456789abcdef" })
	p.Do(authz.Engineer, "1N-1", asFound(0.6))
	p.approvedLayout("1N-1")
	was := len(p.End("1N-1").Surveys)

	got := p.send(inspector, path, time.Now(), late, survey, gone, signed)
	for i, want := range []string{"revision 2 is in force now", "came meanwhile", "no girder end 9F-9", "sequence of steps was changed"} {
		require.Equal(t, "aside", got[i].State, got[i])
		require.Contains(t, got[i].Reason, want)
	}
	require.Empty(t, p.End("1N-1").Collars)
	require.Len(t, p.End("1N-1").Surveys, was)
	require.True(t, p.send(inspector, path, time.Now(), late)[0].Repeated)

	// The engineer sees each beside what changed; nobody else decides.
	desk := p.Path("aside")
	a := p.Role(authz.Inspector).Get(desk).Status(200).Has("1N-1: weld collar", "Design revision 1.", "revision 2 is in force now", "9F-9", "least")
	a.None("form.aside-form")
	p.Role(authz.Inspector).Post(desk, "entry", newEntryID(), "id", got[0].ID, "how", "record", "why", "x").Status(403)
	a = engineer.Get(desk).Status(200)
	require.Len(t, a.Select("form.aside-form"), 4)
	require.Len(t, a.Select("button[value=apply]"), 3, "an end that is gone can only stay on record")

	decision := newEntryID()
	engineer.Post(desk, "entry", decision, "id", got[0].ID, "how", "apply").LeadsTo(desk)
	engineer.Post(desk, "entry", decision, "id", got[0].ID, "how", "apply").LeadsTo(desk)
	engineer.Post(desk, "entry", newEntryID(), "id", got[0].ID, "how", "record", "why", "x").Status(422)
	r := p.End("1N-1")
	c := r.LatestCollars(r.DesignInForce().ID)[studs[0].Mark]
	require.Equal(t, "full", c.Outcome)
	require.Equal(t, inspector.User.ID.String(), c.ByUser, "it stays the inspector's finding")
	engineer.Post(desk, "entry", newEntryID(), "id", got[1].ID, "how", "record").Status(422).Has("say why it stays without effect")
	engineer.Post(desk, "entry", newEntryID(), "id", got[1].ID, "how", "record", "why", "taken before the blast").LeadsTo(desk)
	engineer.Post(desk, "entry", newEntryID(), "id", got[2].ID, "how", "apply").Status(422)
	engineer.Post(desk, "entry", newEntryID(), "id", got[2].ID, "how", "record", "why", "no such end").LeadsTo(desk)
	engineer.Post(desk, "entry", newEntryID(), "id", newEntryID(), "how", "record", "why", "x").Status(404)
	require.Len(t, p.End("1N-1").Surveys, was)
	engineer.Get(desk).Has("applied by decision", "on record only", "taken before the blast")
	_, err := p.Pool.Exec(p.ctx, "delete from tablet_entry")
	require.ErrorContains(t, err, "never removed")
	p.verified()
}

func TestTwoInspectorsAtOneStud(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	studs := p.approvedLayout("1N-1")
	path := p.Path("tablet", "entries")
	one, two := p.Role(authz.Inspector), p.As(authz.Inspector)
	after := func(e *tablet.Envelope) { e.CapturedAt = ago(2 * time.Minute).Format(time.RFC3339) }
	full := p.slip(two, "1N-1", tablet.Collar, collarAt(studs[0].Mark, "full"), after)
	bad := p.slip(two, "1N-1", tablet.Collar, collarAt(studs[1].Mark, "rejected"), after)
	require.Equal(t, "stored", p.send(one, path, time.Now(), p.slip(one, "1N-1", tablet.Collar, collarAt(studs[0].Mark, "rejected")))[0].State)
	require.Equal(t, "stored", p.send(one, path, time.Now(), p.slip(one, "1N-1", tablet.Collar, collarAt(studs[1].Mark, "full")))[0].State)
	got := p.send(two, path, time.Now(), full, bad)
	require.Equal(t, "aside", got[0].State, "what was rejected is not accepted by whoever comes last")
	require.Equal(t, "stored", got[1].State, "a rejection counts at once")
	require.Contains(t, got[1].Differs, "collar full")
	r := p.End("1N-1")
	require.Len(t, r.Collars, 3, "both stay on record")
	engineerSees := p.Role(authz.Engineer).Get(p.Path("ends", "1N-1"))
	engineerSees.Has("From tablets, to look at", "collar full")
	require.Equal(t, "rejected", r.LatestCollars(studs[0].DesignID)[studs[0].Mark].Outcome)
	require.Equal(t, "rejected", r.LatestCollars(studs[0].DesignID)[studs[1].Mark].Outcome)
	p.Role(authz.Engineer).Get(p.Path("aside")).Has("taken, with a remark", "collar full")

	// Applied by the engineer after a finding that was seen later, it counts from then on.
	p.Do(authz.Inspector, "1N-1", repair.RecordCollars{DesignID: studs[0].DesignID, Collars: []repair.CollarIn{{Mark: studs[0].Mark, Outcome: "removed"}}})
	p.Role(authz.Engineer).Post(p.Path("aside"), "entry", newEntryID(), "id", got[0].ID, "how", "apply").Status(303)
	c := p.End("1N-1").LatestCollars(studs[0].DesignID)[studs[0].Mark]
	require.Equal(t, "full", c.Outcome)
	require.Contains(t, c.Note, "applied by")
	p.verified()
}

// What an entry rests on besides the revision: the studs as they stood, the steps, the
// name of the end. Whatever of it moved, the entry is kept aside.
func TestWhatAnEntryRestsOn(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	studs := p.approvedLayout("1N-1")
	inspector, path := p.Role(authz.Inspector), p.Path("tablet", "entries")
	note := map[string]any{"subject": "note", "outcome": "noted", "note": "x"}
	got := p.send(inspector, path, time.Now(),
		p.slip(inspector, "1N-1", tablet.Collar, collarAt(studs[0].Mark, "full"), func(e *tablet.Envelope) { e.Against.Studs = "0123456789abcdef" }),
		p.slip(inspector, "1N-1", tablet.Collar, collarAt("Q-9-9", "full")),
		p.slip(inspector, "1N-2", tablet.Collar, collarAt(studs[0].Mark, "full")),
		p.slip(inspector, "1N-1", tablet.Nonconformance, map[string]any{"requirement": "WPS", "found": "wet", "stops": []string{"ZZZ"}}),
		p.slip(inspector, "1N-1", tablet.Inspection, note, func(e *tablet.Envelope) { e.End = "1N-2" }))
	for i, want := range []string{"moved or renamed", "no stud Q-9-9", "no design any more", "no step ZZZ", "the record calls it 1N-1"} {
		require.Equal(t, "aside", got[i].State, got[i])
		require.Contains(t, got[i].Reason, want)
	}
	r := p.End("1N-1")
	require.Empty(t, r.Collars)
	require.Empty(t, r.Nonconformances)
	require.Empty(t, r.Inspections)
	for _, body := range []map[string]any{{"subject": "note", "outcome": "accepted", "note": "x"}, {"subject": "form", "outcome": "noted", "note": "x"}, {"subject": "note", "outcome": "noted"},
		{"subject": "weather", "outcome": "accepted", "note": "x"}, {"subject": "note", "outcome": "noted", "note": strings.Repeat("x", 5000)}} {
		require.Equal(t, "refused", p.send(inspector, path, time.Now(), p.slip(inspector, "1N-1", tablet.Inspection, body))[0].State, body)
	}
}

func TestClockWrongByADay(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	studs := p.approvedLayout("1N-1")
	inspector, path := p.Role(authz.Inspector), p.Path("tablet", "entries")
	seen := time.Now().Add(-10 * time.Minute)
	for i, off := range []time.Duration{24 * time.Hour, -24 * time.Hour} {
		e := p.slip(inspector, "1N-1", tablet.Collar, collarAt(studs[i].Mark, "full"), func(e *tablet.Envelope) { e.CapturedAt = seen.Add(off).Format(time.RFC3339) })
		got := p.send(inspector, path, time.Now().Add(off), e)[0]
		require.Equal(t, "stored", got.State, got)
		require.True(t, got.ClockWrong)
		require.WithinDuration(t, seen, got.Captured, 5*time.Second)
	}
	require.Len(t, p.End("1N-1").Collars, 2)
	p.Role(authz.Engineer).Get(p.Path("aside")).Has("its clock 24 h fast", "its clock 24 h slow", "set right to")
	told := func(i int) string {
		return seen.Add([]time.Duration{24 * time.Hour, -24 * time.Hour}[i]).UTC().Format("2006-01-02 15:04 -07:00")
	}
	right := seen.UTC().Format("2006-01-02 15:04")
	inspector.Get(p.Path("ends", "1N-1")).Has("Time as the tablet told it", told(0), told(1), right, "clock 24 h fast", "clock was wrong")
	inspector.Get(p.Path("ends", "1N-1", "history")).Has("told by the tablet", told(0), "its clock 24 h slow", "set right to", right, "arrived")
}

func TestEveryKindOfEntryComesOnRecord(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.approvedLayout("1N-1")
	inspector, path := p.Role(authz.Inspector), p.Path("tablet", "entries")
	at := func(d time.Duration) string { return time.Now().Add(-d).Format(time.RFC3339) }
	got := p.send(inspector, path, time.Now(),
		p.slip(inspector, "1N-1", tablet.Survey, map[string]any{"kind": "cleaned", "method": "ultrasonic", "gauge": "UT 7", "readings": []map[string]any{
			{"face": "T", "x": "2", "z": "1", "t": "0.29"}, {"face": "T", "x": "5", "z": "1", "t": "5/16"}, {"face": "T", "x": "8", "z": "1", "no_access": true, "reason": "bracing"}},
			"holes": []map[string]string{{"x": "3", "z": "2", "width": "1", "height": "1", "rim": "0.1"}}}),
		p.slip(inspector, "1N-1", tablet.Cleaning, map[string]any{"method": "power_tool", "from": at(3 * time.Hour), "to": at(2 * time.Hour), "steel": "60",
			"zones": []map[string]string{{"zone": "stud_positions", "grade": "SP11", "rust": "none"}}}),
		p.slip(inspector, "1N-1", tablet.Inspection, map[string]any{"subject": "test_studs", "outcome": "accepted", "facts": []string{"2 studs", "bent 30 degrees"}}),
		p.slip(inspector, "1N-1", tablet.Inspection, map[string]any{"subject": "note", "outcome": "noted", "note": "ladder is loose"}),
		p.slip(inspector, "1N-1", tablet.Nonconformance, map[string]any{"requirement": "WPS 3", "found": "wet ferrules", "stops": []string{}}),
		p.slip(inspector, "1N-1", tablet.Pour, map[string]any{"started": at(2 * time.Hour), "ended": at(time.Hour), "volume_l": "80",
			"batches": []map[string]any{{"mixed": at(2 * time.Hour), "placed": at(110 * time.Minute), "flow": "9"}}}))
	for i, a := range got {
		require.Equal(t, "stored", a.State, "%d %+v", i, a)
	}
	r := p.End("1N-1")
	sv := r.LatestSurvey()
	require.Equal(t, "cleaned", sv.Kind)
	var typed []string
	for _, x := range r.Readings {
		if x.SurveyID == sv.ID {
			typed = append(typed, x.Typed)
		}
	}
	require.ElementsMatch(t, []string{"0.29", "5/16", ""}, typed, "what was typed stays as it was typed")
	require.Len(t, r.Cleanings, 1)
	require.Len(t, r.Inspections, 2)
	require.Equal(t, "2 studs; bent 30 degrees", r.Inspections[0].Note)
	require.Len(t, r.Nonconformances, 1)
	require.Len(t, p.Scope("1N-1").Pours, 1)
	require.True(t, r.State[0].OutOfDate, "the design stands on the survey before")
	p.Role(authz.Engineer).Get(p.Path("ends", "1N-1")).Has("Test studs of the shift", "ladder is loose")

	contractor := p.Role(authz.Contractor)
	a := p.send(contractor, path, time.Now(), p.slip(contractor, "1N-1", tablet.Cleaning, map[string]any{"method": "power_tool"}))[0]
	require.Equal(t, "refused", a.State)
	require.Contains(t, a.Reason, "role does not allow")
	p.verified()
}

func TestBatchThatCannotBeRead(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	inspector, path := p.Role(authz.Inspector), p.Path("tablet", "entries")
	for _, body := range []string{"", "[]", "{}", `{"format":9,"sent_at":"2026-01-01T00:00:00Z","entries":[]}`, `{"format":1,"sent_at":"yesterday","entries":[]}`,
		`{"format":1,"sent_at":"2026-01-01T00:00:00Z","entries":[]} more`, `{"format":1,"sent_at":"2026-01-01T00:00:00Z","entries":[` + strings.Repeat("1,", 100) + `1]}`} {
		status := p.postJSON(inspector, path, []byte(body)).Response.StatusCode
		require.Contains(t, []int{400, 422}, status, body)
	}
	require.Equal(t, 413, p.postJSON(inspector, path, bytes.Repeat([]byte(" "), 5<<20)).Response.StatusCode)
	require.Equal(t, 401, p.postJSON(p.Anonymous(), path, []byte("{}")).Response.StatusCode)
	require.Equal(t, 403, p.postJSON(p.Role(authz.Manager), path, []byte("{}")).Response.StatusCode)
}

func TestDeskOfEntriesKeptAside(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	studs := p.approvedLayout("1N-1")
	inspector, path := p.Role(authz.Inspector), p.Path("tablet", "entries")
	page := p.Browser(authz.Engineer)
	p.Look(page, p.Path("aside"), "aside-empty")
	late := p.slip(inspector, "1N-1", tablet.Collar, map[string]any{"mark": studs[0].Mark, "outcome": "gap", "gap_clock": 4, "gap_length": "3/8", "note": "porous"})
	gone := p.slip(inspector, "1N-1", tablet.Inspection, map[string]any{"subject": "note", "outcome": "noted", "note": "ladder is loose"},
		func(e *tablet.Envelope) { e.EndID, e.End = newEntryID(), "9F-9" })
	p.Do(authz.Inspector, "1N-1", asFound(0.6))
	p.approvedLayout("1N-1")
	p.send(inspector, path, time.Now().Add(26*time.Hour), late, gone)
	p.Look(page, p.Path("aside"), "aside")
	page.Submit(`button[value=apply]`)
	require.Contains(t, page.Text(".flash"), "applied as the record stands now")
}

// One entry that arrives over several connections at once is stored once and answered
// alike; entries of several tablets at one end all come on record.
func TestEntriesAtTheSameInstant(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	studs := p.approvedLayout("1N-1")
	inspector, path := p.Role(authz.Inspector), p.Path("tablet", "entries")
	var bodies [][]byte
	for _, st := range studs[:4] {
		raw := p.slip(inspector, "1N-1", tablet.Collar, collarAt(st.Mark, "full"))
		body, err := json.Marshal(map[string]any{"format": 1, "sent_at": time.Now().Format(time.RFC3339), "entries": []json.RawMessage{raw}})
		require.NoError(t, err)
		bodies = append(bodies, body)
	}
	var mu sync.Mutex
	states := map[string]int{}
	var wg sync.WaitGroup
	for i := range 16 {
		wg.Go(func() {
			r := httptest.NewRequest(http.MethodPost, webtest.Base+path, bytes.NewReader(bodies[i%4]))
			for _, c := range inspector.Cookies() {
				r.AddCookie(c)
			}
			w := httptest.NewRecorder()
			p.Handler.ServeHTTP(w, r)
			var out struct{ Answers []reply }
			mu.Lock()
			defer mu.Unlock()
			if json.Unmarshal(w.Body.Bytes(), &out) != nil || len(out.Answers) != 1 {
				states["unreadable"]++
				return
			}
			state := out.Answers[0].State
			if out.Answers[0].Repeated {
				state = "repeated"
			}
			states[state]++
		})
	}
	wg.Wait()
	require.Equal(t, map[string]int{"stored": 4, "repeated": 12}, states)
	require.Len(t, p.End("1N-1").Collars, 4)
	p.verified()
}
