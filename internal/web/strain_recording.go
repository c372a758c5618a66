package web

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/go-chi/chi/v5"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/logfile"
	"endcast/internal/domain/monitor"
	"endcast/internal/domain/repair"
	"endcast/views/strain"
	"endcast/views/ui"
)

// day prints the day of a moment in the program's own time.
func (e *endReader) day(t time.Time) string { return t.In(e.zone).Format(time.DateOnly) }

// strainRecordings lists what was recorded at an end.
func (s *Server) strainRecordings(w http.ResponseWriter, r *http.Request) error {
	e, err := s.openEnd(r)
	if err != nil {
		return err
	}
	return e.recordingsPage(w, http.StatusOK, "")
}

func (e *endReader) recordingsPage(w http.ResponseWriter, status int, why string) error {
	v := strain.Recordings{Head: e.strainHead("recordings"), FileWhy: why, Limit: logfile.Size(strainLimit),
		Table: strain.Table{Caption: "Recordings of the end", None: "No strain is on record at this end.", Columns: []ui.Column{{Label: "From"}, {Label: "To"}, {Label: "Logger"}, {Label: "Rows", Numeric: true},
			{Label: "Rate"}, {Label: "Sensors"}, {Label: "What screening found"}, {Label: "Counts"}}},
		Jobs: strain.Table{Caption: "Files that are being read, and those of the last days that were not taken", Columns: []ui.Column{{Label: "Sent"}, {Label: "File"}, {Label: "Rows read", Numeric: true}, {Label: "State"}}}}
	for _, x := range newestFirst(e.rec.Recordings, func(x repair.Recording) time.Time { return x.FromAt }) {
		var names []string
		for _, c := range x.Channels {
			names = append(names, c.Name)
		}
		mark := ui.Mark{State: ui.Good, Text: "counts"}
		if x.WithdrawnAt != nil {
			mark = ui.Mark{State: ui.Void, Text: "withdrawn"}
		}
		found := strain.Cell{Text: "nothing", Mark: &ui.Mark{State: ui.Good}}
		if n := len(x.Found); n > 0 {
			found = strain.Cell{Text: totals(x.FoundTotal), Mark: &ui.Mark{State: ui.Caution}}
		}
		v.Table.Rows = append(v.Table.Rows, []strain.Cell{{Text: e.second(x.FromAt), Head: true, Num: true, Href: e.path("strain", "recordings", x.ID)}, {Text: e.second(x.ToAt), Num: true}, {Text: x.Logger, Small: x.FileName},
			{Text: grouped(x.Rows), Num: true}, {Text: monitor.RateWords(x.Rate)}, {Text: strings.Join(names, ", ")}, found, {Mark: &mark, Small: x.WithdrawnWhy}})
	}
	jobs, err := e.s.store.StrainJobs(e.r.Context(), e.rec.End.ID)
	if err != nil {
		return err
	}
	for _, j := range jobs {
		mark, says := jobMark(j)
		name := "search for passages"
		if j.Kind == "import" {
			name = jobFile(j)
		}
		v.Jobs.Rows = append(v.Jobs.Rows, []strain.Cell{{Text: e.when(j.CreatedAt), Num: true}, {Text: name, Href: e.path("strain", "recordings", "job", j.ID)}, {Text: grouped(j.Rows), Num: true}, {Mark: &mark, Small: says}})
	}
	if e.s.can(e.r, authz.RecordStrain) {
		v.Upload = e.path("strain", "recordings", "file")
		drafts, err := e.s.store.StrainDrafts(e.r.Context(), e.sc.Program.ID, e.s.user(e.r).ID.String(), e.rec.End.ID)
		if err != nil {
			return err
		}
		for _, d := range drafts {
			v.Drafts = append(v.Drafts, strain.Link{Text: d.Name + ", " + logfile.Size(d.Size), Href: e.path("strain", "recordings", "file", d.ID)})
		}
	}
	return e.s.render(w, e.r, status, strain.RecordingsPage(e.strainPage("Strain recordings of"), v))
}

func (e *endReader) second(t time.Time) string { return t.In(e.zone).Format("2006-01-02 15:04:05") }

// grouped is a count with its thousands apart.
func grouped(n int64) string {
	s := strconv.FormatInt(n, 10)
	for i := len(s) - 3; i > 0; i -= 3 {
		s = s[:i] + "," + s[i:]
	}
	return s
}

