package web

import (
	"errors"
	"fmt"
	"io"
	"iter"
	"math"
	"net/http"
	"net/url"
	"os"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/go-chi/chi/v5"

	"endcast/internal/db"
	"endcast/internal/domain/basis"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/logfile"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/uhpc"
	"endcast/internal/domain/units"
	"endcast/views/casting"
	"endcast/views/ui"
)

// loggerBody is the largest request that brings a logger file: the largest that
// the setting allows, and the form around it.
const loggerBody = 501e6

// curingUpload keeps a file of a logger until it is confirmed. What is no table is
// refused at once.
func (s *Server) curingUpload(w http.ResponseWriter, r *http.Request) error {
	c, err := s.openPour(r)
	if err != nil {
		return err
	}
	limit := c.loggerLimit()
	bad := &fault.Invalid{}
	again := func() error { return s.curingPage(w, r, http.StatusUnprocessableEntity, c, url.Values{}, bad, "") }
	r.Body = http.MaxBytesReader(w, r.Body, limit+64<<10)
	if err := parseForm(r); err != nil {
		if fault.KindOf(err) != fault.TooLarge {
			return err
		}
		bad.Add("file", "", "the file is larger than the %g MB that the design basis allows", float64(limit)/1e6)
		return again()
	}
	if r.MultipartForm != nil {
		defer func() { _ = r.MultipartForm.RemoveAll() }()
	}
	f, head, err := r.FormFile("file")
	switch {
	case errors.Is(err, http.ErrMissingFile) || errors.Is(err, http.ErrNotMultipart):
		bad.Add("file", "", "choose a file")
		return again()
	case err != nil:
		return asTooLarge(err)
	}
	defer f.Close()
	if head.Size > limit {
		bad.Add("file", head.Filename, "the file has %s, more than the %g MB that the design basis allows", logfile.Size(head.Size), float64(limit)/1e6)
		return again()
	}
	start, err := firstBytes(head.Filename, f, head.Size, c.unpacked())
	if err == nil {
		_, _, err = logfile.Guess(start)
	}
	if err != nil {
		if k := fault.KindOf(err); k != fault.Refused && k != fault.TooLarge {
			return err
		}
		bad.Add("file", head.Filename, "%s", fault.Message(err))
		return again()
	}
	if _, err := f.Seek(0, io.SeekStart); err != nil {
		return err
	}
	d, err := s.store.KeepLoggerDraft(r.Context(), c.head.ID.String(), s.user(r).ID.String(), c.pour.Number, plainName(head.Filename), f)
	if err != nil {
		return err
	}
	return seeOther(w, r, c.curingPath("file", d.ID))
}

