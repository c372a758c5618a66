package web

import (
	"fmt"
	"maps"
	"net/url"
	"slices"
	"time"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/progress"
	"endcast/internal/domain/quality"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/views/board"
	"endcast/views/drawing"
	"endcast/views/ui"
)

// mostWeeks is how many weeks of studs the chart draws, the latest.
const mostWeeks = 26

func (b *boardReader) panels() []board.Panel {
	return []board.Panel{b.bySteps(), b.byReason(), b.ageing(), b.burnDown(), b.earned(), b.cycle(), b.windowUse(), b.rejects(), b.rework(), b.causes(), b.quantities()}
}

// live are the steps that anything stands in or went through, and those in force.
func (b *boardReader) live() []repair.BoardStep {
	var out []repair.BoardStep
	for _, s := range b.b.Steps {
		if !s.Retired || s.At > 0 || s.Passed.N() > 0 {
			out = append(out, s)
		}
	}
	return out
}

func (b *boardReader) bySteps() board.Panel {
	d := drawing.StepBarsData{ID: "board", Title: "Open ends by step"}
	t := board.Table{Caption: "Open ends by the step that is next", Empty: "No end is open.", Columns: []ui.Column{{Label: "Step"}, {Label: "Ends", Numeric: true}, {Label: "Free", Numeric: true},
		{Label: "Paper", Numeric: true}, {Label: "Steel and concrete", Numeric: true}, {Label: "Access", Numeric: true}}}
	for _, s := range b.live() {
		if s.At == 0 {
			continue
		}
		href := b.ends("show", "open", "step", s.Code)
		d.Steps = append(d.Steps, drawing.StepCount{Code: s.Code, Name: s.Name, Href: href, Free: int(s.Free), Paper: int(s.Paper), Steel: int(s.Steel), Access: int(s.Other)})
		row := []board.Cell{{Text: s.Name, Head: true}, {Text: tellOf(s.At), Num: true, Href: href, Said: "open ends: " + s.Name}, {Text: tellOf(s.Free), Num: true}}
		for _, x := range []struct {
			track string
			n     int64
		}{{"paper", s.Paper}, {"steel_and_concrete", s.Steel}, {"access", s.Other}} {
			c := board.Cell{Text: tellOf(x.n), Num: true}
			if x.n > 0 {
				c.Href, c.Said = b.ends("show", "open", "step", s.Code, "track", x.track), "blocked at "+s.Name
			}
			row = append(row, c)
		}
		t.Rows = append(t.Rows, row)
	}
	p := board.Panel{ID: "steps", Title: "Open ends by step", Tables: []board.Table{t}}
	if len(d.Steps) > 0 {
		p.Chart = drawing.StepBars(d)
	}
	return p
}

func (b *boardReader) byReason() board.Panel {
	t := board.Table{Caption: "Open ends by what blocks them", Empty: "No end is open.", Columns: []ui.Column{{Label: "Reason"}, {Label: "Track"}, {Label: "Ends", Numeric: true}, {Label: "Of the open", Unit: "%", Numeric: true}}}
	open := b.b.Ends - b.b.Closed
	for _, o := range b.b.Open {
		m := ui.Mark{State: ui.Wait, Text: o.ReasonWords()}
		switch o.Track {
		case "":
			m.State = ui.Active
		case "paper":
			m.State = ui.Caution
		}
		href := b.ends("show", "open", "reason", o.Reason, "order", "oldest")
		if o.Reason == "" {
			href = b.ends("show", "open", "counted", repair.MarkFree)
		}
		t.Rows = append(t.Rows, []board.Cell{{Head: true, Mark: &m}, {Text: o.TrackWords()}, {Text: tellOf(o.N), Num: true, Href: href, Said: "open ends: " + o.ReasonWords()},
			{Text: units.Significant(100*float64(o.N)/float64(max(open, 1)), 2), Num: true}})
	}
	return board.Panel{ID: "reasons", Title: "What stops the open ends", Tables: []board.Table{t}}
}

