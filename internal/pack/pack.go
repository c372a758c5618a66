// Package pack writes a package of plain files: a zip archive, streamed, with a list
// of every file and its SHA-256, a text that explains the files, and a short script
// that checks the whole without this program. What can be read with nothing but a
// text editor, a spreadsheet and a browser outlives the program that wrote it.
package pack

import (
	"archive/zip"
	"bufio"
	"bytes"
	"cmp"
	"crypto/sha256"
	_ "embed"
	"encoding/hex"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"
)

// Names of the files that every package has.
const (
	ManifestName = "MANIFEST"        // sha256sum format: 64 hex digits, two spaces, the path
	DigestName   = "MANIFEST.sha256" // the SHA-256 of MANIFEST, in the same format
	JournalName  = "journal.jsonl"
	CheckName    = "check.py"
	ReadmeName   = "README.txt"
)

// CheckScript checks a package with nothing but Python's standard library.
//
//go:embed check.py
var CheckScript []byte

// Writer writes one package. It holds a line of the manifest for every file, and of
// the files themselves no more than a buffer.
type Writer struct {
	z    *zip.Writer
	root string
	at   time.Time
	sums []sum
}

type sum struct{ path, hex string }

// NewWriter starts a package whose files lie in the folder root and bear the time at.
func NewWriter(w io.Writer, root string, at time.Time) *Writer {
	return &Writer{z: zip.NewWriter(w), root: root, at: at}
}

// File adds one file; f writes its content. A path is relative, with forward strokes,
// and is used once.
func (w *Writer) File(path string, f func(io.Writer) error) error { return w.add(path, zip.Deflate, f) }

// Packed adds a file whose content is compressed already, such as a photograph.
func (w *Writer) Packed(path string, f func(io.Writer) error) error {
	return w.add(path, zip.Store, f)
}

func (w *Writer) add(path string, method uint16, f func(io.Writer) error) error {
	out, err := w.z.CreateHeader(&zip.FileHeader{Name: w.root + "/" + path, Method: method, Modified: w.at})
	if err != nil {
		return fmt.Errorf("package: %s: %w", path, err)
	}
	h := sha256.New()
	b := bufio.NewWriterSize(io.MultiWriter(out, h), 32<<10)
	if err := f(b); err != nil {
		return fmt.Errorf("package: %s: %w", path, err)
	}
	if err := b.Flush(); err != nil {
		return fmt.Errorf("package: %s: %w", path, err)
	}
	w.sums = append(w.sums, sum{path, hex.EncodeToString(h.Sum(nil))})
	return nil
}

// Files is how many files the package has so far.
func (w *Writer) Files() int { return len(w.sums) }

// Close writes the manifest and ends the archive. It returns the SHA-256 of the
// manifest in hex: whoever keeps it elsewhere can tell this package from any other.
func (w *Writer) Close() (string, error) {
	slices.SortFunc(w.sums, func(a, b sum) int { return cmp.Compare(a.path, b.path) })
	var list bytes.Buffer
	for i, s := range w.sums {
		if i > 0 && s.path == w.sums[i-1].path {
			return "", fmt.Errorf("package: two files are called %s", s.path)
		}
		list.WriteString(s.hex + "  " + s.path + "\n")
	}
	digest := sha256.Sum256(list.Bytes())
	text := hex.EncodeToString(digest[:])
	for _, f := range []struct {
		name string
		data []byte
	}{{ManifestName, list.Bytes()}, {DigestName, []byte(text + "  " + ManifestName + "\n")}} {
		out, err := w.z.CreateHeader(&zip.FileHeader{Name: w.root + "/" + f.name, Method: zip.Deflate, Modified: w.at})
		if err != nil {
			return "", fmt.Errorf("package: %s: %w", f.name, err)
		}
		if _, err := out.Write(f.data); err != nil {
			return "", fmt.Errorf("package: %s: %w", f.name, err)
		}
	}
	if err := w.z.Close(); err != nil {
		return "", fmt.Errorf("package: %w", err)
	}
	return text, nil
}

// SafeName keeps of a text what every system takes in the name of a file.
func SafeName(s string) string {
	out := strings.Map(func(r rune) rune {
		switch {
		case r >= 'a' && r <= 'z', r >= 'A' && r <= 'Z', r >= '0' && r <= '9', r == '-', r == '_':
			return r
		}
		return '-'
	}, s)
	if out == "" {
		return "unnamed"
	}
	return out
}