func totals(m map[string]int) string {
	var keys []string
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	for i, k := range keys {
		keys[i] = fmt.Sprintf("%s %d", plainWord(k), m[k])
	}
	return strings.Join(keys, ", ")
}

func jobMark(j db.StrainJob) (ui.Mark, string) {
	switch j.State {
	case db.JobDone:
		return ui.Mark{State: ui.Good, Text: "read"}, ""
	case db.JobFailed:
		return ui.Mark{State: ui.Stop, Text: "not taken"}, ui.Sentence(j.Message)
	case db.JobCancelled:
		return ui.Mark{State: ui.Void, Text: "cancelled"}, ""
	case db.JobRunning:
		return ui.Mark{State: ui.Active, Text: "being read"}, ""
	}
	return ui.Mark{State: ui.Wait, Text: "waits"}, ""
}

// strainJob tells how far the reading of a file is; the browser is asked to come again
// while it goes on.
func (s *Server) strainJob(w http.ResponseWriter, r *http.Request) error {
	e, err := s.openEnd(r)
	if err != nil {
		return err
	}
	j, err := s.store.StrainJob(r.Context(), e.rec.End.ID, chi.URLParam(r, "job"))
	if err != nil {
		return err
	}
	mark, says := jobMark(j)
	v := strain.Job{Head: e.strainHead("recordings"), Mark: mark, Says: says, Part: -1, Facts: [][2]string{{"Rows read", grouped(j.Rows)}, {"Asked", e.when(j.CreatedAt)}}}
	if j.Kind == "import" {
		v.Facts = append(v.Facts, [2]string{"File", jobFile(j)}, [2]string{"Read", logfile.Size(j.Bytes) + " of " + logfile.Size(j.Total)})
	}
	switch {
	case j.Open():
		w.Header().Set("Refresh", "3")
		v.Says = "The page comes again by itself every three seconds. You may leave it: the reading goes on."
		if j.Total > 0 {
			v.Part = float64(j.Bytes) / float64(j.Total)
		}
		if s.can(r, authz.RecordStrain) {
			v.Cancel = e.path("strain", "recordings", "job", j.ID)
		}
	case j.State == db.JobDone:
		v.Says = "It was read to its end and is on record."
		v.Next = append(v.Next, strain.Link{Text: "The recording", Href: e.path("strain", "recordings", j.RecordingID)})
	case j.State == db.JobFailed:
		v.Says += " Nothing of it was stored."
		if j.DraftID != nil && s.can(r, authz.RecordStrain) {
			v.Next = append(v.Next, strain.Link{Text: "Read it another way", Href: e.path("strain", "recordings", "file", *j.DraftID)})
		}
	default:
		v.Says = "Nothing of it was stored."
	}
	v.Next = append(v.Next, strain.Link{Text: "Recordings", Href: e.path("strain", "recordings")})
	return s.render(w, r, http.StatusOK, strain.JobPage(e.strainPage("Reading a file of"), v))
}

func (s *Server) strainCancel(w http.ResponseWriter, r *http.Request) error {
	e, err := s.openEnd(r)
	if err != nil {
		return err
	}
	id := chi.URLParam(r, "job")
	if _, err := s.store.StrainJob(r.Context(), e.rec.End.ID, id); err != nil {
		return err
	}
	if err := s.store.CancelStrainJob(r.Context(), e.rec.End.ID, id); err != nil {
		return err
	}
	return seeOther(w, r, e.path("strain", "recordings", "job", id))
}