func (b *boardReader) ageing() board.Panel {
	t := board.Table{Caption: "Days that open ends stand in their step, beside those that passed it", Empty: "No end is open.", Columns: []ui.Column{{Label: "Step"}, {Label: "Open", Numeric: true},
		{Label: "Median now", Unit: "d", Numeric: true}, {Label: "Oldest", Unit: "d", Numeric: true}, {Label: "Median of those passed", Unit: "d", Numeric: true}, {Label: "85 of 100 passed in", Unit: "d", Numeric: true}, {Label: "Longer than that", Numeric: true}, {Label: "Drawn"}}}
	for _, s := range b.live() {
		if s.At == 0 {
			continue
		}
		row := []board.Cell{{Text: s.Name, Head: true}, {Text: tellOf(s.At), Num: true, Href: b.ends("show", "open", "step", s.Code, "order", "oldest"), Said: "open in " + s.Name + ", oldest first"},
			{Text: numberOf(s.Ages.Quantile(0.5)), Num: true}, {Text: numberOf(s.Ages.Max()), Num: true}}
		if s.Passed.N() == 0 {
			row = append(row, board.Cell{Text: "–", Num: true}, board.Cell{Text: "–", Num: true}, board.Cell{Text: "nobody passed yet"}, board.Cell{Bar: bar(s)})
		} else {
			late := s.Late()
			c := board.Cell{Text: tellOf(late), Num: true}
			if late > 0 {
				c = board.Cell{Mark: &ui.Mark{State: ui.Caution, Text: tellOf(late)}, Num: true, Href: b.ends("show", "open", "step", s.Code, "order", "oldest"), Said: "longer than usual in " + s.Name}
			}
			row = append(row, board.Cell{Text: numberOf(s.Passed.Quantile(0.5)), Num: true}, board.Cell{Text: numberOf(s.Passed.Quantile(repair.LateShare)), Num: true}, c, board.Cell{Bar: bar(s)})
		}
		t.Rows = append(t.Rows, row)
	}
	return board.Panel{ID: "ageing", Title: "Ageing", Wide: true, Tables: []board.Table{t},
		Notes: []string{"Bar: the days within which 85 of 100 ends passed the step; stroke: half of them. Circle: open ends within it; square: longer. Each step has a scale of its own. Days are calendar days, rounded; an end comes to a step when the last step before it is finished."}}
}

// bar draws the ages of a step on a scale of its own.
func bar(s repair.BoardStep) *board.Bar {
	usual, middle := s.Passed.Quantile(repair.LateShare), s.Passed.Quantile(0.5)
	most := max(usual, s.Ages.Max(), 1)
	out := &board.Bar{Usual: 100 * usual / most, Middle: 100 * middle / most}
	seen := map[int]bool{}
	for d := range s.Ages {
		at := 100 * d / most
		late := s.Passed.N() > 0 && d > usual
		if !seen[at] {
			out.Ages = append(out.Ages, board.Age{At: at, Late: late})
		}
		seen[at] = true
	}
	slices.SortFunc(out.Ages, func(a, c board.Age) int { return a.At - c.At })
	return out
}

