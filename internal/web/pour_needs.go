package web

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"endcast/internal/db"
	"endcast/internal/domain/basis"
	"endcast/internal/domain/logfile"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/sequence"
	"endcast/internal/domain/uhpc"
	"endcast/views/casting"
	"endcast/views/ui"
)

// need is one thing that a pour still waits for.
type need struct {
	key  string
	mark ui.Mark
	href string
}

// needKinds are the kinds of needs by the word that the address carries.
var needKinds = []ui.Option{{Value: "", Label: "All pours"}, {Value: "waiting", Label: "Anything"}, {Value: "open", Label: "Open, batches come in"}, {Value: "batch", Label: "A decision on a batch"},
	{Value: "mold", Label: "Specimens to demold"}, {Value: "curing", Label: "Curing: readings, a gap, its end"}, {Value: "late", Label: "Late breaks"}, {Value: "due", Label: "Breaks due now"},
	{Value: "coming", Label: "Breaks to come"}, {Value: "review", Label: "A set held for review"}, {Value: "strip", Label: "The gate to strip the form"}, {Value: "traffic", Label: "The gate to return to traffic"},
	{Value: "verdict", Label: "The 28-day verdict"}, {Value: "nonconformance", Label: "An open nonconformance"}}

// byPour parts a list of castings into one list a pour, so that a page of many pours
// walks over their rows once.
func byPour(list db.CastingList) map[string]*db.CastingList {
	out := map[string]*db.CastingList{}
	for _, p := range list.Pours {
		out[p.ID] = &db.CastingList{Pours: []repair.Pour{p}, EndNames: list.EndNames}
	}
	at := func(id string) *db.CastingList {
		if x := out[id]; x != nil {
			return x
		}
		return &db.CastingList{} // a row of a pour that the list does not hold is nobody's
	}
	pourOf := map[string]string{}
	for _, b := range list.Batches {
		x := at(b.PourID)
		x.Batches, pourOf[b.ID] = append(x.Batches, b), b.PourID
	}
	for _, r := range list.PourEnds {
		x := at(r.PourID)
		x.PourEnds = append(x.PourEnds, r)
	}
	for _, r := range list.Specimens {
		x := at(r.PourID)
		x.Specimens = append(x.Specimens, r)
	}
	for _, r := range list.BatchEnds {
		x := at(pourOf[r.BatchID])
		x.BatchEnds = append(x.BatchEnds, r)
	}
	for _, r := range list.SetReviews {
		x := at(r.PourID)
		x.SetReviews = append(x.SetReviews, r)
	}
	for _, r := range list.CuringLogs {
		x := at(r.PourID)
		x.CuringLogs = append(x.CuringLogs, r)
	}
	return out
}

// needs are what a casting still waits for, in the order of the work. A casting whose
// ends are all closed needs no batch decided, no curing and no gate any more.
func (c *castReader) needs(p repair.Pour, list db.CastingList, facts db.CastingFacts) []need {
	n := needReader{c: c, p: p, list: list, facts: facts, settled: true}
	for _, pe := range list.PourEnds {
		n.ends = append(n.ends, pe)
		n.settled = n.settled && facts.Closed[pe.EndID]
	}
	slices.SortFunc(n.ends, func(a, b repair.PourEnd) int { return compareNames(list.EndNames[a.EndID], list.EndNames[b.EndID]) })
	if p.Open {
		n.add("open", ui.Active, "open: batches come in")
	}
	if !n.settled {
		n.batches()
		n.curing()
	}
	n.specimens()
	n.sets()
	if !n.settled {
		n.gates()
	}
	n.verdict()
	n.nonconformances()
	return n.out
}

type needReader struct {
	c       *castReader
	p       repair.Pour
	list    db.CastingList
	facts   db.CastingFacts
	ends    []repair.PourEnd
	settled bool
	out     []need
}

func (n *needReader) path(parts ...string) string {
	return n.c.head.Path(append([]string{"pours", strconv.Itoa(n.p.Number)}, parts...)...)
}

func (n *needReader) add(key string, s ui.State, text string, href ...string) {
	x := need{key: key, mark: ui.Mark{State: s, Text: text}, href: n.path()}
	if len(href) > 0 {
		x.href = href[0]
	}
	n.out = append(n.out, x)
}

