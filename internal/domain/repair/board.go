package repair

import (
	"slices"
	"strconv"
	"strings"
	"time"

	"endcast/internal/domain/progress"
	"endcast/internal/domain/quality"
)

// Board is what the counts of a program say, in figures. It holds no more than they do.
type Board struct {
	Ends, Closed int64
	Steps        []BoardStep
	Open         []BoardOpen // open ends by what stops them
	Kinds        []BoardKind // by access
	Lines        []BoardLine
	Through      progress.Spread // days from the first finished step to closed
	Begun        int64
	NC           []BoardCause
	NCEnds       int64 // ends with a nonconformance
	Rework       int64 // ends where something was repaired or done again
	Weeks        []quality.Rejects
	Items        []BoardItem
	Worked       map[string][]BoardQuarter // by kind of window
	Earned       float64                   // share of the steps of all ends that are done, 0 to 1
	Stale        int64                     // steps done that earn nothing: the design is out of date
	InWork       progress.Balance          // the number in work, counted and by Little's law
	ToGo         map[string]int            // steps still to be worked, by kind of window
	ToGoEnds     map[string]int            // open ends, by the kind of window that they need next
	Short        int64                     // open ends that carry less than they must
	Review       int64                     // ends whose design waits for review
	OldBasis     int64                     // ends whose design is out of date
}

// BoardStep is one step: what stands in it and how long those before took.
type BoardStep struct {
	Code, Name                string
	At                        int64 // open ends that stand in it
	Free, Paper, Steel, Other int64 // of them: free to go on, and blocked by each track
	Ages                      progress.Spread
	Passed                    progress.Spread
	Left                      int64 // ends that still have to go through it
	Tried, Returned           int64
	Retired                   bool
	WindowKind                string
}

// Late are the open ends that stand in the step longer than the 85 of 100 of those
// before; zero as long as nobody passed.
func (b BoardStep) Late() int64 {
	if b.Passed.N() == 0 {
		return 0
	}
	return b.Ages.Over(b.Passed.Quantile(LateShare))
}

// LateShare is the part of the passed ends whose time in a step is taken as its usual
// upper end. Common practice, no source.
const LateShare = 0.85

// BoardOpen counts open ends of one reason; an empty reason is nothing in the way.
type BoardOpen struct {
	Track, Reason string
	N             int64
}

// BoardKind is one kind of access.
type BoardKind struct {
	Access     string
	Ends, Open int64
	Levels     []progress.Level // open ends day by day
}

// BoardLine is one bearing line in counts.
type BoardLine struct {
	Support, Face string
	Ends, Open    int64
}

// BoardCause is one cause of nonconformances.
type BoardCause struct {
	Cause   string
	N, Open int64
}

// BoardItem is a quantity: to date, and when everything is done. The quantity of ends
// where it is not known yet is the mean of those where it is.
type BoardItem struct {
	Item         string
	Done, Final  float64 // as ItemEnd and the others count
	Known, Total int64
	AtCompletion float64
	HasMean      bool
}

// BoardQuarter is how many steps were completed in one quarter of an hour.
type BoardQuarter struct {
	At time.Time
	N  int64
}