func (b *boardReader) burnDown() board.Panel {
	d := drawing.LineData{ID: "burn", Title: "Open ends by kind of access", YLabel: "open ends", Days: true, Zero: true}
	t := board.Table{Caption: "Open and closed ends by kind of access", Empty: "There is no end yet.", Columns: []ui.Column{{Label: "Access"}, {Label: "Ends", Numeric: true}, {Label: "Closed", Numeric: true}, {Label: "Open", Numeric: true},
		{Label: "Open 4 weeks ago", Numeric: true}, {Label: "Open 12 weeks ago", Numeric: true}}}
	for _, k := range b.b.Kinds {
		se := drawing.Series{Name: sentenceCase(k.Access), Step: true}
		for _, l := range k.Levels {
			if !l.Day.After(b.today) {
				se.Points = append(se.Points, drawing.Point{X: drawing.DayNumber(l.Day), Y: float64(l.N)})
			}
		}
		if len(se.Points) > 0 {
			se.Points = append(se.Points, drawing.Point{X: drawing.DayNumber(b.today), Y: float64(progress.At(k.Levels, b.today))})
		}
		d.Series = append(d.Series, se)
		t.Rows = append(t.Rows, []board.Cell{{Text: sentenceCase(k.Access), Head: true, Href: b.ends("access", k.Access)}, {Text: tellOf(k.Ends), Num: true, Href: b.ends("access", k.Access), Said: "ends, " + k.Access},
			{Text: tellOf(k.Ends - k.Open), Num: true, Href: b.ends("access", k.Access, "show", "closed"), Said: "closed, " + k.Access}, {Text: tellOf(k.Open), Num: true, Href: b.ends("access", k.Access, "show", "open"), Said: "open, " + k.Access},
			{Text: tellOf(progress.At(k.Levels, b.today.AddDate(0, 0, -28))), Num: true}, {Text: tellOf(progress.At(k.Levels, b.today.AddDate(0, 0, -84))), Num: true}})
	}
	d.Dates = append(d.Dates, drawing.Rule{At: drawing.DayNumber(b.today), Text: "today"})
	if due := b.frame.Program.CompletionDue; due != nil {
		d.Dates = append(d.Dates, drawing.Rule{At: drawing.DayNumber(*due), Text: "contract date"})
	}
	p := board.Panel{ID: "burn", Title: "Burn-down", Tables: []board.Table{t}, Notes: []string{"Ends that were added later are a step upward on their day; nothing is counted back."},
		Links: []board.Figure{{Label: "When it will be done", Href: b.head.Path("forecast")}}}
	if b.b.Ends > 0 {
		p.Chart = drawing.Line(d)
	}
	return p
}

func (b *boardReader) earned() board.Panel {
	closed := 0.0
	if b.b.Ends > 0 {
		closed = float64(b.b.Closed) / float64(b.b.Ends)
	}
	t := board.Table{Caption: "Steps finished", Empty: "There is no step.", Columns: []ui.Column{{Label: "Step"}, {Label: "Ends past it", Numeric: true}, {Label: "Still to come", Numeric: true}, {Label: "Done", Unit: "%", Numeric: true}}}
	for _, s := range b.live() {
		n := s.Passed.N()
		pct := "–"
		if n+s.Left > 0 {
			pct = units.Significant(100*float64(n)/float64(n+s.Left), 3)
		}
		t.Rows = append(t.Rows, []board.Cell{{Text: s.Name, Head: true}, {Text: tellOf(n), Num: true, Href: b.counted(repair.MarkPast, s.Code), Said: "ends past " + s.Name},
			{Text: tellOf(s.Left), Num: true, Href: b.counted(repair.MarkLeft, s.Code), Said: "ends before " + s.Name}, {Text: pct, Num: true}})
	}
	notes := []string{"Each step of an end earns the same share, and nothing before the release after it: a step half done earns nothing. Ends closed beside it, since a program can earn much and close little."}
	if b.b.Stale > 0 {
		notes = append(notes, fmt.Sprintf("%d finished steps earn nothing: the design that they were done on is out of date.", b.b.Stale))
	}
	return board.Panel{ID: "earned", Title: "Earned beside closed", Lead: fmt.Sprintf("%s of the steps are earned, %s of the ends are closed.", share(b.b.Earned), share(closed)), Tables: []board.Table{t}, Notes: notes}
}