func (n *needReader) report() string {
	return n.c.head.Path("laboratory", "pours", strconv.Itoa(n.p.Number))
}

func (n *needReader) batches() {
	undecided, first := 0, ""
	for _, b := range n.list.Batches {
		if !b.Refused && b.DecidedAt == nil && uhpc.Stopped(n.c.frame.BatchFindings(n.p, b)) {
			if undecided++; first == "" {
				first = n.path("batches", strconv.Itoa(b.Number))
			}
		}
	}
	if undecided > 0 {
		n.add("batch", ui.Caution, counted(undecided, "decision on a batch", "decisions on batches"), first)
	}
}

// curing is what the record of temperatures lacks: readings, a part of them, its end.
func (n *needReader) curing() {
	href, logged, gap := n.path("curing"), false, 0.0
	for _, l := range n.list.CuringLogs {
		if l.WithdrawnAt == nil {
			logged, gap = logged || l.Rows > 0, max(gap, l.LongestGapH)
		}
	}
	switch long := logfile.Span(time.Duration(gap * float64(time.Hour)).Round(time.Minute)); {
	case !logged:
		n.add("curing", ui.Caution, "no curing readings", href)
	case gap > n.c.basis.Value(basis.CuringGapVoid):
		n.add("curing", ui.Stop, "a gap of "+long+" voids the curing record", href)
	case gap > n.c.basis.Value(basis.CuringGapLow):
		n.add("curing", ui.Caution, "a gap of "+long+" in the curing record", href)
	}
	var names []string
	for _, pe := range n.ends {
		if pe.CuredAt == nil && !n.facts.Closed[pe.EndID] {
			names = append(names, n.list.EndNames[pe.EndID])
		}
	}
	if len(names) > 0 && !n.p.Open {
		n.add("curing", ui.Wait, "end of curing at "+strings.Join(names, ", "), href+"#end-of-curing")
	}
}

func (n *needReader) specimens() {
	molds, late, due, coming := 0, 0, 0, 0
	mold := ""
	for _, sp := range n.list.Specimens {
		if sp.BrokenAt != nil || sp.LostAt != nil {
			continue
		}
		if sp.DemoldedAt == nil {
			if molds++; mold == "" {
				mold = n.c.head.Path("laboratory", "specimens", sp.Mark)
			}
		}
		if sp.Purpose == string(uhpc.Spare) {
			continue
		}
		hours, tolerance := 24*sp.NominalDays, uhpc.ToleranceHours(24*sp.NominalDays, n.c.basis)
		at := func(h float64) time.Time { return sp.CastAt.Add(time.Duration(h * float64(time.Hour))) }
		switch {
		case n.c.now.After(at(hours + tolerance)):
			late++
		case !n.c.now.Before(at(hours - tolerance)):
			due++
		default:
			coming++
		}
	}
	if molds > 0 {
		n.add("mold", ui.Wait, counted(molds, "specimen to demold", "specimens to demold"), mold)
	}
	lab := n.c.head.Path("laboratory")
	if late > 0 {
		n.add("late", ui.Stop, counted(late, "late break", "late breaks"), lab+"#late")
	}
	if due > 0 {
		n.add("due", ui.Active, counted(due, "break due now", "breaks due now"), lab+"#now")
	}
	if coming > 0 {
		n.add("coming", ui.Wait, counted(coming, "break to come", "breaks to come"), n.path()+"#strength")
	}
}

func (n *needReader) sets() {
	for _, set := range n.c.sets(n.p, n.list) {
		if !set.refused && set.stats.State == uhpc.Review {
			n.add("review", ui.Caution, fmt.Sprintf("review of the %s set of batch %d", ageText(set.set.NominalHours), set.number), n.report())
		}
	}
}

