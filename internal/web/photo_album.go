package web

import (
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/a-h/templ"
	"github.com/go-chi/chi/v5"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/views/drawing"
	"endcast/views/photo"
	"endcast/views/ui"
)

var photoFace = map[string]string{"L": "left face", "R": "right face"}

// pinWords says where a picture was taken.
func (e *endReader) pinWords(p repair.Photo) string {
	if !p.Pinned() {
		return photoFace[p.Face]
	}
	return fmt.Sprintf("%s, x %s, z %s", photoFace[p.Face], p.X.Format(e.sys, -1), p.Z.Format(e.sys, -1))
}

// byNumber are the pictures of the end in the order in which they arrived. The number
// of a picture is its place in it, so that it stays what it is when others come.
func (e *endReader) byNumber() []repair.Photo {
	out := slices.Clone(e.rec.Photos)
	slices.SortStableFunc(out, func(a, b repair.Photo) int {
		if c := a.ArrivedAt.Compare(b.ArrivedAt); c != 0 {
			return c
		}
		return strings.Compare(a.ID, b.ID)
	})
	return out
}

// photos lists the pictures of the end, newest first.
func (e *endReader) photos() []photo.Photo {
	rows := e.byNumber()
	number := map[string]int{}
	for i, p := range rows {
		number[p.ID] = i + 1
	}
	var out []photo.Photo
	for _, p := range newestFirst(rows, func(p repair.Photo) time.Time { return p.CapturedAt }) {
		out = append(out, e.photoOf(p, number[p.ID]))
	}
	return out
}

func (e *endReader) photoOf(p repair.Photo, number int) photo.Photo {
	at := func(more ...string) string { return e.path(append([]string{"photos", p.SHA256}, more...)...) }
	out := photo.Photo{Number: numberOf(number), Thumb: at("thumb"), Href: at("sheet"), Src: at(), Caption: p.Caption, Subject: e.photoSubject(p.Subject), Face: photoFace[p.Face],
		Taken: e.when(p.CapturedAt), Arrived: e.when(p.ArrivedAt), By: e.name(p.ByUser), Camera: p.TakenWith, CameraAt: p.CameraAt, DeviceAt: p.DeviceAt, Name: p.OriginalName,
		SHA: p.SHA256, Short: p.SHA256[:min(12, len(p.SHA256))], Width: p.Width, Height: p.Height, Place: p.Place}
	if p.Pinned() {
		out.X, out.Z = p.X.Format(e.sys, -1), p.Z.Format(e.sys, -1)
	}
	if p.Size > 0 {
		out.Size = fmt.Sprintf("%.2f MB", float64(p.Size)/(1<<20))
	}
	if p.Width > 0 {
		out.Pixels = strconv.Itoa(p.Width) + " × " + strconv.Itoa(p.Height)
	}
	if !p.Sealed(e.sc.Program.PhotoPolicy) || e.s.can(e.r, authz.SeeOriginal) {
		out.Original = at("original")
	}
	return out
}

// pins are the marks of pictures on a drawing; which tells those that are shown.
func (e *endReader) pins(which func(repair.Photo) bool) []drawing.Pin {
	var out []drawing.Pin
	for i, p := range e.byNumber() {
		if p.Pinned() && which(p) {
			out = append(out, drawing.Pin{Label: numberOf(i + 1), Words: "Photograph " + numberOf(i+1) + ", " + e.pinWords(p), Right: p.Face == "R", X: *p.X, Z: *p.Z})
		}
	}
	return out
}

// pinnedElevation is the drawing of the end with the places of its pictures.
func (e *endReader) pinnedElevation() templ.Component {
	d := e.elevationData()
	d.Pins = e.pins(func(repair.Photo) bool { return true })
	return drawing.End(d)
}

// photoAlbum shows all pictures of an end, or those of one subject and face.
func (s *Server) photoAlbum(w http.ResponseWriter, r *http.Request) error {
	e, err := s.openEnd(r)
	if err != nil {
		return err
	}
	subject, face := r.URL.Query().Get("subject"), r.URL.Query().Get("face")
	wanted := func(p repair.Photo) bool {
		return (subject == "" || p.Subject == subject || subject == "-" && p.Subject == "") && (face == "" || p.Face == face)
	}
	a := photo.Album{Name: e.rec.End.Name, Reading: e.reading(), Policy: repair.PhotoPolicyWords(e.sc.Program.PhotoPolicy), Total: len(e.rec.Photos), Subject: subject, Face: face,
		Action: e.path("photos"), Back: e.path(), Subjects: []ui.Option{{Value: "", Label: "Anything"}}}
	seen := map[string]bool{}
	keep := map[string]bool{}
	for _, p := range e.byNumber() {
		if key := p.Subject; !seen[key] {
			seen[key] = true
			if key == "" {
				key = "-"
			}
			a.Subjects = append(a.Subjects, ui.Option{Value: key, Label: sentenceCase(e.photoSubject(p.Subject))})
		}
		keep[p.SHA256] = wanted(p)
	}
	for _, p := range e.photos() {
		if keep[p.SHA] {
			a.Photos = append(a.Photos, p)
		}
	}
	d := e.elevationData()
	if d.Pins = e.pins(wanted); len(d.Pins) > 0 {
		a.Figure = drawing.End(d)
	}
	return s.render(w, r, http.StatusOK, photo.Page(e.photoPage("Photographs of "+e.rec.End.Name), a))
}