func (b *boardReader) cycle() board.Panel {
	t := board.Table{Caption: "Days in each step, of the ends that passed it", Empty: "Nothing is finished yet.", Columns: []ui.Column{{Label: "Step"}, {Label: "Ends", Numeric: true}, {Label: "Median", Unit: "d", Numeric: true}, {Label: "85 of 100 within", Unit: "d", Numeric: true},
		{Label: "Mean", Unit: "d", Numeric: true}, {Label: "Longest", Unit: "d", Numeric: true}}}
	for _, s := range b.live() {
		n := s.Passed.N()
		if n == 0 {
			continue
		}
		t.Rows = append(t.Rows, []board.Cell{{Text: s.Name, Head: true}, {Text: tellOf(n), Num: true, Href: b.counted(repair.MarkPast, s.Code), Said: "ends past " + s.Name}, {Text: numberOf(s.Passed.Quantile(0.5)), Num: true},
			{Text: numberOf(s.Passed.Quantile(repair.LateShare)), Num: true}, {Text: units.Significant(s.Passed.Mean(), 3), Num: true}, {Text: numberOf(s.Passed.Max()), Num: true}})
	}
	p := board.Panel{ID: "cycle", Title: "Cycle times", Tables: []board.Table{t}}
	if n := b.b.Through.N(); n > 0 {
		p.Lead = fmt.Sprintf("From the first finished step to closed: median %d days, 85 of 100 within %d, mean %s, of %s.", b.b.Through.Quantile(0.5), b.b.Through.Quantile(repair.LateShare),
			units.Significant(b.b.Through.Mean(), 3), count(int(n), "end", "ends"))
		p.Links = []board.Figure{{Label: "Closed ends", Href: b.ends("show", "closed")}}
	}
	if b.b.InWork.Days > 0 {
		p.Tables = append(p.Tables, b.inWork())
		p.Notes = append(p.Notes, balanceWords(b.b.InWork))
	}
	return p
}

// inWork sets the number in work, counted day by day, beside what the rate and the
// time of the closed ends make of it.
func (b *boardReader) inWork() board.Table {
	x := b.b.InWork
	m := ui.Mark{State: ui.Good, Text: "agrees"}
	if !x.Holds() {
		m = ui.Mark{State: ui.Stop, Text: "does not agree"}
	}
	begun := board.Cell{Text: tellOf(x.InWork), Num: true}
	if x.InWork > 0 {
		begun.Href, begun.Said = b.ends("show", "open", "counted", repair.MarkStanding), "ends begun and not closed"
	}
	per := func(v float64) board.Cell { return board.Cell{Text: units.Significant(v, 3), Num: true} }
	return board.Table{Caption: "Ends in work on average, by two counts", Columns: []ui.Column{{Label: "Count"}, {Label: "Ends", Numeric: true}},
		Rows: [][]board.Cell{
			{{Text: "Day by day, over " + count(x.Days, "day", "days"), Head: true}, per(x.Average)},
			{{Text: fmt.Sprintf("Rate × mean time of the closed: %s a day × %s d", units.Significant(x.Rate, 3), units.Significant(x.Took, 3)), Head: true}, per(x.ByLaw)},
			{{Text: "Apart", Head: true}, per(x.Apart())},
			{{Text: "Days so far of the ends still in work, over the same days", Head: true}, per(x.Apart() - x.Unsaid())},
			{{Text: "Remains, from rounding to whole days", Head: true}, {Mark: &m, Text: " " + units.Significant(x.Unsaid(), 2), Num: true}},
			{{Text: "In work now", Head: true}, begun},
		}}
}

// balanceWords says how the two counts of the number in work stand to each other.
func balanceWords(x progress.Balance) string {
	if !x.Holds() {
		return "The two counts of the ends in work do not agree: have the record verified before leaning on these times."
	}
	words := "Ends in work on average are the rate times the mean time in work (Little 1961), of all that were begun. The closed ends alone give less"
	if x.InWork == 0 {
		return words + " only by rounding here: nothing is in work."
	}
	return words + fmt.Sprintf(" while %s still in work: the mean time of the closed is then a short one, since the slow ends are not in it yet.", count(int(x.InWork), "end is", "ends are"))
}

