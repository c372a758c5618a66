package logfile

import (
	"bytes"
	"errors"
	"io"
)

// lines splits a text into lines, whatever their ends, in one buffer.
type lines struct {
	r        io.Reader
	buf      []byte
	from, to int
	end      byte  // '\n', or '\r' in a file that has no other; 0: not known yet
	n        int   // number of the line last returned
	got      int64 // bytes taken from r
	eof      bool
	whole    bool // the line last returned was ended
	err      error
}

var errLong = errors.New("line too long")

func newLines(r io.Reader) *lines { return &lines{r: r, buf: make([]byte, 64<<10)} }

// next returns the next line without its end, valid until the next call; nil at the
// end of the text or at an error.
func (l *lines) next() []byte {
	seen := 0 // bytes from l.from on that hold no end
	for {
		if l.end == 0 && l.to > l.from {
			l.find()
		}
		if l.end != 0 {
			if i := bytes.IndexByte(l.buf[l.from+seen:l.to], l.end); i >= 0 {
				line := l.buf[l.from : l.from+seen+i]
				l.from += seen + i + 1
				return l.give(line, true)
			}
		}
		seen = l.to - l.from
		if l.eof || l.err != nil {
			if seen == 0 || l.err != nil {
				return nil
			}
			line := l.buf[l.from:l.to]
			l.from = l.to
			return l.give(line, false)
		}
		if l.from > 0 {
			l.to = copy(l.buf, l.buf[l.from:l.to])
			l.from = 0
		}
		if l.to == len(l.buf) {
			if len(l.buf) >= maxLine {
				l.n++
				l.err = errLong
				return nil
			}
			l.buf = append(l.buf, make([]byte, len(l.buf))...)
		}
		n, err := l.r.Read(l.buf[l.to:])
		l.to, l.got = l.to+n, l.got+int64(n)
		if err == io.EOF {
			l.eof = true
		} else if err != nil {
			l.err = err
		}
	}
}

func (l *lines) give(line []byte, whole bool) []byte {
	l.n++
	l.whole = whole
	if n := len(line); n > 0 && line[n-1] == '\r' {
		line = line[:n-1]
	}
	if line == nil {
		line = []byte{}
	}
	return line
}

// find settles how lines end, once there is a line end to see. A single return
// at the end of what is read so far may be the first half of the usual pair.
func (l *lines) find() {
	have := l.buf[l.from:l.to]
	if bytes.IndexByte(have, '\n') >= 0 {
		l.end = '\n'
	} else if i := bytes.IndexByte(have, '\r'); i >= 0 && i < len(have)-1 {
		l.end = '\r'
	}
}

// fields splits a line into fields and appends them to dst: slices of the line, or
// of the scratch where quotes were doubled inside. It reports false for a quote that
// is not closed or has text after it.
func fields(dst [][]byte, line []byte, sep byte) ([][]byte, bool) {
	if sep == ' ' {
		return blanks(dst, line), true
	}
	if bytes.IndexByte(line, '"') < 0 {
		for {
			i := bytes.IndexByte(line, sep)
			if i < 0 {
				return append(dst, trim(line)), true
			}
			dst = append(dst, trim(line[:i]))
			line = line[i+1:]
		}
	}
	for {
		line = trimLeft(line, sep)
		if len(line) == 0 || line[0] != '"' {
			i := bytes.IndexByte(line, sep)
			if i < 0 {
				return append(dst, trim(line)), true
			}
			dst = append(dst, trim(line[:i]))
			line = line[i+1:]
			continue
		}
		field, rest, ok := quoted(line[1:])
		if !ok {
			return dst, false
		}
		dst = append(dst, trim(field))
		rest = trimLeft(rest, sep)
		if len(rest) == 0 {
			return dst, true
		}
		if rest[0] != sep {
			return dst, false
		}
		line = rest[1:]
	}
}

// quoted returns what stands before the closing quote; doubled quotes become one, in
// place.
func quoted(s []byte) (field, rest []byte, ok bool) {
	w := 0
	for i := 0; i < len(s); i++ {
		if s[i] != '"' {
			s[w] = s[i]
			w++
			continue
		}
		if i+1 < len(s) && s[i+1] == '"' {
			s[w] = '"'
			w++
			i++
			continue
		}
		return s[:w], s[i+1:], true
	}
	return nil, nil, false
}

// blanks splits at runs of spaces and tabs.
func blanks(dst [][]byte, line []byte) [][]byte {
	for {
		line = trim(line)
		if len(line) == 0 {
			return dst
		}
		i := 0
		for i < len(line) && line[i] != ' ' && line[i] != '\t' {
			i++
		}
		dst = append(dst, bytes.Trim(line[:i], `"`))
		line = line[i:]
	}
}

func trim(s []byte) []byte {
	for len(s) > 0 && (s[0] == ' ' || s[0] == '\t') {
		s = s[1:]
	}
	for len(s) > 0 && (s[len(s)-1] == ' ' || s[len(s)-1] == '\t') {
		s = s[:len(s)-1]
	}
	return s
}

func trimLeft(s []byte, sep byte) []byte {
	for len(s) > 0 && (s[0] == ' ' || (s[0] == '\t' && sep != '\t')) {
		s = s[1:]
	}
	return s
}
