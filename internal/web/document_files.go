package web

import (
	"archive/zip"
	"bytes"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"time"

	"endcast/internal/db"
	"endcast/internal/domain/repair"
)

// documentFile answers with the PDF as it was made, byte for byte.
func (s *Server) documentFile(w http.ResponseWriter, r *http.Request) error {
	p, err := s.openPaper(r)
	if err != nil {
		return err
	}
	pdf, err := s.store.PaperFile(r.Context(), p.Document)
	if err != nil {
		return err
	}
	w.Header().Set("ETag", `"`+p.SHA256+`"`)
	sendPDF(w, r, paperFile(p), pdf, "private, no-cache")
	return nil
}

// paperFile is the name of the file of a document.
func paperFile(p db.Paper) string {
	return fmt.Sprintf("%04d-%s.pdf", p.Number, fileStem(p.Kind, p.End))
}

// documentAll answers with everything that a check without this server needs: the PDF,
// its signatures, the statements with theirs, and the public keys.
func (s *Server) documentAll(w http.ResponseWriter, r *http.Request) error {
	p, err := s.openPaper(r)
	if err != nil {
		return err
	}
	pdf, err := s.store.PaperFile(r.Context(), p.Document)
	if err != nil {
		return err
	}
	keys, err := s.store.SigningKeys(r.Context())
	if err != nil {
		return err
	}
	type file struct {
		name string
		data []byte
	}
	files := []file{{paperFile(p), pdf}}
	done := map[string]bool{}
	for i, g := range p.Signatures {
		if !done[g.KeyID] {
			done[g.KeyID] = true
			files = append(files, file{sigFile(p, g), g.OfFile})
			if k := slices.IndexFunc(keys, func(k db.SigningKey) bool { return k.ID == g.KeyID }); k >= 0 {
				files = append(files, file{keyFile(g.KeyID), keys[k].PEM()})
			}
		}
		files = append(files, file{statementFile(i, g), []byte(g.Statement)}, file{statementFile(i, g) + ".sig", g.OfStatement})
	}
	files = append(files, file{"SHA256SUMS", []byte(p.SHA256 + "  " + paperFile(p) + "\n")},
		file{"CHECK.txt", []byte("Check this document without the server that made it:\n\n" + strings.Join(checkLines(p), "\n") +
			"\n\nEach line of openssl says \"Signature Verified Successfully\". Compare the key with the one that you fetched from the\nserver by a way that you trust. A document without a .sig file was not signed by anybody.\n")})
	var out bytes.Buffer
	z := zip.NewWriter(&out)
	for _, f := range files {
		h := &zip.FileHeader{Name: f.name, Method: zip.Deflate, Modified: p.MadeAt.UTC()}
		to, err := z.CreateHeader(h)
		if err == nil {
			_, err = to.Write(f.data)
		}
		if err != nil {
			return fmt.Errorf("archive of a document: %w", err)
		}
	}
	if err := z.Close(); err != nil {
		return fmt.Errorf("archive of a document: %w", err)
	}
	h := w.Header()
	h.Set("Content-Type", "application/zip")
	h.Set("Content-Disposition", `attachment; filename="`+strings.TrimSuffix(paperFile(p), ".pdf")+`.zip"`)
	h.Set("Cache-Control", "private, no-cache")
	http.ServeContent(w, r, "", time.Time{}, bytes.NewReader(out.Bytes()))
	return nil
}

func keyFile(id string) string { return "key-" + shortDigest(id) + ".pem" }

func sigFile(p db.Paper, g repair.Signature) string {
	return paperFile(p) + "." + shortDigest(g.KeyID) + ".sig"
}

func statementFile(i int, g repair.Signature) string {
	return fmt.Sprintf("statement-%d-%s.txt", i+1, strings.ReplaceAll(g.Meaning, "_", "-"))
}

// checkLines are the commands that check a document with common tools: OpenSSL from 3.0
// on, and any sha256sum.
func checkLines(p db.Paper) []string {
	out := []string{"sha256sum " + paperFile(p)}
	verify := func(key, sig, in string) string {
		return "openssl pkeyutl -verify -rawin -pubin -inkey " + key + " -sigfile " + sig + " -in " + in
	}
	if len(p.Signatures) == 0 {
		return append(out, verify("key.pem", "x.sig", "x.pdf")+"   # once it is signed")
	}
	done := map[string]bool{}
	for i, g := range p.Signatures {
		if !done[g.KeyID] {
			done[g.KeyID] = true
			out = append(out, verify(keyFile(g.KeyID), sigFile(p, g), paperFile(p)))
		}
		out = append(out, verify(keyFile(g.KeyID), statementFile(i, g)+".sig", statementFile(i, g)))
	}
	return out
}

// documentKey publishes the public keys of the server: the one in use first, then those
// of before, by which older documents are checked.
func (s *Server) documentKey(w http.ResponseWriter, r *http.Request) error {
	if err := s.store.EnsureSigningKey(r.Context()); err != nil {
		return err
	}
	keys, err := s.store.SigningKeys(r.Context())
	if err != nil {
		return err
	}
	h := w.Header()
	h.Set("Content-Type", "text/plain; charset=utf-8")
	h.Set("Content-Disposition", `inline; filename="key.pem"`)
	h.Set("Cache-Control", "private, no-cache")
	_, err = w.Write(keyText(keys))
	return err
}

// keyText is keys as a file that common tools read: the one in use first.
func keyText(keys []db.SigningKey) []byte {
	var out bytes.Buffer
	for _, k := range slices.Backward(keys) {
		state := "in use"
		if k.Retired != nil {
			state = "retired " + k.Retired.UTC().Format(time.RFC3339)
		}
		fmt.Fprintf(&out, "Public key %s of this server, made %s, %s\n%s\n", k.ID, k.Made.UTC().Format(time.RFC3339), state, k.PEM())
	}
	return out.Bytes()
}