func (b *boardReader) windowUse() board.Panel {
	t := board.Table{Caption: "Past windows by kind", Empty: "No window is behind.", Columns: []ui.Column{{Label: "Kind"}, {Label: "Planned", Numeric: true}, {Label: "Lost", Numeric: true}, {Label: "Shortened", Numeric: true}, {Label: "Held, nothing finished", Numeric: true},
		{Label: "Steps finished", Numeric: true}, {Label: "Steps a window", Numeric: true}}}
	reasons := map[[2]string]int{}
	type use struct{ planned, lost, short, idle, steps int }
	kinds := map[string]*use{}
	for _, w := range b.frame.Windows {
		if !w.EndsAt.Before(b.now) {
			continue
		}
		u := kinds[w.Kind]
		if u == nil {
			u = &use{}
			kinds[w.Kind] = u
		}
		u.planned++
		n := b.yields[w.ID]
		u.steps += n
		switch {
		case w.State == repair.WindowLost:
			u.lost++
			reasons[[2]string{w.Party, w.Reason}]++
		case n == 0:
			u.idle++
		}
		if w.State == repair.WindowShortened {
			u.short++
		}
	}
	list := b.head.Path("windows")
	for _, kind := range slices.Sorted(maps.Keys(kinds)) {
		u := kinds[kind]
		t.Rows = append(t.Rows, []board.Cell{{Text: sentenceCase(kind), Head: true}, {Text: numberOf(u.planned), Num: true, Href: list, Said: "windows, " + kind}, {Text: numberOf(u.lost), Num: true}, {Text: numberOf(u.short), Num: true}, {Text: numberOf(u.idle), Num: true},
			{Text: numberOf(u.steps), Num: true}, {Text: units.Significant(float64(u.steps)/float64(u.planned), 3), Num: true}})
	}
	p := board.Panel{ID: "windows", Title: "Window use", Tables: []board.Table{t},
		Notes: []string{"Steps a window: lost windows count as planned and as nothing. What was written up within three hours after a window counts for it."}, Links: []board.Figure{{Label: "Every window", Href: list}}}
	if len(reasons) > 0 {
		why := board.Table{Caption: "Windows lost, by party and reason", Columns: []ui.Column{{Label: "Party"}, {Label: "Reason"}, {Label: "Windows", Numeric: true}}}
		keys := make([][2]string, 0, len(reasons))
		for k := range reasons {
			keys = append(keys, k)
		}
		slices.SortFunc(keys, func(x, y [2]string) int {
			if reasons[x] != reasons[y] {
				return reasons[y] - reasons[x]
			}
			return slices.Compare(x[:], y[:])
		})
		for _, k := range keys {
			why.Rows = append(why.Rows, []board.Cell{{Text: k[0], Head: true}, {Text: k[1]}, {Text: numberOf(reasons[k]), Num: true, Href: list, Said: "windows lost: " + k[1]}})
		}
		p.Tables = append(p.Tables, why)
	}
	return p
}

func (b *boardReader) rejects() board.Panel {
	risk := b.frame.Basis().Value(basis.RejectRisk)
	rate, points := quality.RejectChart(b.b.Weeks, risk)
	p := board.Panel{ID: "rejects", Title: "Studs rejected", Links: []board.Figure{{Label: "By shift, welder and place", Href: b.head.Path("stud-quality")}}}
	t := board.Table{Caption: "Studs rejected by week", Empty: "No stud has a finding yet.", Columns: []ui.Column{{Label: "Week of"}, {Label: "Studs", Numeric: true}, {Label: "Rejected", Numeric: true}, {Label: "Rate", Unit: "%", Numeric: true},
		{Label: "Limit at 3 deviations", Unit: "%", Numeric: true}, {Label: "Chance leaves", Numeric: true}, {Label: "Chance of so many", Numeric: true}, {Label: "Signal"}}}
	d := drawing.LineData{ID: "rejects", Title: "Share of studs rejected, week by week", YLabel: "% rejected", Days: true, Zero: true, Height: 240}
	one, limit := drawing.Series{Name: "Rejected", Dots: true}, drawing.Series{Name: "Most by chance", Dashed: true}
	studs, bad := 0, 0
	for _, x := range points {
		studs, bad = studs+x.Welded, bad+x.Rejected
	}
	for i, x := range points {
		if i < len(points)-mostWeeks {
			continue
		}
		_, high := progress.NormalLimits(rate, x.Welded)
		m := ui.Mark{State: ui.Good, Text: "within chance"}
		switch x.Signal {
		case quality.RejectsHigh:
			m = ui.Mark{State: ui.Stop, Text: "more than chance: look for the cause"}
		case quality.RejectsLow:
			m = ui.Mark{State: ui.Caution, Text: "fewer than chance: look why"}
		}
		row := []board.Cell{{Text: x.Group, Head: true}, {Text: numberOf(x.Welded), Num: true, Href: b.counted(repair.MarkStud, x.Group), Said: "studs of ends with findings that week"}, {Text: numberOf(x.Rejected), Num: true},
			{Text: units.Significant(100*x.Rate, 3), Num: true}, {Text: units.Significant(100*high, 3), Num: true}, {Text: fmt.Sprintf("%d to %d", x.Fewest, x.Most), Num: true}, {Text: units.Significant(x.Tail, 2), Num: true}, {Mark: &m}}
		if x.Rejected > 0 {
			row[2].Href, row[2].Said = b.counted(repair.MarkRejected, x.Group), "rejected that week"
		}
		t.Rows = append(t.Rows, row)
		if at, err := time.Parse(time.DateOnly, x.Group); err == nil {
			one.Points = append(one.Points, drawing.Point{X: drawing.DayNumber(at), Y: 100 * x.Rate})
			limit.Points = append(limit.Points, drawing.Point{X: drawing.DayNumber(at), Y: 100 * float64(x.Most) / float64(x.Welded)})
		}
	}
	p.Tables = []board.Table{t}
	if studs > 0 {
		p.Lead = fmt.Sprintf("%d of %d studs with a finding were rejected, %s %%.", bad, studs, units.Significant(100*rate, 3))
		p.Notes = []string{fmt.Sprintf("The signal is called by the binomial distribution itself at a chance of %s %% of a false one; the limit at three deviations of the normal distribution is rough below about 3 rejects expected. A stud counts in the week of its first finding.", units.Significant(100*risk, 2))}
	}
	if len(one.Points) > 1 {
		d.Series = []drawing.Series{one, limit}
		d.Levels = []drawing.Rule{{At: 100 * rate, Text: "all together"}}
		p.Chart = drawing.Line(d)
	}
	return p
}

