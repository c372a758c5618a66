package web

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io"
	"net/http"
	"strings"
	"time"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/sequence"
	"endcast/internal/domain/units"
	"endcast/views/end"
	"endcast/views/ui"
)

// photoLimit is the largest upload: a picture of 20 MB and the form around it.
const photoLimit = 20<<20 + 64<<10

// photoAdd puts a picture on record at an end. It is a new observation and
// conflicts with nothing.
func (s *Server) photoAdd(w http.ResponseWriter, r *http.Request) error {
	e, err := s.openEnd(r)
	if err != nil {
		return err
	}
	if err := parseForm(r); err != nil {
		return err
	}
	u := &end.Upload{Entry: r.PostFormValue("entry"), Caption: r.PostFormValue("caption"), Subject: r.PostFormValue("subject"), At: r.PostFormValue("captured_at"),
		Face: r.PostFormValue("face"), X: r.PostFormValue("x"), Z: r.PostFormValue("z")}
	captured, err := momentTyped("captured_at", u.At, e.zone)
	var bytes []byte
	var name string
	if err == nil {
		bytes, name, err = fileOf(r, "photo")
	}
	var change repair.AddPhoto
	if err == nil {
		sum := sha256.Sum256(bytes)
		change = repair.AddPhoto{Bytes: bytes, SHA256: hex.EncodeToString(sum[:]), Caption: strings.TrimSpace(u.Caption), Subject: u.Subject, Face: u.Face, OriginalName: name}
		change.X, change.Z, err = e.pinTyped(r)
	}
	if err == nil {
		_, err = s.edit(r, []db.EndRef{{ID: e.rec.End.ID}}, captured, change)
	}
	if err != nil {
		switch {
		case errors.As(err, &u.Bad):
		case fault.KindOf(err) == fault.Duplicate, fault.KindOf(err) == fault.Refused:
			u.Problem = ui.Sentence(fault.Message(err))
		default:
			return err
		}
		return s.endPage(w, r, http.StatusUnprocessableEntity, e, endSent{upload: u})
	}
	s.flash(r, ui.Done, "The photograph is on record.")
	return seeOther(w, r, e.path()+"#photos")
}

// fileOf reads a file of a form and what it is called, none as no bytes.
func fileOf(r *http.Request, field string) (data []byte, name string, err error) {
	f, head, err := r.FormFile(field)
	if errors.Is(err, http.ErrMissingFile) || errors.Is(err, http.ErrNotMultipart) {
		var bad fault.Invalid
		bad.Add(field, "", "choose a file")
		return nil, "", bad.Err()
	}
	if err != nil {
		return nil, "", asTooLarge(err)
	}
	defer f.Close()
	data, err = io.ReadAll(f)
	return data, head.Filename, err
}

// pinTyped reads where a picture was taken; nothing typed is no pin.
func (e *endReader) pinTyped(r *http.Request) (x, z *units.Length, err error) {
	f := &typedForm{values: r.PostForm, sys: e.sys}
	x, z = quantity[units.Length](f, "x"), quantity[units.Length](f, "z")
	return x, z, f.bad.Err()
}

// momentTyped reads what a box for date and time sends, in the program's zone;
// nothing typed is the zero time.
func momentTyped(field, text string, zone *time.Location) (time.Time, error) {
	if strings.TrimSpace(text) == "" {
		return time.Time{}, nil
	}
	for _, layout := range []string{"2006-01-02T15:04", "2006-01-02T15:04:05", "2006-01-02 15:04"} {
		if t, err := time.ParseInLocation(layout, strings.TrimSpace(text), zone); err == nil {
			return t.UTC(), nil
		}
	}
	var bad fault.Invalid
	bad.Add(field, text, "must be a date and a time such as 2026-04-30 21:15")
	return time.Time{}, bad.Err()
}

func (e *endReader) photoSubject(subject string) string {
	for _, st := range e.sc.Steps {
		if st.Code == subject {
			return st.Name
		}
	}
	if subject == "" {
		return "not said"
	}
	return subject
}

// upload is the form that adds a picture, for those who work at the end; nil for
// those who only read.
func (e *endReader) upload(sent *end.Upload) *end.Upload {
	v := visitOf(e.r.Context())
	if v.program == nil || !authz.MayAtSomeStep(v.person, v.program.ID, authz.CompleteStep) {
		return nil
	}
	u := &end.Upload{}
	if sent != nil {
		u = sent
	} else if st := e.state(); !st.Closed {
		u.Subject = st.StepCode
	}
	u.Action, u.Zone, u.Unit = e.path("photos"), e.zoneNote(), units.Lengths.Label(e.sys)
	u.Subjects = e.photoSubjects("")
	return u
}

func asksPhoto(st sequence.Step) bool {
	for _, req := range st.Requires {
		if req.Condition == sequence.Photo {
			return true
		}
	}
	return false
}
