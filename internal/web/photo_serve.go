package web

import (
	"bytes"
	"net/http"
	"time"

	"github.com/go-chi/chi/v5"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
	pictures "endcast/internal/domain/picture"
)

// photoPolicy keeps a picture from being anything but a picture, whatever is in it.
const photoPolicy = "default-src 'none'; sandbox; frame-ancestors 'none'"

// findPhoto is the picture that the address names.
func (s *Server) findPhoto(r *http.Request) (db.PhotoAt, error) {
	return s.store.FindPhoto(r.Context(), s.program(r).ID.String(), chi.URLParam(r, "end"), chi.URLParam(r, "sha"))
}

// sendPhoto answers with a picture. A browser that has it asks whether it still counts.
func sendPhoto(w http.ResponseWriter, r *http.Request, kind, tag, keep string, data []byte) {
	h := w.Header()
	h.Set("Content-Security-Policy", photoPolicy)
	h.Set("Content-Type", kind)
	h.Set("Content-Disposition", "inline")
	h.Set("Cache-Control", keep)
	h.Set("ETag", `"`+tag+`"`)
	http.ServeContent(w, r, "", time.Time{}, bytes.NewReader(data))
}

// What a browser may do with a picture: a small copy never changes; what is shown large
// follows the policy of the program, so it is asked for again.
const (
	keepForever = "private, max-age=31536000, immutable"
	keepAsking  = "private, no-cache"
)

// photoShow serves a picture as the policy allows: the original, or a copy of it
// without metadata.
func (s *Server) photoShow(w http.ResponseWriter, r *http.Request) error {
	p, err := s.findPhoto(r)
	if err != nil {
		return err
	}
	data, err := s.store.PhotoBytes(r.Context(), p.SHA256)
	if err != nil {
		return err
	}
	tag := p.SHA256
	if p.Sealed {
		info, err := pictures.Inspect(data)
		if err == nil {
			data, err = pictures.Clean(data, info)
		}
		if err != nil {
			return fault.Wrap(fault.Refused, err, "no copy without metadata can be made of this picture; the engineer can see the original")
		}
		tag += "-copy"
	}
	sendPhoto(w, r, p.Kind, tag, keepAsking, data)
	return nil
}

// photoOriginal serves the very bytes that came, to those who may see them sealed.
func (s *Server) photoOriginal(w http.ResponseWriter, r *http.Request) error {
	p, err := s.findPhoto(r)
	if err != nil {
		return err
	}
	if p.Sealed && !s.can(r, authz.SeeOriginal) {
		return fault.New(fault.Forbidden, "the original of this picture is sealed: the engineer and the administrator can see it")
	}
	data, err := s.store.PhotoBytes(r.Context(), p.SHA256)
	if err != nil {
		return err
	}
	sendPhoto(w, r, p.Kind, p.SHA256, keepAsking, data)
	return nil
}

// photoThumb serves the small copy of a picture, or a card that says why there is none.
func (s *Server) photoThumb(w http.ResponseWriter, r *http.Request) error {
	p, err := s.findPhoto(r)
	if err != nil {
		return err
	}
	t, err := s.store.PhotoThumb(r.Context(), p.SHA256)
	if err != nil {
		return err
	}
	if t.Bytes == nil {
		sendPhoto(w, r, "image/svg+xml", p.SHA256+"-card", "private, max-age=3600", []byte(plainCard))
		return nil
	}
	sendPhoto(w, r, pictures.JPEG, p.SHA256+"-small", keepForever, t.Bytes)
	return nil
}

// plainCard stands where no small copy could be made.
const plainCard = `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 480 360" width="480" height="360"><rect width="480" height="360" fill="#f2f1ea"/>` +
	`<path d="M40 300 150 170l70 80 60-60 160 110z" fill="none" stroke="#5a6670" stroke-width="3"/><circle cx="340" cy="100" r="28" fill="none" stroke="#5a6670" stroke-width="3"/>` +
	`<text x="240" y="345" text-anchor="middle" font-family="sans-serif" font-size="20" fill="#26323b">No small copy: open the picture</text></svg>`
