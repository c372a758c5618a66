package logfile

import (
	"bytes"
	"io"
	"unicode/utf16"
	"unicode/utf8"
)

// decoded returns r as UTF-8 without a byte order mark. The mark of another
// encoding than the one named wins: it can not be there by chance.
func decoded(r io.Reader, encoding string) io.Reader {
	var mark [3]byte
	n, err := io.ReadFull(r, mark[:])
	head := mark[:n]
	rest := r
	if err != nil && err != io.EOF && err != io.ErrUnexpectedEOF {
		rest = failed{err}
	}
	switch {
	case bytes.HasPrefix(head, []byte("\xef\xbb\xbf")):
		return rest
	case bytes.HasPrefix(head, []byte("\xff\xfe")):
		return &wide{r: io.MultiReader(bytes.NewReader(head[2:]), rest), low: 0}
	case bytes.HasPrefix(head, []byte("\xfe\xff")):
		return &wide{r: io.MultiReader(bytes.NewReader(head[2:]), rest), low: 1}
	}
	all := io.MultiReader(bytes.NewReader(head), rest)
	switch encoding {
	case "utf-16le":
		return &wide{r: all, low: 0}
	case "utf-16be":
		return &wide{r: all, low: 1}
	case "latin-1":
		return &narrow{r: all}
	}
	return all
}

// failed hands on an error that was met before.
type failed struct{ err error }

// Read implements io.Reader.
func (f failed) Read([]byte) (int, error) { return 0, f.err }

// wide reads UTF-16; low is the place of the low byte in a pair.
type wide struct {
	r    io.Reader
	low  int
	in   [8192]byte
	n    int // bytes in in
	high rune
	out  []byte
	err  error
}

// Read implements io.Reader.
func (w *wide) Read(p []byte) (int, error) {
	for len(w.out) == 0 {
		if w.err != nil {
			return 0, w.err
		}
		w.fill()
	}
	n := copy(p, w.out)
	w.out = w.out[n:]
	return n, nil
}

func (w *wide) fill() {
	n, err := w.r.Read(w.in[w.n:])
	w.n += n
	w.err = err
	out := w.out[:0]
	i := 0
	for ; i+1 < w.n; i += 2 {
		u := rune(w.in[i+w.low]) | rune(w.in[i+1-w.low])<<8
		switch {
		case w.high != 0:
			out = utf8.AppendRune(out, utf16.DecodeRune(w.high, u))
			w.high = 0
		case utf16.IsSurrogate(u):
			w.high = u
		default:
			out = utf8.AppendRune(out, u)
		}
	}
	w.n = copy(w.in[:], w.in[i:w.n])
	w.out = out
}

// narrow reads Latin-1; the bytes 0x80 to 0x9f are those of code page 1252.
type narrow struct {
	r   io.Reader
	in  [4096]byte
	out []byte
	err error
}

// Read implements io.Reader.
func (w *narrow) Read(p []byte) (int, error) {
	for len(w.out) == 0 {
		if w.err != nil {
			return 0, w.err
		}
		n, err := w.r.Read(w.in[:])
		w.err = err
		w.out = w.out[:0]
		for _, c := range w.in[:n] {
			w.out = utf8.AppendRune(w.out, latin(c))
		}
	}
	n := copy(p, w.out)
	w.out = w.out[n:]
	return n, nil
}

var cp1252 = [32]rune{'€', 0x81, '‚', 'ƒ', '„', '…', '†', '‡', 'ˆ', '‰', 'Š', '‹', 'Œ', 0x8d, 'Ž', 0x8f, 0x90, '‘', '’', '“', '”', '•', '–', '—', '˜', '™', 'š', '›', 'œ', 0x9d, 'ž', 'Ÿ'}

func latin(c byte) rune {
	if c >= 0x80 && c < 0xa0 {
		return cp1252[c-0x80]
	}
	return rune(c)
}