// plainName is the last part of a file's name, without what is no text.
func plainName(name string) string {
	name = name[strings.LastIndexAny(name, `/\`)+1:]
	name = strings.Map(func(x rune) rune {
		if x < ' ' || x == 0x7f || x == '\uFFFD' {
			return -1
		}
		return x
	}, strings.ToValidUTF8(name, ""))
	if len(name) > 200 {
		name = strings.ToValidUTF8(name[:200], "")
	}
	if name == "" {
		return "file"
	}
	return name
}

func (c *castReader) unpacked() logfile.Limits {
	return logfile.Limits{Bytes: int64(c.basis.Value(basis.LoggerUnpacked) * 1e6)}
}

// firstBytes returns the beginning of the text in a file.
func firstBytes(name string, src io.ReaderAt, size int64, lim logfile.Limits) ([]byte, error) {
	parts, err := logfile.Unpack(name, src, size, lim)
	if err != nil {
		return nil, err
	}
	f, err := parts[0].Open()
	if err != nil {
		return nil, err
	}
	defer f.Close()
	head := make([]byte, logfile.HeadSize)
	n, err := io.ReadFull(f, head)
	if err != nil && !errors.Is(err, io.EOF) && !errors.Is(err, io.ErrUnexpectedEOF) {
		return nil, err
	}
	return head[:n], nil
}

// draftFile is a file that waits, at hand.
type draftFile struct {
	c     *pourReader
	d     db.LoggerDraft
	file  *os.File
	parts []logfile.Part
	form  *mapForm
	head  []byte
}

func (f *draftFile) close() {
	_ = f.file.Close()
	_ = os.Remove(f.file.Name())
}

// openDraft brings the file of the address to a temporary one and guesses, or takes
// from the form, how it is read. Close it.
func (s *Server) openDraft(r *http.Request, c *pourReader, values url.Values) (*draftFile, error) {
	d, err := s.store.LoggerDraft(r.Context(), c.head.ID.String(), s.user(r).ID.String(), chi.URLParam(r, "draft"))
	if err != nil {
		return nil, err
	}
	if d.Pour != c.pour.Number {
		return nil, fault.New(fault.NotFound, "this file was sent for pour %d", d.Pour)
	}
	f := &draftFile{c: c, d: d}
	if f.file, err = os.CreateTemp("", "endcast-logger-*"); err != nil {
		return nil, fmt.Errorf("logger file: %w", err)
	}
	if err = f.open(r, s, values); err != nil {
		f.close()
		return nil, err
	}
	return f, nil
}

func (f *draftFile) open(r *http.Request, s *Server, values url.Values) error {
	if err := s.store.CopyLoggerDraft(r.Context(), f.d, f.file); err != nil {
		return err
	}
	var err error
	if f.parts, err = logfile.Unpack(f.d.Name, f.file, f.d.Size, f.c.unpacked()); err != nil {
		return err
	}
	if f.head, err = firstBytes(f.d.Name, f.file, f.d.Size, f.c.unpacked()); err != nil {
		return err
	}
	m, doubts, err := logfile.Guess(f.head)
	if err != nil {
		return err
	}
	f.form = &mapForm{c: f.c, m: m, doubts: doubts, names: m.Values, bad: &fault.Invalid{}}
	if name := values.Get("logger"); name != "" {
		for _, l := range f.c.frame.LoggerMaps {
			if known, ok := mapTyped(l.Map); l.Name == name && ok {
				f.form.m, f.form.doubts = known, nil
			}
		}
	}
	if values.Has("separator") {
		f.form.read(values)
	}
	return nil
}

// curingFile shows how a file would be read, and what is odd in it.
func (s *Server) curingFile(w http.ResponseWriter, r *http.Request) error {
	c, err := s.openPour(r)
	if err != nil {
		return err
	}
	values := r.URL.Query()
	f, err := s.openDraft(r, c, values)
	if err != nil {
		return err
	}
	defer f.close()
	return s.curingFilePage(w, r, http.StatusOK, f, values, nil, "")
}

func (s *Server) curingFilePage(w http.ResponseWriter, r *http.Request, status int, f *draftFile, values url.Values, bad *fault.Invalid, refused string) error {
	c := f.c
	v := casting.LoggerFile{Name: f.d.Name, Size: logfile.Size(f.d.Size), Sent: c.day(f.d.At), Back: c.curingPath(), Action: c.curingPath("file", f.d.ID), Refused: refused,
		Cells: logfile.Cells(f.head, f.form.m, 12), Header: f.form.m.Header, Allowed: map[string]bool{}}
	for _, row := range v.Cells {
		v.Widths = max(v.Widths, len(row))
	}
	for _, a := range values["allow"] {
		v.Allowed[a] = true
	}
	for _, l := range c.frame.LoggerMaps {
		if _, ok := mapTyped(l.Map); ok {
			v.Remembered = append(v.Remembered, casting.Link{Text: l.Name, Href: v.Action + "?logger=" + url.QueryEscape(l.Name)})
		}
	}
	rules := f.form.rules(values["allow"])
	if f.form.known() && len(f.form.bad.Fields) == 0 && refused == "" {
		read, err := f.read(rules)
		var p *logfile.Problem
		switch {
		case errors.As(err, &p):
			v.Refused = p.Error()
			status = http.StatusUnprocessableEntity
			for _, o := range allowable {
				if o.Value == string(p.Kind) {
					v.Allow = append(v.Allow, o)
				}
			}
		case err != nil:
			return err
		default:
			v.Read = read
		}
	} else if f.form.typed != nil && len(f.form.bad.Fields) > 0 {
		status = http.StatusUnprocessableEntity
	}
	for a := range v.Allowed {
		if !slices.ContainsFunc(v.Allow, func(o ui.Option) bool { return o.Value == a }) {
			if i := slices.IndexFunc(allowable, func(o ui.Option) bool { return o.Value == a }); i >= 0 {
				v.Allow = append(v.Allow, allowable[i])
			}
		}
	}
	v.Bad = &fault.Invalid{Fields: append(slices.Clone(f.form.bad.Fields), faultsOf(bad)...)}
	v.Columns = f.form.fields()
	v.Head = append(c.headFields("", values, bad), ui.Field{Name: "remember", Label: "Remember how this logger is read, as", Value: rememberAs(values), Optional: true,
		Hint: "Its next file is then read the same way."}.With(bad))
	p := s.page(r, "Read a logger file", ui.Crumb{Label: "Bridge", Href: c.head.Path()}, ui.Crumb{Label: "Pours", Href: c.head.Path("pours")},
		ui.Crumb{Label: "Pour " + strconv.Itoa(c.pour.Number), Href: c.head.Path("pours", strconv.Itoa(c.pour.Number))}, ui.Crumb{Label: "Curing", Href: c.curingPath()})
	p.Block = c.block()
	return s.render(w, r, status, casting.LoggerFilePage(p, v))
}

func rememberAs(v url.Values) string {
	if v.Has("remember") {
		return v.Get("remember")
	}
	return v.Get("logger")
}

func faultsOf(v *fault.Invalid) []fault.Field {
	if v == nil {
		return nil
	}
	return v.Fields
}

// previewRows is how many readings are shown before a log is put on record.
const previewRows = 6

// read walks over the whole file and says what it holds. A *logfile.Problem says why
// it cannot be taken.
func (f *draftFile) read(rules logfile.Rules) (*casting.LoggerRead, error) {
	c := f.c
	out := &casting.LoggerRead{}
	r := logfile.ReadParts(f.parts, f.form.m, rules)
	defer r.Close()
	for r.Next() {
		if len(out.Rows) < previewRows {
			t := "no reading"
			if x := r.Values()[0]; !math.IsNaN(x) {
				t = units.Temperatures.Format(x, c.sys, 1)
			}
			out.Rows = append(out.Rows, [3]string{strconv.Itoa(r.Line()), c.second(r.At()), t})
		}
	}
	if err := r.Err(); err != nil {
		return nil, err
	}
	rep := r.Report()
	out.Facts = [][2]string{{"Rows", strconv.Itoa(rep.Rows)}, {"First", c.second(rep.First)}, {"Last", c.second(rep.Last)}, {"Every", logfile.Span(rep.Step)}}
	if !math.IsInf(rep.Low[0], 0) {
		out.Facts = append(out.Facts, [2]string{"Coldest", units.Temperatures.Format(rep.Low[0], c.sys, 1)}, [2]string{"Hottest", units.Temperatures.Format(rep.High[0], c.sys, 1)})
	}
	total := 0
	for _, n := range rep.Counts {
		total += n
	}
	for _, x := range rep.Findings {
		where := "line " + strconv.Itoa(x.Line)
		if x.Column > 0 {
			where += ", column " + strconv.Itoa(x.Column)
		}
		if x.File != "" {
			where = x.File + ", " + where
		}
		when := ""
		if !x.From.IsZero() {
			when = c.second(x.From)
		}
		out.Findings = append(out.Findings, casting.LoggerFinding{Mark: strings.ReplaceAll(string(x.Kind), "_", " "), Where: where, When: when, Text: ui.Sentence(x.Text)})
	}
	if n := total - len(rep.Findings); n > 0 {
		out.More = fmt.Sprintf("And %d more like these.", n)
	}
	return out, nil
}

// second prints a moment to the second.
func (c *castReader) second(t time.Time) string { return t.In(c.zone).Format("2006-01-02 15:04:05") }

// readings yields the temperatures of the file, rows without one left out.
func (f *draftFile) readings(rules logfile.Rules) iter.Seq2[uhpc.Temperature, error] {
	return func(yield func(uhpc.Temperature, error) bool) {
		r := logfile.ReadParts(f.parts, f.form.m, rules)
		defer r.Close()
		for r.Next() {
			if x := r.Values()[0]; !math.IsNaN(x) && !yield(uhpc.Temperature{At: r.At(), Value: units.Temperature(x)}, nil) {
				return
			}
		}
		if err := r.Err(); err != nil {
			yield(uhpc.Temperature{}, err)
		}
	}
}

// curingFileRecord puts the log of a file on record, or lets go of the file.
func (s *Server) curingFileRecord(w http.ResponseWriter, r *http.Request) error {
	c, err := s.openPour(r)
	if err != nil {
		return err
	}
	if err := parseForm(r); err != nil {
		return err
	}
	values := r.PostForm
	program, user, draft := c.head.ID.String(), s.user(r).ID.String(), chi.URLParam(r, "draft")
	if values.Get("act") == "discard" {
		if err := s.store.DropLoggerDraft(r.Context(), program, user, draft); err != nil {
			return err
		}
		s.flash(r, ui.Notice, "The file is discarded. Nothing was stored.")
		return seeOther(w, r, c.curingPath())
	}
	f, err := s.openDraft(r, c, values)
	if err != nil {
		return err
	}
	defer f.close()
	rules := f.form.rules(values["allow"])
	bad := &fault.Invalid{}
	head := c.logHead("", values, bad)
	if f.form.typed == nil {
		return fault.New(fault.Malformed, "the form does not say how the file is read: load the page again")
	}
	if len(bad.Fields)+len(f.form.bad.Fields) > 0 {
		return s.curingFilePage(w, r, http.StatusUnprocessableEntity, f, values, bad, "")
	}
	m, err := typedMap(f.form.m, rules.Allow)
	if err != nil {
		return err
	}
	ch := repair.RecordCuringLog{LogHead: head, FileName: f.d.Name, SHA256: f.d.SHA256, Map: m, Remember: strings.TrimSpace(values.Get("remember")),
		File: func() (io.ReadCloser, error) { return io.NopCloser(io.NewSectionReader(f.file, 0, f.d.Size)), nil },
		Open: func() iter.Seq2[uhpc.Temperature, error] { return f.readings(rules) }}
	rec, err := s.edit(r, nil, time.Time{}, ch)
	var invalid *fault.Invalid
	switch {
	case errors.As(err, &invalid):
		for _, x := range invalid.Fields {
			if x.Field == "file" {
				return s.curingFilePage(w, r, http.StatusUnprocessableEntity, f, values, nil, x.Reason)
			}
		}
		return s.curingFilePage(w, r, http.StatusUnprocessableEntity, f, values, invalid, "")
	case fault.KindOf(err) == fault.Refused || fault.KindOf(err) == fault.Duplicate || fault.KindOf(err) == fault.TooLarge:
		return s.curingFilePage(w, r, http.StatusUnprocessableEntity, f, values, nil, fault.Message(err))
	case err != nil:
		return err
	}
	// A file of several columns waits on for its other sensors.
	if len(f.form.names) < 2 {
		if err := s.store.DropLoggerDraft(r.Context(), program, user, draft); err != nil {
			s.log.ErrorContext(r.Context(), "the log is on record, its draft stays", "error", err)
		}
	}
	if !rec.Repeated {
		s.flash(r, ui.Done, "The log of sensor "+head.Sensor+" is on record.")
	}
	return seeOther(w, r, c.curingPath())
}