// rework compares how often each step was sent back with all steps together.
func (b *boardReader) rework() board.Panel {
	var groups []quality.Rejects
	names := map[string]string{}
	for _, s := range b.live() {
		if n := int(s.Tried); n > 0 {
			names[s.Code] = s.Name
			groups = append(groups, quality.Rejects{Group: s.Code, Welded: max(n, int(s.Returned)), Rejected: int(s.Returned)})
		}
	}
	rate, points := quality.RejectChart(groups, b.frame.Basis().Value(basis.RejectRisk))
	t := board.Table{Caption: "Steps sent back at their release", Empty: "No step is completed yet.", Columns: []ui.Column{{Label: "Step"}, {Label: "Completions", Numeric: true}, {Label: "Sent back", Numeric: true}, {Label: "Rate", Unit: "%", Numeric: true},
		{Label: "Limit at 3 deviations", Unit: "%", Numeric: true}, {Label: "Chance of so many", Numeric: true}}}
	for _, x := range points {
		_, high := progress.NormalLimits(rate, x.Welded)
		back := board.Cell{Text: numberOf(x.Rejected), Num: true}
		if x.Rejected > 0 {
			back.Href, back.Said = b.counted(repair.MarkReturned, x.Group), "sent back at "+names[x.Group]
		}
		t.Rows = append(t.Rows, []board.Cell{{Text: names[x.Group], Head: true}, {Text: numberOf(x.Welded), Num: true, Href: b.counted(repair.MarkTried, x.Group), Said: "completions of " + names[x.Group]}, back,
			{Text: units.Significant(100*x.Rate, 3), Num: true}, {Text: units.Significant(100*high, 3), Num: true}, {Text: units.Significant(x.Tail, 2), Num: true}})
	}
	ends := board.Table{Caption: "Ends with nonconformances", Columns: []ui.Column{{Label: "Ends"}, {Label: "Number", Numeric: true}, {Label: "Of the ends begun", Unit: "%", Numeric: true}}}
	for _, x := range []struct {
		name, mark string
		n          int64
	}{{"With any nonconformance", "any", b.b.NCEnds}, {"Repaired or done again", "rework", b.b.Rework}} {
		ends.Rows = append(ends.Rows, []board.Cell{{Text: x.name, Head: true}, {Text: tellOf(x.n), Num: true, Href: b.counted(repair.MarkNCEnd, x.mark), Said: "ends"},
			{Text: units.Significant(100*float64(x.n)/float64(max(b.b.Begun, 1)), 2), Num: true}})
	}
	return board.Panel{ID: "rework", Title: "Sent back and done again", Tables: []board.Table{t, ends}, Notes: []string{"The chance is that of so many or more at the rate of all steps together, by the binomial distribution. Completions and returns are counted, not ends; the lists show the ends that they belong to."}}
}

