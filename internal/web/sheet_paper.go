package web

import (
	"fmt"
	"net/http"
	"strings"
)

// sheetPaper is the style sheet of the running head of a printed sheet: which end
// and which inputs a loose page belongs to. The margins of a page take text from
// style sheets only, and the content policy allows none inside a page.
func (s *Server) sheetPaper(w http.ResponseWriter, r *http.Request) error {
	e, err := s.openEnd(r)
	if err != nil {
		return err
	}
	st := e.state()
	left := e.sc.Program.Name + ": calculation sheet " + e.rec.End.Name + ", " + e.reading()
	right := "inputs " + shortDigest(st.InputDigest) + ", method " + st.MethodVersion + ", record version " + numberOf(int(e.rec.End.Version))
	w.Header().Set("Content-Type", "text/css; charset=utf-8")
	w.Header().Set("Cache-Control", "private, no-cache")
	_, err = fmt.Fprintf(w, "@page calc {\n  @top-left { content: %s; }\n  @top-right { content: %s; }\n}\n", cssString(left), cssString(right))
	return err
}

// cssString quotes a text for a style sheet. Anything but plain letters and
// figures is written by its number, so no text can end the string.
func cssString(text string) string {
	var b strings.Builder
	b.WriteByte('"')
	for _, c := range text {
		switch {
		case c >= 'a' && c <= 'z', c >= 'A' && c <= 'Z', c >= '0' && c <= '9', c == ' ', c == '-', c == ',', c == ':', c == '.':
			b.WriteRune(c)
		default:
			fmt.Fprintf(&b, "\\%06x", c)
		}
	}
	b.WriteByte('"')
	return b.String()
}
