package repair

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"endcast/internal/domain/fault"
)

// RecordBreaks is a table of breaks that came in at once. Either every row is
// taken, as one entry, or none.
type RecordBreaks struct {
	Breaks []RecordBreak `json:"breaks"`
}

// Kind implements Change.
func (RecordBreaks) Kind() string { return "specimen.breaks" }

// Want implements Wanting.
func (ch RecordBreaks) Want() Want {
	w := Want{Tests: true}
	for _, b := range ch.Breaks {
		w.Marks = append(w.Marks, b.Mark)
	}
	return w
}

// mostBreaks bounds one table: more than a laboratory breaks in a week.
const mostBreaks = 500

// Apply implements Change. What cannot be taken of row n, counted from 1, is at
// the field breaks-n-load and so on; a mark that nothing has, or whose specimen
// is broken already, at breaks-n-mark.
func (ch RecordBreaks) Apply(s *Scope, c Context) error {
	var bad fault.Invalid
	if len(ch.Breaks) == 0 || len(ch.Breaks) > mostBreaks {
		bad.Add("breaks", "", "a table must have from 1 to %d rows, got %d", mostBreaks, len(ch.Breaks))
		return bad.Err()
	}
	was := slices.Clone(s.Specimens)
	line := map[string]int{}
	for i, b := range ch.Breaks {
		f := fmt.Sprintf("breaks-%d-", i+1)
		mark := strings.ToUpper(strings.TrimSpace(b.Mark))
		if first, twice := line[mark]; twice {
			bad.Add(f+"mark", b.Mark, "is in row %d already; a specimen breaks once", first)
			continue
		}
		line[mark] = i + 1
		var v *fault.Invalid
		switch err := b.apply(s, c); {
		case err == nil:
		case errors.As(err, &v):
			for _, x := range v.Fields {
				bad.Add(f+x.Field, x.Typed, "%s", x.Reason)
			}
		default:
			bad.Add(f+"mark", b.Mark, "%s", fault.Message(err))
		}
	}
	if err := bad.Err(); err != nil {
		s.Specimens = was
		return err
	}
	return s.settleTests(c)
}