func (b *boardReader) causes() board.Panel {
	t := board.Table{Caption: "Nonconformances by cause", Empty: "There is no nonconformance.", Columns: []ui.Column{{Label: "Cause"}, {Label: "Raised", Numeric: true}, {Label: "Open", Numeric: true}, {Label: "Together", Unit: "%", Numeric: true}}}
	all, so := int64(0), int64(0)
	for _, c := range b.b.NC {
		all += c.N
	}
	list := b.head.Path("nonconformances")
	for _, c := range b.b.NC {
		so += c.N
		name := sentenceCase(c.Cause)
		if name == "" {
			name = "Not said yet"
		}
		href := list + "?" + url.Values{"show": {"all"}, "cause": {c.Cause}}.Encode()
		t.Rows = append(t.Rows, []board.Cell{{Text: name, Head: true}, {Text: tellOf(c.N), Num: true, Href: href, Said: "nonconformances: " + name}, {Text: tellOf(c.Open), Num: true}, {Text: units.Significant(100*float64(so)/float64(all), 3), Num: true}})
	}
	return board.Panel{ID: "causes", Title: "Causes", Tables: []board.Table{t}}
}

// itemWords are what items are called.
var itemWords = map[string]string{repair.ItemEnd: "girder ends repaired", repair.ItemStud: "studs welded and accepted", repair.ItemVolume: "UHPC placed", repair.ItemCore: "deck cores", repair.ItemArea: "web cleaned within panels, both faces"}

func (b *boardReader) quantities() board.Panel {
	t := board.Table{Caption: "Quantities by pay item", Columns: []ui.Column{{Label: "Item"}, {Label: "Unit"}, {Label: "To date", Numeric: true}, {Label: "Of the ends known", Numeric: true}, {Label: "Ends known", Numeric: true}, {Label: "At completion", Numeric: true}}}
	for _, x := range b.b.Items {
		unit, figure := "each", func(v float64) string { return units.Significant(v, 7) }
		switch x.Item {
		case repair.ItemVolume:
			unit, figure = units.Volumes.Label(b.sys), func(v float64) string { return units.Volumes.Figure(v*1000, b.sys, -1) }
		case repair.ItemArea:
			unit, figure = areaIn(b.sys)
		}
		at := "not known: no end tells"
		if x.HasMean {
			if at = figure(x.AtCompletion); unit == "each" {
				at = units.Significant(float64(int(x.AtCompletion+0.5)), 7)
			}
		}
		t.Rows = append(t.Rows, []board.Cell{{Text: sentenceCase(itemWords[x.Item]), Head: true}, {Text: unit}, {Text: figure(x.Done), Num: true, Href: b.counted(repair.MarkDone, x.Item), Said: "ends with some done"}, {Text: figure(x.Final), Num: true},
			{Text: tellOf(x.Known), Num: true, Href: b.counted(repair.MarkKnown, x.Item), Said: "ends known"}, {Text: at, Num: true}})
	}
	return board.Panel{ID: "quantities", Title: "Quantities", Tables: []board.Table{t},
		Notes: []string{"An end is known when its design says the quantity, or what was placed; the others are taken at the mean of those. UHPC by design is the panel less its studs, as placed where volumes are on record. Which of the two is paid, and for replaced studs, is for the contract to say."}}
}

// areaIn is the unit that areas of paint removal are paid in, and how to print one.
func areaIn(sys units.System) (string, func(float64) string) {
	if sys == units.SI {
		return "m²", func(v float64) string { return units.Significant(v/1e6, 4) }
	}
	return "ft²", func(v float64) string { return units.Significant(v/(float64(units.Foot)*float64(units.Foot)), 4) }
}
