package web

import (
	"bytes"
	"encoding/json"
	"fmt"
	"net/http"

	"endcast/internal/domain/fault"
	"endcast/static"
	"endcast/views/tablet"
)

// tabletFiles are what the tablet's page needs without signal, besides itself.
var tabletFiles = []string{"app.css", "js/tablet/main.js", "js/tablet/store.js", "js/tablet/reserve.js", "js/tablet/outbox.js", "js/tablet/dom.js", "js/tablet/rules.js", "js/tablet/shift.js", "js/tablet/end.js",
	"js/tablet/studs.js", "js/tablet/survey.js", "js/tablet/forms.js", "js/tablet/checks.js", "js/tablet/pour.js", "js/tablet/photo.js", "js/tablet/pin.js", "vendor/idb-8.0.4/idb.js", "vendor/archivo-5.3.0/archivo-latin-wdth-normal.woff2", "img/mark.svg"}

// tabletVersion names the page with all its files; it moves with either.
func (s *Server) tabletVersion() string { return static.Version() + "-" + s.cfg.Release }

// tabletShell is the page that works without signal. It is the same for everybody:
// who works on it, and at what, stands in the tablet's own store.
func (s *Server) tabletShell(w http.ResponseWriter, r *http.Request) error {
	head := s.program(r)
	w.Header().Set("X-Tablet-Version", s.tabletVersion())
	return s.render(w, r, http.StatusOK, tablet.Shell(tablet.ShellView{Program: head.Name, Root: head.Path(), Code: head.Code, Version: s.tabletVersion(), Manifest: head.Path("tablet", "manifest")}))
}

// tabletManifest makes the page one that can be put on the tablet's home screen.
func (s *Server) tabletManifest(w http.ResponseWriter, r *http.Request) error {
	head := s.program(r)
	body, err := json.Marshal(map[string]any{"name": "Endcast, " + head.Name, "short_name": "Endcast", "id": head.Path("tablet"), "start_url": head.Path("tablet"), "scope": head.Path("tablet"),
		"display": "standalone", "orientation": "any", "background_color": "#fdfdfa", "theme_color": "#13212c",
		"icons": []map[string]string{{"src": static.Path("img/mark.svg"), "sizes": "any", "type": "image/svg+xml", "purpose": "any"}}})
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", "application/manifest+json")
	w.Header().Set("Cache-Control", "no-cache")
	_, _ = w.Write(body)
	return nil
}

// tabletWorker is the service worker: the file of the program with the list of what
// it keeps. It is the same for everybody and says nothing of any program.
func (s *Server) tabletWorker(w http.ResponseWriter, _ *http.Request) error {
	code, err := static.Read("js/tablet/worker.js")
	if err != nil {
		return fault.Wrap(fault.Internal, err, "the worker is missing")
	}
	files := make([]string, len(tabletFiles))
	for i, f := range tabletFiles {
		files[i] = static.Path(f)
	}
	list, err := json.Marshal(files)
	if err != nil {
		return err
	}
	var out bytes.Buffer
	fmt.Fprintf(&out, "const VERSION = %q;\nconst FILES = %s;\n", s.tabletVersion(), list)
	out.Write(code)
	h := w.Header()
	h.Set("Content-Type", "text/javascript; charset=utf-8")
	h.Set("Cache-Control", "no-cache")
	h.Set("Service-Worker-Allowed", "/p/")
	_, _ = out.WriteTo(w)
	return nil
}
