package web

import (
	"bytes"
	"fmt"
	"net/http"
	"strings"
	"time"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/exchange"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/units"
	"endcast/views/files"
	"endcast/views/ui"
)

// filesShow is the page of import and export.
func (s *Server) filesShow(w http.ResponseWriter, r *http.Request) error {
	return s.filesPage(w, r, http.StatusOK, &files.Form{Units: string(s.program(r).Units)}, nil)
}

// filesPage shows the page with the form as it was sent and what kept its files
// from being taken.
func (s *Server) filesPage(w http.ResponseWriter, r *http.Request, status int, form *files.Form, no *files.Refusal) error {
	head := s.program(r)
	p, err := s.store.Program(r.Context(), head.ID.String())
	if err != nil {
		return err
	}
	sum, err := s.store.Summarise(r.Context(), head.ID.String())
	if err != nil {
		return err
	}
	sys := s.units(r)
	v := files.View{Bridge: downloads(head, "bridge", sys), Template: downloads(head, "tables", sys), Refusal: no,
		Package: []files.Link{{Label: "Package with photographs and files", Said: "ZIP, as large as they are", Href: head.Path("files", "package.zip")},
			{Label: "Package of records alone", Said: "ZIP, without photographs and files of loggers", Href: head.Path("files", "package.zip") + "?with=records"}},
		Ends: exchange.Count{N: sum.Ends, One: "girder end", Many: "girder ends"}.String()}
	if s.can(r, authz.Import) {
		form.Action, form.Zone, form.Most = head.Path("files", "import"), zoneOf(p).String(), megabytes(exchange.MaxBytes)
		v.Form = form
	}
	for _, t := range exchange.Tables(sys) {
		out := files.Table{Name: t.Table}
		for _, c := range t.Columns {
			out.Columns = append(out.Columns, files.Column{Header: c.Header, Text: c.Text, Needed: c.Needed})
		}
		v.Tables = append(v.Tables, out)
	}
	return s.render(w, r, status, files.Page(s.page(r, "Import and export"), v))
}

var systemWords = map[units.System]string{units.US: "US customary", units.SI: "SI"}

// downloads are the addresses of one set of tables, the reader's units first.
func downloads(head ProgramHead, what string, sys units.System) files.Download {
	order := []units.System{units.US, units.SI}
	if sys == units.SI {
		order = []units.System{units.SI, units.US}
	}
	var d files.Download
	for _, u := range order {
		query := "?units=" + string(u)
		d.Workbook = append(d.Workbook, files.Link{Label: strings.ToUpper(string(u)), Said: systemWords[u], Href: head.Path("files", what+".xlsx") + query})
		d.Text = append(d.Text, files.Link{Label: strings.ToUpper(string(u)), Said: systemWords[u], Href: head.Path("files", what+".zip") + query})
	}
	return d
}

// filesBook and filesText give the bridge out with its surveys.
func (s *Server) filesBook(w http.ResponseWriter, r *http.Request) error {
	b, sys, err := s.bridgeOut(r)
	if err != nil {
		return err
	}
	data, err := exchange.XLSX(b, sys)
	if err != nil {
		return fmt.Errorf("write workbook: %w", err)
	}
	return s.sendFile(w, r, "bridge", sys, "xlsx", data)
}

func (s *Server) filesText(w http.ResponseWriter, r *http.Request) error {
	b, sys, err := s.bridgeOut(r)
	if err != nil {
		return err
	}
	out, err := exchange.CSV(b, sys)
	if err != nil {
		return fmt.Errorf("write tables: %w", err)
	}
	data, err := exchange.Zip(out)
	if err != nil {
		return fmt.Errorf("write archive: %w", err)
	}
	return s.sendFile(w, r, "bridge", sys, "zip", data)
}

func (s *Server) bridgeOut(r *http.Request) (exchange.Bridge, units.System, error) {
	sys, err := s.unitsAsked(r)
	if err != nil {
		return exchange.Bridge{}, sys, err
	}
	b, err := s.store.Bridge(r.Context(), s.program(r).ID.String())
	return b, sys, err
}

// filesBlankBook and filesBlankText give out the tables with nothing in them.
func (s *Server) filesBlankBook(w http.ResponseWriter, r *http.Request) error {
	sys, err := s.unitsAsked(r)
	if err != nil {
		return err
	}
	book, _, err := exchange.Template(sys)
	if err != nil {
		return fmt.Errorf("write template: %w", err)
	}
	return s.sendFile(w, r, "tables", sys, "xlsx", book)
}

func (s *Server) filesBlankText(w http.ResponseWriter, r *http.Request) error {
	sys, err := s.unitsAsked(r)
	if err != nil {
		return err
	}
	_, text, err := exchange.Template(sys)
	if err != nil {
		return fmt.Errorf("write template: %w", err)
	}
	return s.sendFile(w, r, "tables", sys, "zip", text)
}

// unitsAsked is the family of units in the address, or else the reader's.
func (s *Server) unitsAsked(r *http.Request) (units.System, error) {
	text := r.URL.Query().Get("units")
	if text == "" {
		return s.units(r), nil
	}
	sys, err := units.ParseSystem(text)
	return sys, fault.Wrap(fault.Malformed, err, "there are no such units")
}

var fileTypes = map[string]string{"xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet", "zip": "application/zip"}

// sendFile sends a file to be kept, named after the program.
func (s *Server) sendFile(w http.ResponseWriter, r *http.Request, what string, sys units.System, ending string, data []byte) error {
	h := w.Header()
	h.Set("Content-Type", fileTypes[ending])
	h.Set("Content-Disposition", fmt.Sprintf("attachment; filename=%q", plainFileName(s.program(r).Code)+"-"+what+"-"+string(sys)+"."+ending))
	h.Set("Cache-Control", "private, no-cache")
	http.ServeContent(w, r, "", time.Time{}, bytes.NewReader(data))
	return nil
}

// plainFileName keeps of a code what every system takes in a file's name.
func plainFileName(code string) string {
	out := []byte{}
	for i := range len(code) {
		c := code[i]
		switch {
		case c >= 'a' && c <= 'z', c >= 'A' && c <= 'Z', c >= '0' && c <= '9', c == '-', c == '_':
			out = append(out, c)
		default:
			out = append(out, '-')
		}
	}
	if len(out) == 0 {
		return "program"
	}
	return string(out)
}

func megabytes(n int) string { return fmt.Sprintf("%d MB", n>>20) }

// size is the length of a file as people say it.
func size(n int) string {
	switch {
	case n >= 10<<20:
		return fmt.Sprintf("%d MB", n>>20)
	case n >= 1<<20:
		return fmt.Sprintf("%.1f MB", float64(n)/(1<<20))
	case n >= 1<<10:
		return fmt.Sprintf("%d kB", n>>10)
	}
	return fmt.Sprintf("%d bytes", n)
}

func fileLines(in []exchange.File) []files.File {
	var out []files.File
	for _, f := range in {
		out = append(out, files.File{Name: f.Name, Size: size(len(f.Data))})
	}
	return out
}

// crumbToFiles leads back to the page of import and export.
func crumbToFiles(head ProgramHead) ui.Crumb {
	return ui.Crumb{Label: "Import and export", Href: head.Path("files")}
}