// ReadBoard reads the counts of a program. today is the day to which ages are counted.
func ReadBoard(m Marks, rows []StepRow, supports []Support, today time.Time) Board {
	b := Board{Through: progress.Spread{}, Worked: map[string][]BoardQuarter{}, ToGo: map[string]int{}, ToGoEnds: map[string]int{}}
	steps := map[string]*BoardStep{}
	rows = slices.Clone(rows)
	slices.SortFunc(rows, func(a, c StepRow) int { return a.Ord - c.Ord })
	for _, r := range rows {
		steps[r.Code] = &BoardStep{Code: r.Code, Name: r.Name, Ages: progress.Spread{}, Passed: progress.Spread{}, Retired: r.Retired, WindowKind: r.WindowKind}
	}
	step := func(code string) *BoardStep {
		if steps[code] == nil {
			steps[code] = &BoardStep{Code: code, Ages: progress.Spread{}, Passed: progress.Spread{}}
		}
		return steps[code]
	}
	began, done, standing := progress.Flow{}, progress.Flow{}, progress.Flow{}
	came, went := map[string]progress.Flow{}, map[string]progress.Flow{}
	flow := func(of map[string]progress.Flow, kind, day string, n int64) {
		if of[kind] == nil {
			of[kind] = progress.Flow{}
		}
		of[kind][day] += n
	}
	open, lines, causes := map[[2]string]int64{}, map[[2]string]*BoardLine{}, map[string]*BoardCause{}
	weeks, items := map[string]*quality.Rejects{}, map[string]*BoardItem{}
	item := func(name string) *BoardItem {
		if items[name] == nil {
			items[name] = &BoardItem{Item: name}
		}
		return items[name]
	}
	for mark, n := range m {
		kind, rest, _ := strings.Cut(mark, "|")
		p := append(strings.Split(rest, "|"), "", "", "")
		switch kind {
		case MarkEnd:
			b.Ends += n
			flow(came, p[0], p[1], n)
		case MarkOpen:
			open[[2]string{p[2], p[3]}] += n
			x := step(p[1])
			x.At += n
			switch p[2] {
			case "":
				x.Free += n
			case "paper":
				x.Paper += n
			case "steel_and_concrete", "steel":
				x.Steel += n
			default:
				x.Other += n
			}
		case MarkIn:
			if since, err := time.Parse(time.DateOnly, p[1]); err == nil {
				step(p[0]).Ages[max(DaysBetween(since, today), 0)] += n
			}
		case MarkLine:
			k := [2]string{p[0], p[1]}
			if lines[k] == nil {
				lines[k] = &BoardLine{Support: p[0], Face: p[1]}
			}
			lines[k].Ends += n
			if p[2] == "open" {
				lines[k].Open += n
			}
		case MarkBegun:
			b.Begun += n
			began[p[1]] += n
		case MarkStanding:
			standing[p[0]] += n
		case MarkClosed:
			b.Closed += n
			flow(went, p[0], p[1], n)
			done[p[1]] += n
		case MarkThrough:
			b.Through[atoi(p[0])] += n
		case MarkPassed:
			step(p[0]).Passed[atoi(p[1])] += n
		case MarkLeft:
			step(p[0]).Left += n
		case MarkTried:
			step(p[0]).Tried += n
		case MarkReturned:
			step(p[0]).Returned += n
		case MarkToGo:
			b.ToGo[p[0]] += int(n)
		case MarkToGoEnd:
			b.ToGoEnds[p[0]] += int(n)
		case MarkShort:
			b.Short += n
		case MarkReview:
			b.Review += n
		case MarkOldBasis:
			b.OldBasis += n
		case MarkStale:
			b.Stale += n
		case MarkWorked:
			if at, err := time.Parse(QuarterHour, p[1]); err == nil {
				b.Worked[p[0]] = append(b.Worked[p[0]], BoardQuarter{at, n})
			}
		case MarkNC:
			if causes[p[0]] == nil {
				causes[p[0]] = &BoardCause{Cause: p[0]}
			}
			causes[p[0]].N += n
			if p[2] == "open" {
				causes[p[0]].Open += n
			}
		case MarkNCEnd:
			if p[0] == "rework" {
				b.Rework += n
			} else {
				b.NCEnds += n
			}
		case MarkStud, MarkRejected:
			if weeks[p[0]] == nil {
				weeks[p[0]] = &quality.Rejects{Group: p[0]}
			}
			if kind == MarkStud {
				weeks[p[0]].Welded += int(n)
			} else {
				weeks[p[0]].Rejected += int(n)
			}
		case MarkDone:
			item(p[0]).Done += float64(n)
		case MarkFinal:
			item(p[0]).Final += float64(n)
		case MarkKnown:
			item(p[0]).Known += n
		}
	}
	b.InWork = progress.Weigh(began, done, b.Through, standing, today)
	past, left := int64(0), int64(0)
	for _, r := range rows {
		x := *steps[r.Code]
		past, left = past+x.Passed.N(), left+x.Left
		b.Steps = append(b.Steps, x)
	}
	if past+left > 0 {
		b.Earned = float64(past-b.Stale) / float64(past+left)
	}
	for k, n := range open {
		b.Open = append(b.Open, BoardOpen{k[0], k[1], n})
	}
	slices.SortFunc(b.Open, func(x, y BoardOpen) int {
		if x.N != y.N {
			return int(y.N - x.N)
		}
		return strings.Compare(x.Track+x.Reason, y.Track+y.Reason)
	})
	for kind, f := range came {
		k := BoardKind{Access: kind, Levels: progress.Levels(f, went[kind])}
		for _, n := range f {
			k.Ends += n
		}
		k.Open = k.Ends
		for _, n := range went[kind] {
			k.Open -= n
		}
		b.Kinds = append(b.Kinds, k)
	}
	slices.SortFunc(b.Kinds, func(x, y BoardKind) int { return strings.Compare(x.Access, y.Access) })
	place := map[string]int{}
	for _, s := range supports {
		place[s.Code] = s.Ord
	}
	for _, l := range lines {
		b.Lines = append(b.Lines, *l)
	}
	slices.SortFunc(b.Lines, func(x, y BoardLine) int {
		if place[x.Support] != place[y.Support] {
			return place[x.Support] - place[y.Support]
		}
		return strings.Compare(y.Face, x.Face) // back before ahead, as they come along the bridge
	})
	for _, c := range causes {
		b.NC = append(b.NC, *c)
	}
	slices.SortFunc(b.NC, func(x, y BoardCause) int {
		if x.N != y.N {
			return int(y.N - x.N)
		}
		return strings.Compare(x.Cause, y.Cause)
	})
	for _, w := range weeks {
		b.Weeks = append(b.Weeks, *w)
	}
	slices.SortFunc(b.Weeks, func(x, y quality.Rejects) int { return strings.Compare(x.Group, y.Group) })
	for _, name := range []string{ItemEnd, ItemStud, ItemVolume, ItemCore, ItemArea} {
		x := item(name)
		x.Total = b.Ends
		x.AtCompletion = x.Final
		if x.Known > 0 {
			x.HasMean = true
			x.AtCompletion += x.Final / float64(x.Known) * float64(x.Total-x.Known)
		}
		b.Items = append(b.Items, *x)
	}
	for _, q := range b.Worked {
		slices.SortFunc(q, func(x, y BoardQuarter) int { return x.At.Compare(y.At) })
	}
	return b
}

func atoi(s string) int {
	n, _ := strconv.Atoi(s)
	return n
}