// gates are those that the sequence asks for and nobody has passed at an end since
// it was cast. The second is waited for once the first is passed.
func (n *needReader) gates() {
	var asked []uhpc.GateKey
	for _, g := range []struct {
		key  uhpc.GateKey
		cond sequence.Condition
	}{{uhpc.StripGate, sequence.StripGate}, {uhpc.TrafficGate, sequence.TrafficGate}} {
		if slices.ContainsFunc(n.c.frame.Sequence(), func(st sequence.Step) bool {
			return !st.Retired && slices.ContainsFunc(st.Requires, func(q sequence.Requirement) bool { return q.Condition == g.cond })
		}) {
			asked = append(asked, g.key)
		}
	}
	for _, pe := range n.ends {
		if n.facts.Closed[pe.EndID] {
			continue
		}
		name, passed := n.list.EndNames[pe.EndID], 0
		for _, key := range asked {
			last := n.facts.Gates[[2]string{pe.EndID, string(key)}]
			href := n.c.head.Path("ends", name, "gates", string(key))
			if last.Decision == repair.GatePassed && !last.At.Before(n.p.StartedAt) {
				passed++
				continue
			}
			if last.Decision == repair.GateRefused && !last.At.Before(n.p.StartedAt) {
				n.add(string(key), ui.Stop, "refused at "+name+": "+key.Words(), href)
			} else {
				n.add(string(key), ui.Wait, "not decided at "+name+": "+key.Words(), href)
			}
			break
		}
		if passed == len(asked) && passed > 0 && n.facts.Undo[pe.EndID] {
			key := asked[len(asked)-1]
			n.add(string(key), ui.Caution, "to be decided again at "+name+": what it stood on has moved", n.c.head.Path("ends", name))
		}
	}
}

// verdict is what the acceptance tests of the casting say. A low one whose
// nonconformances are all closed is dealt with.
func (n *needReader) verdict() {
	open := false
	for _, pe := range n.ends {
		open = open || len(n.facts.Open[pe.EndID]) > 0
	}
	tests := n.facts.Tests[n.p.ID]
	for _, t := range tests {
		name := ageText(24*t.NominalDays) + " test of batch " + strconv.Itoa(t.BatchNo)
		switch {
		case t.Low != "" && (open || t.RaisedAt == nil):
			n.add("verdict", ui.Stop, name+" is low", n.c.head.Path("strength"))
		case t.Low == "" && t.State == string(uhpc.Invalid), t.Low == "" && t.State == string(uhpc.TooFew):
			n.add("verdict", ui.Caution, name+" does not count", n.report())
		}
	}
	if len(tests) == 0 && slices.ContainsFunc(n.list.Specimens, forAcceptance) {
		n.add("verdict", ui.Wait, "28-day verdict", n.report())
	}
}

// forAcceptance tells whether the strength specified is accepted by a specimen; one
// made before purposes were kept is, where it is standard-cured and of 28 days.
func forAcceptance(sp repair.Specimen) bool {
	if sp.Purpose == "" {
		return sp.Curing == string(uhpc.StandardCure) && sp.NominalDays == 28
	}
	return sp.Purpose == string(uhpc.ForAcceptance)
}

func (n *needReader) nonconformances() {
	for _, pe := range n.ends {
		for _, number := range n.facts.Open[pe.EndID] {
			n.add("nonconformance", ui.Stop, fmt.Sprintf("nonconformance %d at %s", number, n.list.EndNames[pe.EndID]), n.c.head.Path("nonconformances", numberOf(number)))
		}
	}
}

// weight is how much a need presses.
func (n need) weight() int {
	switch n.mark.State {
	case ui.Stop:
		return 3
	case ui.Caution:
		return 2
	case ui.Active:
		return 1
	}
	return 0
}

// pressing compares by the heaviest need, then by how many weigh as much.
func pressing(a, b []need) int {
	top := func(list []need) (most, count int) {
		most = -1
		for _, n := range list {
			switch w := n.weight(); {
			case w > most:
				most, count = w, 1
			case w == most:
				count++
			}
		}
		return most, count
	}
	ma, ca := top(a)
	mb, cb := top(b)
	return cmp.Or(cmp.Compare(mb, ma), cmp.Compare(cb, ca))
}

func needViews(list []need) []casting.Need {
	var out []casting.Need
	for _, n := range list {
		out = append(out, casting.Need{Mark: n.mark, Href: n.href})
	}
	if len(out) == 0 {
		out = append(out, casting.Need{Mark: ui.Mark{State: ui.Good, Text: "nothing"}})
	}
	return out
}
