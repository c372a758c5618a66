package web

import (
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"endcast/internal/domain/repair"
	"endcast/internal/domain/sequence"
	"endcast/internal/domain/units"
	"endcast/views/board"
	"endcast/views/ui"
)

// boardReader makes the panels of the dashboard from the counts of a program.
type boardReader struct {
	head   ProgramHead
	frame  *repair.Scope
	b      repair.Board
	today  time.Time // the program's day, as midnight of UTC of its date
	now    time.Time
	sys    units.System
	zone   *time.Location
	yields map[string]int
}

// boardShow is the manager's dashboard: where the program stands, from counts that
// are kept with each edit, so that it costs the same with a hundred thousand ends.
func (s *Server) boardShow(w http.ResponseWriter, r *http.Request) error {
	b, err := s.readBoard(r)
	if err != nil {
		return err
	}
	v := board.View{Figures: b.figures(), Panels: b.panels(),
		As: fmt.Sprintf("Counted to %s; days are days of %s. Common practice, no source, unless a note says otherwise.", b.today.Format(time.DateOnly), b.zone)}
	v.Sentence = fmt.Sprintf("%d of %d ends are closed, %d are open; %s of the steps are earned.", b.b.Closed, b.b.Ends, b.b.Ends-b.b.Closed, share(b.b.Earned))
	if b.b.Ends <= planLimit {
		marks, err := s.store.PlanEnds(r.Context(), b.head.ID.String(), planLimit)
		if err != nil {
			return err
		}
		v.Plan = s.plan(r, b.frame, marks)
	} else {
		t := b.lines()
		v.Lines = &t
	}
	return s.render(w, r, http.StatusOK, board.Page(s.page(r, "Dashboard", ui.Crumb{Label: "Bridge", Href: b.head.Path()}), v))
}

func (s *Server) readBoard(r *http.Request) (*boardReader, error) {
	head := s.program(r)
	id := head.ID.String()
	frame, err := s.store.Frame(r.Context(), id)
	if err != nil {
		return nil, err
	}
	marks, err := s.store.Marks(r.Context(), id)
	if err != nil {
		return nil, err
	}
	b := &boardReader{head: head, frame: frame, now: s.store.Today(frame.Program), sys: s.units(r), zone: zoneOf(frame.Program)}
	b.today = frame.Program.Day(b.now)
	b.b = repair.ReadBoard(marks, frame.Steps, frame.Supports, b.today)
	b.yields, _ = b.b.Yields(frame.Windows)
	return b, nil
}

// ends is the address of the list of ends narrowed by pairs of key and value.
func (b *boardReader) ends(kv ...string) string {
	q := url.Values{}
	for i := 0; i+1 < len(kv); i += 2 {
		q.Set(kv[i], kv[i+1])
	}
	return b.head.Path("ends") + "?" + q.Encode()
}

// counted is the address of the list of the ends that add to a count.
func (b *boardReader) counted(parts ...string) string {
	return b.ends("counted", strings.Join(parts, "|"))
}

func tellOf(n int64) string { return strconv.FormatInt(n, 10) }

func (b *boardReader) figures() []board.Figure {
	open := b.b.Ends - b.b.Closed
	free, blocked, late := int64(0), int64(0), int64(0)
	for _, s := range b.b.Steps {
		free += s.Free
		blocked += s.At - s.Free
		late += s.Late()
	}
	openNC := int64(0)
	for _, c := range b.b.NC {
		openNC += c.Open
	}
	return []board.Figure{
		{Label: "ends", Value: tellOf(b.b.Ends), Href: b.head.Path("ends"), Mark: ui.Open},
		{Label: "closed", Value: tellOf(b.b.Closed), Href: b.ends("show", "closed"), Mark: ui.Good},
		{Label: "open", Value: tellOf(open), Href: b.ends("show", "open", "order", "oldest"), Mark: ui.Active},
		{Label: "open, free to go on", Value: tellOf(free), Href: b.ends("show", "open", "counted", repair.MarkFree), Mark: ui.Active},
		{Label: "open, blocked", Value: tellOf(blocked), Href: b.ends("show", "open", "order", "blocked", "counted", repair.MarkBlocked), Mark: ui.Wait},
		{Label: "longer in the step than usual", Value: tellOf(late), Href: "#ageing", Mark: ui.Caution},
		{Label: "earned", Value: share(b.b.Earned), Href: "#earned", Mark: ui.Active},
		{Label: "open nonconformances", Value: tellOf(openNC), Href: b.head.Path("nonconformances"), Mark: ui.Caution},
	}
}

func (b *boardReader) lines() board.Table {
	t := board.Table{Caption: "Bearing lines along the bridge", Empty: "There is no end yet.",
		Columns: []ui.Column{{Label: "Support"}, {Label: "Face"}, {Label: "Ends", Numeric: true}, {Label: "Open", Numeric: true}, {Label: "Closed", Numeric: true}}}
	for _, l := range b.b.Lines {
		t.Rows = append(t.Rows, []board.Cell{{Text: l.Support, Head: true, Href: b.ends("support", l.Support)}, {Text: l.Face},
			{Text: tellOf(l.Ends), Num: true}, {Text: tellOf(l.Open), Num: true, Href: b.counted(repair.MarkLine, l.Support, l.Face, "open"), Said: "open at " + l.Support},
			{Text: tellOf(l.Ends - l.Open), Num: true, Href: b.counted(repair.MarkLine, l.Support, l.Face, "closed"), Said: "closed at " + l.Support}})
	}
	return t
}

// countedWords says in words which count a list of ends is behind.
func countedWords(mark string, frame *repair.Scope) string {
	p := append(strings.Split(mark, "|"), "", "", "", "")
	step := p[1]
	for _, s := range frame.Steps {
		if s.Code == p[1] {
			step = strings.ToLower(s.Name)
		}
	}
	switch p[0] {
	case repair.MarkFree:
		return "free to go on"
	case repair.MarkBlocked:
		return "blocked"
	case repair.MarkStanding:
		return "begun and not closed"
	case repair.MarkPast:
		return "past: " + step
	case repair.MarkLeft:
		return "still to go through: " + step
	case repair.MarkReturned:
		return "sent back at: " + step
	case repair.MarkTried:
		return "completed once or more: " + step
	case repair.MarkIn:
		return "in " + step + " since " + p[2]
	case repair.MarkLine:
		return p[3] + ", " + p[2] + " face of " + p[1]
	case repair.MarkNC:
		return "nonconformance: " + p[1]
	case repair.MarkNCEnd:
		if p[1] == "rework" {
			return "repaired or done again"
		}
		return "with a nonconformance"
	case repair.MarkKnown:
		return "quantity known: " + itemWords[p[1]]
	case repair.MarkDone:
		return "with some done: " + itemWords[p[1]]
	case repair.MarkStud:
		return "studs found in the week of " + p[1]
	case repair.MarkRejected:
		return "studs rejected in the week of " + p[1]
	case repair.MarkOpen:
		return "open: " + sequence.Reason(p[4]).Words()
	}
	return "counted as " + mark
}
