package web

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"strings"
	"time"

	"github.com/go-chi/chi/v5"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
)

// packagesAtOnce bounds how many packages are written at once, since each reads a whole
// program, and packageWait how long one waits for its turn.
const (
	packagesAtOnce = 2
	packageWait    = 45 * time.Second
)

// packageTime is how long writing a package may take.
const packageTime = 2 * time.Hour

// filesPackage sends the plain-file package of the program.
func (s *Server) filesPackage(w http.ResponseWriter, r *http.Request) error {
	return s.sendPackage(w, r, "")
}

// endPackage sends that of one end.
func (s *Server) endPackage(w http.ResponseWriter, r *http.Request) error {
	return s.sendPackage(w, r, chi.URLParam(r, "end"))
}

// sendPackage streams a package. Once the first byte is out an error can only break
// the answer off, which every browser and archive program notices.
func (s *Server) sendPackage(w http.ResponseWriter, r *http.Request, end string) error {
	head := s.program(r)
	records := false
	switch r.URL.Query().Get("with") {
	case "", "photos":
	case "records":
		records = true
	default:
		return fault.New(fault.Malformed, "a package is with photos or with records alone")
	}
	turn := time.NewTimer(packageWait)
	defer turn.Stop()
	select {
	case s.packing <- struct{}{}:
		defer func() { <-s.packing }()
	case <-turn.C:
		return fault.New(fault.Unavailable, "%d packages are being written now: try again in some minutes", packagesAtOnce)
	case <-r.Context().Done():
		return r.Context().Err()
	}
	name := plainFileName(head.Code)
	if end != "" {
		sc, err := s.store.End(r.Context(), head.ID.String(), end)
		if err != nil {
			return err
		}
		name += "-" + plainFileName(sc.Ends[0].End.Name)
	}
	if r.Method == http.MethodHead {
		w.Header().Set("Content-Type", fileTypes["zip"])
		return nil
	}
	if err := http.NewResponseController(w).SetWriteDeadline(s.now().Add(packageTime)); err != nil && !errors.Is(err, http.ErrNotSupported) {
		return fmt.Errorf("package: %w", err)
	}
	ctx, cancel := context.WithTimeout(r.Context(), packageTime)
	defer cancel()
	out := &started{ResponseWriter: w}
	out.begin = func() {
		h := w.Header()
		h.Set("Content-Type", fileTypes["zip"])
		h.Set("Content-Disposition", fmt.Sprintf("attachment; filename=%q", name+"-package.zip"))
		h.Set("Cache-Control", "private, no-store")
		h.Set("X-Accel-Buffering", "no")
	}
	_, err := WritePackage(ctx, s.store, PackageOf{Program: head.ID.String(), End: end, By: s.user(r).Name, Release: s.cfg.Release,
		Originals: s.can(r, authz.SeeOriginal), RecordsOnly: records}, out)
	if err == nil || !out.sent {
		return err
	}
	if !errors.Is(err, context.Canceled) {
		s.log.ErrorContext(r.Context(), "package", "request", visitOf(r.Context()).request, "error", err)
	}
	panic(http.ErrAbortHandler)
}

// started is an answer that sets its headers with its first byte, so that an error
// before it is still a page.
type started struct {
	http.ResponseWriter
	begin func()
	sent  bool
}

func (o *started) Write(b []byte) (int, error) {
	if !o.sent {
		o.sent = true
		o.begin()
	}
	return o.ResponseWriter.Write(b)
}

// PackageOf says what a package is to hold.
type PackageOf struct {
	Program     string // identifier
	End         string // name; "": the whole program
	By          string // who asked for it
	Release     string
	Originals   bool // may see originals that are sealed
	RecordsOnly bool // leave photographs and kept files out
}

// describeColumn is what a column of the record means and the unit of a number in it.
func describeColumn(c db.RecordColumn) (unit, words string) {
	words = columnWord(c.Name)
	if c.Type == "number" || c.Type == "json" {
		for _, u := range packageUnits {
			if strings.HasSuffix(c.Name, u[0]) {
				unit = u[1]
				break
			}
		}
	}
	switch {
	case strings.HasSuffix(c.Name, "_id") && c.Type == "id":
		words = "which " + strings.ReplaceAll(strings.TrimSuffix(c.Name, "_id"), "_", " ") + ": its id"
	case c.Name == "id":
		words = "names the row; never changes"
	case c.Name == "typed":
		words = "what a person typed, by column"
	case c.Name == "by_user" || strings.HasSuffix(c.Name, "_by") && c.Type == "id":
		words = "who: id in person"
	case c.Name == "superseded_by":
		words = "the row that corrects this one; the row itself where it is withdrawn"
	}
	return unit, words
}

// packageUnits are the endings of columns and their units, the longer first.
var packageUnits = [][2]string{{"_n_mm", "N/mm"}, {"_c_per_h", "degC/h"}, {"_mm", "mm"}, {"_mpa", "MPa"}, {"_deg", "degrees"}, {"_kg", "kg"}, {"_pct", "percent"},
	{"_days", "days"}, {"_min", "minutes"}, {"_px", "pixels"}, {"_n", "N"}, {"_c", "degC"}, {"_l", "liters"}, {"_h", "hours"}, {"_s", "seconds"}, {"_a", "A"}, {"_b", "bytes"}}