func (e *endReader) photoPage(title string) ui.Page {
	p := e.s.page(e.r, title, e.crumbs(true)...)
	p.Block, p.Scripts = e.titleBlock(), []string{"photo.js"}
	return p
}

// photoRow is the picture that the address names, with its number.
func (e *endReader) photoRow() (repair.Photo, int, error) {
	for i, p := range e.byNumber() {
		if p.SHA256 == chi.URLParam(e.r, "sha") {
			return p, i + 1, nil
		}
	}
	return repair.Photo{}, 0, fault.New(fault.NotFound, "there is no such picture at this end")
}

// photoSheet shows one picture with all that is known of it.
func (s *Server) photoSheet(w http.ResponseWriter, r *http.Request) error {
	e, err := s.openEnd(r)
	if err != nil {
		return err
	}
	p, n, err := e.photoRow()
	if err != nil {
		return err
	}
	typed := map[string]string{"face": p.Face, "subject": p.Subject, "caption": p.Caption}
	if p.Pinned() {
		typed["x"], typed["z"] = p.X.Exact(e.sys), p.Z.Exact(e.sys)
	}
	return e.photoSheet(w, http.StatusOK, p, n, photo.Sheet{Typed: typed})
}

func (e *endReader) photoSheet(w http.ResponseWriter, status int, p repair.Photo, n int, v photo.Sheet) error {
	v.Photo, v.End, v.Policy, v.Sealed = e.photoOf(p, n), e.rec.End.Name, repair.PhotoPolicyWords(e.sc.Program.PhotoPolicy), p.Sealed(e.sc.Program.PhotoPolicy)
	v.May, v.Action, v.Album, v.Unit = e.s.mayWork(e.r), e.path("photos", p.SHA256, "sheet"), e.path("photos"), units.Lengths.Label(e.sys)
	v.Subjects = e.photoSubjects(p.Subject)
	d := e.elevationData()
	d.Pins = e.pins(func(x repair.Photo) bool { return x.ID == p.ID })
	v.Figure = drawing.End(d)
	return e.s.render(w, e.r, status, photo.SheetPage(e.photoPage("Photograph "+numberOf(n)+" of "+e.rec.End.Name), v))
}

// photoSubjects are what a picture may show, with what it is filed under now.
func (e *endReader) photoSubjects(now string) []ui.Option {
	var out []ui.Option
	for _, st := range e.sc.Sequence() {
		if asksPhoto(st) && !st.Retired {
			out = append(out, ui.Option{Value: st.Code, Label: "Step: " + st.Name})
		}
	}
	out = append(out, ui.Option{Value: "cleaning", Label: "Cleaning"}, ui.Option{Value: "collar", Label: "Collar"}, ui.Option{Value: "", Label: "Something else"})
	if !slices.ContainsFunc(out, func(o ui.Option) bool { return o.Value == now }) {
		out = append(out, ui.Option{Value: now, Label: sentenceCase(e.photoSubject(now))})
	}
	return out
}

// photoPin says anew where a picture was taken and what it shows.
func (s *Server) photoPin(w http.ResponseWriter, r *http.Request) error {
	e, err := s.openEnd(r)
	if err != nil {
		return err
	}
	if err := parseForm(r); err != nil {
		return err
	}
	p, n, err := e.photoRow()
	if err != nil {
		return err
	}
	ch := repair.PinPhoto{SHA256: p.SHA256, Caption: r.PostFormValue("caption"), Subject: r.PostFormValue("subject"), Face: r.PostFormValue("face")}
	if ch.X, ch.Z, err = e.pinTyped(r); err == nil {
		_, err = s.edit(r, []db.EndRef{{ID: e.rec.End.ID}}, time.Time{}, ch)
	}
	if refusedForm(err) {
		v := photo.Sheet{Entry: r.PostFormValue("entry"), Typed: map[string]string{}}
		for _, f := range []string{"face", "subject", "caption", "x", "z"} {
			v.Typed[f] = r.PostFormValue(f)
		}
		if bad, ok := err.(*fault.Invalid); ok { //nolint:errorlint // faults of fields are not wrapped
			v.Bad = bad
		} else {
			v.Problem = ui.Sentence(fault.Message(err))
		}
		return e.photoSheet(w, http.StatusUnprocessableEntity, p, n, v)
	}
	if err != nil {
		return err
	}
	s.flash(r, ui.Done, "Saved.")
	return seeOther(w, r, e.path("photos", p.SHA256, "sheet"))
}
