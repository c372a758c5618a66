package logfile

import (
	"fmt"
	"time"

	"endcast/internal/domain/fault"
)

// Kind is a way in which a file is refused, or something odd in one that is taken.
type Kind string

// Kinds that refuse the file. MixedUnits, ClockChange and Repeated may be allowed by Rules.Allow
// where a person says that the file is true as it stands.
const (
	NotText     Kind = "not_text"     // a picture, a program, or another encoding than the map names
	Shape       Kind = "shape"        // a row with another number of columns, an open quote, a line too long
	BadTime     Kind = "bad_time"     // a time that cannot be read
	BadNumber   Kind = "bad_number"   // text where a number belongs
	Impossible  Kind = "impossible"   // a value outside Rules.Ranges
	Backwards   Kind = "backwards"    // a time before that of the row above
	Repeated    Kind = "repeated"     // the time of the row above with other values; allowed: the first counts
	MixedUnits  Kind = "mixed_units"  // degrees change from C to F or back; allowed: it was the concrete
	ClockChange Kind = "clock_change" // an hour twice or missing; allowed: it was a pause
	NoRows      Kind = "no_rows"
	TooMuch     Kind = "too_much" // a file or archive beyond its limits
)

// Kinds that are listed in the Report of a file that is taken.
const (
	Gap         Kind = "gap"          // no rows for longer than the rules let pass
	Jitter      Kind = "jitter"       // a step that is not the usual one
	SameRow     Kind = "same_row"     // a row that repeats the one above; left out
	Stuck       Kind = "stuck"        // one reading unchanged for long
	Spike       Kind = "spike"        // a reading that jumps away and back
	Missing     Kind = "missing"      // no reading in a column
	Saturated   Kind = "saturated"    // a channel at its end
	CutShort    Kind = "cut_short"    // the last line breaks off; left out
	AgainHeader Kind = "again_header" // the lines of names come again: the logger was restarted
)

// Problem refuses a file. It wraps a fault of kind Refused with the same words.
type Problem struct {
	File   string // "" where there is one file
	Line   int    // 0: the file as a whole
	Column int    // 0: the row as a whole
	Kind   Kind
	Reason string
}

// Error says where and why.
func (p *Problem) Error() string {
	s := ""
	if p.File != "" {
		s = p.File + ", "
	}
	if p.Line > 0 {
		s += fmt.Sprintf("line %d, ", p.Line)
	}
	if p.Column > 0 {
		s += fmt.Sprintf("column %d, ", p.Column)
	}
	if s == "" {
		return p.Reason
	}
	return s[:len(s)-2] + ": " + p.Reason
}

// Unwrap makes a Problem a refusal for whoever asks package fault.
func (p *Problem) Unwrap() error {
	k := fault.Refused
	if p.Kind == TooMuch {
		k = fault.TooLarge
	}
	return fault.New(k, "%s", p.Error())
}

// Finding is one odd thing in a file that is taken.
type Finding struct {
	Kind   Kind      `json:"kind"`
	File   string    `json:"file,omitempty"`
	Line   int       `json:"line"`
	Column int       `json:"column,omitempty"` // of the file; 0: the row
	From   time.Time `json:"from"`
	To     time.Time `json:"to"`
	Rows   int       `json:"rows"` // rows that it covers
	Text   string    `json:"text"`
}

// Report is what was seen in the rows read so far.
type Report struct {
	Rows        int           `json:"rows"`
	First, Last time.Time     `json:"-"`
	Step        time.Duration `json:"step"` // the usual step from row to row
	Low, High   []float64     `json:"-"`    // by value column; +Inf and -Inf where none was read
	Counts      map[Kind]int  `json:"counts"`
	// Findings hold the first of each kind; Counts say how many there were.
	Findings []Finding `json:"findings"`
}

const mostFindings = 20 // of one kind
