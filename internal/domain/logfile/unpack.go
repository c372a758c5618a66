package logfile

import (
	"archive/zip"
	"bytes"
	"compress/gzip"
	"fmt"
	"io"
	"path"
	"strings"
)

// Limits bound what files may unpack to. A few kilobytes can unpack to gigabytes
// made for that; no record of a logger shrinks so far.
type Limits struct {
	Bytes int64 // of all text together
	Ratio int64 // of text to packed bytes, beyond the first RatioFree bytes; 0: DefaultRatio
	Files int   // in an archive; 0: DefaultFiles
}

// Guards against files made to do harm; no practice reaches them.
const (
	DefaultRatio = 200
	DefaultFiles = 200
	RatioFree    = 4 << 20
)

// Unpack returns the texts in a file: itself, the content of a gzip file, or the
// files of a zip archive. The parts are read as streams from src when they are
// opened and each watches its limits. It refuses with a *Problem.
func Unpack(name string, src io.ReaderAt, size int64, lim Limits) ([]Part, error) {
	if lim.Ratio == 0 {
		lim.Ratio = DefaultRatio
	}
	if lim.Files == 0 {
		lim.Files = DefaultFiles
	}
	head := make([]byte, min(size, 4096))
	if n, err := src.ReadAt(head, 0); err != nil && err != io.EOF {
		return nil, err
	} else {
		head = head[:n]
	}
	whole := func() io.Reader { return io.NewSectionReader(src, 0, size) }
	refuse := func(k Kind, reason string, args ...any) ([]Part, error) {
		return nil, &Problem{File: name, Kind: k, Reason: fmt.Sprintf(reason, args...)}
	}
	switch form := Sniff(head); form {
	case Text:
		if size > lim.Bytes {
			return refuse(TooMuch, "the file is larger than the %s that are allowed", Size(lim.Bytes))
		}
		return []Part{{Name: name, Open: func() (io.ReadCloser, error) { return io.NopCloser(whole()), nil }}}, nil
	case Gzip:
		return []Part{{Name: strings.TrimSuffix(name, ".gz"), Open: func() (io.ReadCloser, error) {
			z, err := gzip.NewReader(whole())
			if err != nil {
				return nil, &Problem{File: name, Kind: NotText, Reason: "the packed file is damaged"}
			}
			return &bounded{r: z, name: name, packed: size, lim: lim}, nil
		}}}, nil
	case Zip:
		return unzip(name, src, size, lim)
	case Empty:
		return refuse(NoRows, "the file is empty")
	default:
		return refuse(NotText, "the file is %s, not a table of readings", form)
	}
}

func unzip(name string, src io.ReaderAt, size int64, lim Limits) ([]Part, error) {
	refuse := func(k Kind, reason string, args ...any) ([]Part, error) {
		return nil, &Problem{File: name, Kind: k, Reason: fmt.Sprintf(reason, args...)}
	}
	z, err := zip.NewReader(src, size)
	if err != nil {
		return refuse(NotText, "the archive is damaged")
	}
	if len(z.File) > lim.Files {
		return refuse(TooMuch, "the archive holds %d files, at most %d are allowed", len(z.File), lim.Files)
	}
	var out []Part
	var claimed uint64
	for _, f := range z.File {
		base := path.Base(strings.ReplaceAll(f.Name, "\\", "/"))
		if f.FileInfo().IsDir() || strings.HasPrefix(base, ".") || strings.HasPrefix(f.Name, "__MACOSX") {
			continue
		}
		if f.Flags&1 != 0 {
			return refuse(NotText, "%s in the archive is locked with a password", base)
		}
		claimed += f.UncompressedSize64
		if claimed > uint64(lim.Bytes) || f.UncompressedSize64 > RatioFree && f.UncompressedSize64/uint64(lim.Ratio) > f.CompressedSize64 {
			return refuse(TooMuch, "%s in the archive would unpack to %s from %s: at most %s and %d times its packed size are allowed",
				base, Size(int64(min(f.UncompressedSize64, 1<<60))), Size(int64(min(f.CompressedSize64, 1<<60))), Size(lim.Bytes), lim.Ratio)
		}
		out = append(out, Part{Name: base, Open: func() (io.ReadCloser, error) {
			r, err := f.Open()
			if err != nil {
				return nil, &Problem{File: name, Kind: NotText, Reason: base + " in the archive is damaged"}
			}
			// The size in the archive's own list is only a claim.
			return checkText(&bounded{r: r, c: r, name: base, packed: int64(min(f.CompressedSize64, 1<<60)), lim: lim}, base)
		}})
	}
	if len(out) == 0 {
		return refuse(NoRows, "the archive holds no file")
	}
	return out, nil
}

// checkText refuses a part of an archive that is no text.
func checkText(r io.ReadCloser, name string) (io.ReadCloser, error) {
	head := make([]byte, 512)
	n, err := io.ReadFull(r, head)
	if err != nil && err != io.EOF && err != io.ErrUnexpectedEOF {
		_ = r.Close()
		return nil, err
	}
	if form := Sniff(head[:n]); form != Text && form != Empty {
		_ = r.Close()
		return nil, &Problem{File: name, Kind: NotText, Reason: "the file in the archive is " + string(form) + ", not a table of readings"}
	}
	return struct {
		io.Reader
		io.Closer
	}{io.MultiReader(bytes.NewReader(head[:n]), r), r}, nil
}

// bounded counts what comes out of a packed file and stops it at its limits.
type bounded struct {
	r      io.Reader
	c      io.Closer
	name   string
	packed int64
	out    int64
	lim    Limits
}

// Read implements io.Reader.
func (b *bounded) Read(p []byte) (int, error) {
	n, err := b.r.Read(p)
	b.out += int64(n)
	if b.out > b.lim.Bytes {
		return 0, &Problem{File: b.name, Kind: TooMuch, Reason: fmt.Sprintf("the packed file unpacks to more than the %s that are allowed", Size(b.lim.Bytes))}
	}
	if b.out > RatioFree && b.out/b.lim.Ratio > b.packed {
		return 0, &Problem{File: b.name, Kind: TooMuch, Reason: fmt.Sprintf("the packed file unpacks to more than %d times its size: no record of a logger does", b.lim.Ratio)}
	}
	if err != nil && err != io.EOF {
		err = &Problem{File: b.name, Kind: NotText, Reason: "the packed file is damaged"}
	}
	return n, err
}

// Close implements io.Closer.
func (b *bounded) Close() error {
	if b.c != nil {
		return b.c.Close()
	}
	return nil
}

// Size says a number of bytes in words.
func Size(n int64) string {
	switch {
	case n >= 1<<30:
		return fmt.Sprintf("%.3g GB", float64(n)/(1<<30))
	case n >= 1<<20:
		return fmt.Sprintf("%.3g MB", float64(n)/(1<<20))
	case n >= 1<<10:
		return fmt.Sprintf("%.3g kB", float64(n)/(1<<10))
	}
	return fmt.Sprintf("%d bytes", n)
}
