package logfile

import (
	"bytes"
	"encoding/gob"
	"fmt"
	"io"
)

// mark is everything of a Reader that does not follow from its files, map and rules.
type mark struct {
	Part         int // of the parts in their order, from 1
	Offset       int64
	Line         int
	End          byte
	Width, Short int
	Rows         int64
	Nano         int64
	Watch        watchMark
}

type watchMark struct {
	Report         Report
	Last, LastWall int64
	LastLine       int
	LastName       string
	Prev           []float64
	Steps          [][2]int64
	Cols           []columnMark
}

type columnMark struct {
	Since                int64
	SinceLine, Unchanged int
	Missing, Saturated   Finding
	Value                float64
	JumpLine, JumpRows   int
	JumpName, JumpTo     string
	JumpBefore, JumpPast float64
}

// Mark says where the reader stands after the row that Next gave last, so that
// ResumeParts goes on with the next one.
func (r *Reader) Mark() ([]byte, error) {
	if r.lines == nil || r.err != nil {
		return nil, fmt.Errorf("mark: no row is at hand")
	}
	w := &r.watch
	m := mark{Part: r.part, Offset: r.lines.got - int64(r.lines.to-r.lines.from), Line: r.lines.n, End: r.lines.end, Width: r.width, Short: r.short, Rows: r.rows, Nano: r.nano,
		Watch: watchMark{Report: w.report, Last: w.last, LastWall: w.lastWall, LastLine: w.lastLine, LastName: w.lastName, Prev: w.prev}}
	for _, s := range w.steps {
		m.Watch.Steps = append(m.Watch.Steps, [2]int64{s.step, int64(s.n)})
	}
	for _, c := range w.cols {
		m.Watch.Cols = append(m.Watch.Cols, columnMark{Since: c.since, SinceLine: c.sinceLine, Unchanged: c.unchanged, Missing: c.missing, Saturated: c.saturated, Value: c.value,
			JumpLine: c.jump.line, JumpRows: c.jump.rows, JumpName: c.jump.name, JumpTo: c.jump.to, JumpBefore: c.jump.before, JumpPast: c.jump.after})
	}
	var b bytes.Buffer
	if err := gob.NewEncoder(&b).Encode(m); err != nil {
		return nil, fmt.Errorf("mark: %w", err)
	}
	return b.Bytes(), nil
}

// ResumeParts goes on where Mark was taken, of the same parts read by the same map and
// rules. The text before it is passed over without being read as rows; packed files are
// unpacked again to get there.
func ResumeParts(parts []Part, m Map, rules Rules, at []byte) (*Reader, error) {
	var k mark
	if err := gob.NewDecoder(bytes.NewReader(at)).Decode(&k); err != nil {
		return nil, fmt.Errorf("resume: %w", err)
	}
	r := ReadParts(parts, m, rules)
	if r.err != nil {
		return nil, r.err
	}
	w := &r.watch
	if k.Part < 1 || k.Part > len(r.parts) || len(k.Watch.Cols) != len(w.cols) || len(k.Watch.Steps) != len(w.steps) || len(k.Watch.Prev) != len(w.prev) {
		return nil, fmt.Errorf("resume: the mark is of another reading")
	}
	r.part = k.Part - 1
	if !r.openPart() {
		return nil, r.err
	}
	l := r.lines
	if err := l.skipTo(k.Offset); err != nil {
		r.Close()
		return nil, err
	}
	l.n, l.end = k.Line, k.End
	r.width, r.short, r.rows, r.nano = k.Width, k.Short, k.Rows, k.Nano
	w.report, w.last, w.lastWall, w.lastLine, w.lastName = k.Watch.Report, k.Watch.Last, k.Watch.LastWall, k.Watch.LastLine, k.Watch.LastName
	copy(w.prev, k.Watch.Prev)
	if w.report.Counts == nil {
		w.report.Counts = map[Kind]int{}
	}
	for i, s := range k.Watch.Steps {
		w.steps[i] = stepCount{s[0], int(s[1])}
	}
	for i, c := range k.Watch.Cols {
		w.cols[i] = watched{since: c.Since, sinceLine: c.SinceLine, unchanged: c.Unchanged, missing: c.Missing, saturated: c.Saturated, value: c.Value,
			jump: jump{line: c.JumpLine, rows: c.JumpRows, name: c.JumpName, to: c.JumpTo, before: c.JumpBefore, after: c.JumpPast}}
	}
	return r, nil
}

// skipTo goes on to an offset in the text, past what was returned so far.
func (l *lines) skipTo(offset int64) error {
	for l.got < offset {
		n, err := l.r.Read(l.buf[:min(int64(len(l.buf)), offset-l.got)])
		l.got, l.from, l.to = l.got+int64(n), 0, 0
		if err != nil && l.got < offset {
			if err == io.EOF {
				return fmt.Errorf("resume: the file is shorter than it was")
			}
			return err
		}
		l.eof = err == io.EOF
	}
	if l.to > 0 {
		l.from = l.to - int(l.got-offset)
	}
	if l.from < 0 {
		return fmt.Errorf("resume: the mark lies within the lines above the first row")
	}
	return nil
}
