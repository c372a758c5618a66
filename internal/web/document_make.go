package web

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"net/http"
	"strconv"
	"strings"
	"time"

	"endcast/internal/db"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	printing "endcast/internal/web/paper"
	"endcast/views/paper"
	"endcast/views/ui"
)

// printJob is what one print is made of: the record it is taken from, and who asks.
type printJob struct {
	kind   string
	endID  string
	seq    int64
	hash   string
	record string // digest
	at     time.Time
	units  string
}

// documentPrintEnd answers with an unsigned print of an end, which is not kept.
func (s *Server) documentPrintEnd(w http.ResponseWriter, r *http.Request) error {
	e, job, book, err := s.endBook(r, false)
	if err != nil {
		return s.documentRefused(w, r, e, err)
	}
	return s.sendPrint(w, r, e, job, book)
}

// documentPrint answers with an unsigned print of the program.
func (s *Server) documentPrint(w http.ResponseWriter, r *http.Request) error {
	job, book, err := s.programBook(r, false)
	if err != nil {
		return s.documentRefused(w, r, nil, err)
	}
	return s.sendPrint(w, r, nil, job, book)
}

func (s *Server) sendPrint(w http.ResponseWriter, r *http.Request, e *endReader, job printJob, book paper.Book) error {
	pdf, err := s.printBook(w, r, book)
	if err != nil {
		return s.documentRefused(w, r, e, err)
	}
	sendPDF(w, r, fileStem(job.kind, endName(e))+"-unsigned.pdf", pdf, "private, no-store")
	return nil
}

// documentMakeEnd makes a document of an end that can be signed.
func (s *Server) documentMakeEnd(w http.ResponseWriter, r *http.Request) error {
	e, job, book, err := s.endBook(r, true)
	if err == nil {
		err = s.keepBook(w, r, []db.EndRef{{ID: job.endID}}, job, book)
	}
	return s.documentRefused(w, r, e, err)
}

// documentMake makes a document of the program that can be signed.
func (s *Server) documentMake(w http.ResponseWriter, r *http.Request) error {
	job, book, err := s.programBook(r, true)
	if err == nil {
		err = s.keepBook(w, r, nil, job, book)
	}
	return s.documentRefused(w, r, nil, err)
}

// documentRefused shows the page that a document was asked for on with the reason why
// there is none.
func (s *Server) documentRefused(w http.ResponseWriter, r *http.Request, e *endReader, err error) error {
	status := http.StatusUnprocessableEntity
	switch fault.KindOf(err) {
	case fault.Refused:
	case fault.Conflict:
		status = http.StatusConflict
	case fault.TooMany:
		status = http.StatusTooManyRequests
	case fault.Unavailable:
		status = http.StatusServiceUnavailable
		s.log.ErrorContext(r.Context(), "no PDF", "error", err)
	case fault.TooLarge:
		status = http.StatusRequestEntityTooLarge
	default:
		return err
	}
	if err == nil || e == nil && strings.Contains(r.URL.Path, "/ends/") {
		return err
	}
	text := ui.Sentence(fault.Message(err))
	if e == nil {
		return s.documentListPage(w, r, status, text)
	}
	return e.documents(w, status, text)
}

// paperPatience is how long an answer with a PDF may take: its turn, the print, the way
// back.
const paperPatience = 4 * time.Minute

// printBook turns a document into a PDF.
func (s *Server) printBook(w http.ResponseWriter, r *http.Request, book paper.Book) ([]byte, error) {
	var page bytes.Buffer
	if err := paper.Document(book).Render(r.Context(), &page); err != nil {
		return nil, fmt.Errorf("render a document: %w", err)
	}
	// The server ends a slow answer; this one is slow by nature and has limits of its own.
	_ = http.NewResponseController(w).SetWriteDeadline(time.Now().Add(paperPatience))
	return s.printer.Print(r.Context(), page.Bytes())
}

// keepBook prints a document, puts it on record and leads to its page.
func (s *Server) keepBook(w http.ResponseWriter, r *http.Request, ends []db.EndRef, job printJob, book paper.Book) error {
	if _, err := entry(r); err != nil {
		return err
	}
	pdf, err := s.printBook(w, r, book)
	if err != nil {
		return err
	}
	sum := sha256.Sum256(pdf)
	digest := hex.EncodeToString(sum[:])
	change := repair.MakeDocument{Of: job.kind, Units: job.units,
		Document: repair.Document{Title: book.Title, SHA256: digest, Size: int64(len(pdf)), Pages: printing.Pages(pdf), Record: job.record, MethodVersion: string(calc.MethodVersion),
			JournalSeq: job.seq, JournalHash: job.hash, Release: s.cfg.Release},
		File: repair.RawFile{SHA256: digest, Open: func() (io.ReadCloser, error) { return io.NopCloser(bytes.NewReader(pdf)), nil }}}
	if _, err := s.edit(r, ends, time.Time{}, change); err != nil {
		return err
	}
	head := s.program(r)
	number, err := s.store.PaperOf(r.Context(), head.ID.String(), job.endID, job.kind, job.record)
	if err != nil {
		return err
	}
	if number == 0 {
		return errors.New("document: it is not where it was put")
	}
	s.flash(r, ui.Done, "The document is on record. Read it before you sign it.")
	return seeOther(w, r, head.Path("documents", strconv.Itoa(number)))
}

// sendPDF answers with a PDF, to be opened beside the page.
func sendPDF(w http.ResponseWriter, r *http.Request, name string, pdf []byte, keep string) {
	h := w.Header()
	h.Set("Content-Type", "application/pdf")
	h.Set("Content-Disposition", `inline; filename="`+name+`"`)
	h.Set("Cache-Control", keep)
	http.ServeContent(w, r, "", time.Time{}, bytes.NewReader(pdf))
}

func endName(e *endReader) string {
	if e == nil {
		return ""
	}
	return e.rec.End.Name
}

// fileStem is the name of a file without its ending.
func fileStem(kind, end string) string {
	out := map[string]string{repair.PaperCalculation: "calculation", repair.PaperAsBuilt: "as-built", repair.PaperProgram: "program"}[kind]
	if end != "" {
		out += "-" + end
	}
	return out
}