// strainRecording shows one recording.
func (s *Server) strainRecording(w http.ResponseWriter, r *http.Request) error {
	e, x, err := s.openRecording(r)
	if err != nil {
		return err
	}
	v := strain.Recording{Head: e.strainHead("recordings"), Facts: [][2]string{{"Logger", x.Logger}, {"File", x.FileName + ", " + logfile.Size(x.Size)}, {"From", e.second(x.FromAt)}, {"To", e.second(x.ToAt)}, {"Rows", grouped(x.Rows)},
		{"Rate", monitor.RateWords(x.Rate)}, {"Time without rows", fmt.Sprintf("%.2f %%", 100*x.Lost)}, {"SHA-256 of the file", x.SHA256}, {"Samples", shortDigest(x.SamplesDigest)}, {"Put on record by", x.ByName + ", " + e.when(x.ArrivedAt)}},
		Found:    strain.Table{Caption: "What screening found, with its first line and column", None: "Nothing odd was found.", Columns: []ui.Column{{Label: "What"}, {Label: "Sensor"}, {Label: "Line", Numeric: true}, {Label: "Column", Numeric: true}, {Label: "From"}, {Label: "Rows", Numeric: true}, {Label: "In words"}}},
		Channels: strain.Table{Caption: "Columns and their sensors", Columns: []ui.Column{{Label: "Column", Numeric: true}, {Label: "Title"}, {Label: "Sensor"}, {Label: "Lowest", Numeric: true}, {Label: "Highest", Numeric: true}}},
		Ways:     []strain.Link{{Text: "Look at it", Href: e.tracePath(nil, x.FromAt.UnixNano(), x.ToAt.UnixNano())}, {Text: "The file as it came", Href: e.path("strain", "recordings", x.ID, "file")}}}
	if x.WithdrawnAt != nil {
		v.Facts = append(v.Facts, [2]string{"Withdrawn", x.WithdrawnWhy + " (" + x.WithdrawnBy + ", " + e.when(*x.WithdrawnAt) + ")"})
	}
	if x.Note != "" {
		v.Facts = append(v.Facts, [2]string{"Note", x.Note})
	}
	for _, f := range x.Found {
		who, col := f.Sensor, ""
		if who == "" {
			who = "rows"
		}
		if f.Column > 0 {
			col = strconv.Itoa(f.Column)
		}
		v.Found.Rows = append(v.Found.Rows, []strain.Cell{{Text: sentenceCase(plainWord(f.Kind)), Head: true, Mark: &ui.Mark{State: ui.Caution}}, {Text: who}, {Text: strconv.Itoa(f.Line), Num: true}, {Text: col, Num: true},
			{Text: e.second(time.Unix(0, f.From)), Num: true, Href: e.tracePath(nil, f.From-2e9, max(f.To, f.From)+2e9)}, {Text: grouped(f.Rows), Num: true}, {Text: ui.Sentence(f.Words)}})
	}
	value := func(v *float64) string {
		if v == nil {
			return "none read"
		}
		return strconv.FormatFloat(*v, 'g', 6, 64)
	}
	for _, c := range x.Channels {
		v.Channels.Rows = append(v.Channels.Rows, []strain.Cell{{Text: strconv.Itoa(c.Column), Num: true}, {Text: c.Title}, {Text: c.Name}, {Text: value(c.Low), Num: true}, {Text: value(c.High), Num: true}})
	}
	if x.WithdrawnAt == nil && s.can(r, authz.RecordStrain) {
		v.Withdraw = &strain.Form{ID: "withdraw", Action: e.path("strain", "recordings", "withdraw"), Submit: "Withdraw it", Hidden: [][2]string{{"recording", x.ID}}, Groups: []strain.Group{{Fields: []ui.Field{{Name: "why", Label: "Why the recording does not count"}}}}}
	}
	return s.render(w, r, http.StatusOK, strain.RecordingPage(e.strainPage("Recording of"), v))
}

func (s *Server) openRecording(r *http.Request) (*endReader, repair.Recording, error) {
	e, err := s.openEnd(r)
	if err != nil {
		return nil, repair.Recording{}, err
	}
	x, ok := e.rec.RecordingOf(chi.URLParam(r, "recording"))
	if !ok {
		return nil, x, fault.New(fault.NotFound, "this end has no such recording")
	}
	return e, x, nil
}

func (s *Server) strainRaw(w http.ResponseWriter, r *http.Request) error {
	_, x, err := s.openRecording(r)
	if err != nil {
		return err
	}
	h := w.Header()
	h.Set("Content-Type", "application/octet-stream")
	h.Set("Content-Security-Policy", "sandbox")
	h.Set("Content-Disposition", "attachment; filename*=UTF-8''"+url.PathEscape(x.FileName))
	return s.store.RawFile(r.Context(), x.SHA256, w)
}

func (s *Server) strainWithdraw(w http.ResponseWriter, r *http.Request) error {
	e, err := s.openEnd(r)
	if err != nil {
		return err
	}
	f, err := e.typed()
	if err != nil {
		return err
	}
	ch := repair.WithdrawRecording{Recording: f.text("recording"), Why: f.text("why")}
	if err := e.observe(time.Time{}, ch); err != nil {
		if fault.KindOf(err) == fault.Fields {
			s.flash(r, ui.Failed, "Say why the recording does not count.")
			return seeOther(w, r, e.path("strain", "recordings", ch.Recording))
		}
		return err
	}
	s.flash(r, ui.Done, "The recording is withdrawn. It stays on record and counts no more.")
	return seeOther(w, r, e.path("strain", "recordings"))
}
