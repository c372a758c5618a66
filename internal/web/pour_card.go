package web

import (
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/logfile"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/uhpc"
	"endcast/internal/domain/units"
	"endcast/views/casting"
	"endcast/views/tablet"
	"endcast/views/ui"
)

// blankBatches is how many empty rows an open pour has on its card.
const blankBatches = 4

// pourCard is all that is on record of a pour on one sheet of paper. What is not
// known yet is an empty box for the pen.
func (s *Server) pourCard(w http.ResponseWriter, r *http.Request) error {
	c, err := s.openPour(r)
	if err != nil {
		return err
	}
	number := strconv.Itoa(c.pour.Number)
	v := casting.Card{Program: c.head.Name, Number: number, Back: c.head.Path("pours", number), Labels: c.head.Path("laboratory", "labels") + "?pour=" + number,
		FlowUnit: units.Lengths.Label(c.sys), TempUnit: units.Temperatures.Label(c.sys), MassUnit: units.Masses.Label(c.sys), StressUnit: units.Stresses.Label(c.sys), Zone: c.zoneNote(), Release: s.cfg.Release, Open: c.pour.Open}
	if v.Code, err = tablet.Encode(strings.TrimSuffix(s.base.String(), "/") + v.Back); err != nil {
		return err
	}
	v.Facts = c.cardFacts()
	v.Ends, v.Standings = c.cardEnds(), c.standings(c.scope)
	v.Batches = c.cardBatches()
	if c.pour.Open {
		for n := range blankBatches {
			v.Blank = append(v.Blank, strconv.Itoa(len(v.Batches)+n+1))
		}
	}
	v.Gaps = c.findingLines("", repair.Gaps(c.pour, c.list.Batches, c.basis))
	v.Sets = c.cardSets()
	for _, key := range cardLimits {
		v.Limits = append(v.Limits, c.setting(key))
	}
	p := s.page(r, "Pour card "+number, ui.Crumb{Label: "Bridge", Href: c.head.Path()}, ui.Crumb{Label: "Pours", Href: c.head.Path("pours")},
		ui.Crumb{Label: "Pour " + number, Href: v.Back})
	p.Block = c.block()
	return s.render(w, r, http.StatusOK, casting.CardPage(p, v))
}

// cardLimits are the settings that a casting is held to, for its card.
var cardLimits = []basis.Key{basis.FlowMin, basis.FlowMax, basis.MixWarm, basis.MixHot, basis.AmbientMin, basis.AmbientMax, basis.PlaceSlow, basis.PlaceStop, basis.BatchInterval,
	basis.StripStrength, basis.TrafficStrength, basis.FinalStrength}

func (c *pourReader) cardFacts() []casting.Fact {
	p := c.pour
	out := []casting.Fact{{Name: "Cast", Value: c.span(p)}}
	if p.EndedAt != nil {
		out = append(out, casting.Fact{Name: "Took", Value: logfile.Span(p.EndedAt.Sub(p.StartedAt).Round(time.Minute))})
	} else {
		out = append(out, casting.Fact{Name: "Ended"})
	}
	known := map[string]string{}
	for _, f := range c.pourFacts() {
		known[f.Name] = f.Value
	}
	for _, name := range []string{"Window", "Last batch by", "Weather", "Head above the form"} {
		out = append(out, casting.Fact{Name: name, Value: known[name]})
	}
	out = append(out, casting.Fact{Name: "Air", Value: c.airSpan()},
		casting.Fact{Name: "Mixer", Value: units.Volumes.Format(c.basis.Value(basis.MixerVolume), c.sys, -1) + " a batch, " + count(int(c.basis.Value(basis.Mixers)), "mixer", "mixers")},
		casting.Fact{Name: "Recorded by", Value: c.who[p.ByUser] + ", " + c.day(p.CapturedAt)})
	if p.Note != "" {
		out = append(out, casting.Fact{Name: "Note", Value: p.Note})
	}
	return out
}

// airSpan is the coldest and the warmest air that a batch saw.
func (c *pourReader) airSpan() string {
	var lo, hi *units.Temperature
	for _, b := range c.list.Batches {
		if t := b.AirTemp; t != nil {
			if lo == nil || *t < *lo {
				lo = t
			}
			if hi == nil || *t > *hi {
				hi = t
			}
		}
	}
	switch {
	case lo == nil:
		return ""
	case *lo == *hi:
		return units.Temperatures.Format(float64(*lo), c.sys, -1)
	}
	return units.Temperatures.Figure(float64(*lo), c.sys, -1) + " to " + units.Temperatures.Format(float64(*hi), c.sys, -1)
}

// cardEnds are the forms that the pour filled: what was to go in and under what
// head, what did, how it cured and what was decided.
func (c *pourReader) cardEnds() []casting.CardEnd {
	under := *c.castReader
	if c.pour.FormHead != nil {
		if b, err := under.basis.With(basis.Standpipe, float64(*c.pour.FormHead)); err == nil {
			under.basis = b
		}
	}
	var out []casting.CardEnd
	for _, rec := range c.scope.Ends {
		// Each end by itself: one without a design leaves the others their numbers.
		one := *c.scope
		one.Ends = []*repair.Record{rec}
		m := amounts{scope: &one, formPad: map[string]*calc.Pad{}, pad: calc.NewPad()}
		m.evaluate(&under)
		row := casting.CardEnd{Name: rec.End.Name, Reading: endReading(c.scope, rec.End)}
		if m.refused == "" && len(m.a.Forms) == 1 {
			f := under.quantityForm(m, 0, m.a.Forms[0])
			row.Panel, row.Head, row.Foot, row.Rise, row.Designed = f.Size, f.Head, f.Foot, f.Rise, f.Net
		}
		if d := rec.DesignInForce(); d != nil {
			row.Revision = "revision " + strconv.Itoa(d.Revision) + ", " + strings.ReplaceAll(d.State, "_", " ")
			row.Thick = c.panelThick(*d)
		}
		c.cardForm(&row, rec)
		c.cardFilled(&row, rec.End.ID)
		c.cardCured(&row, rec.End.ID)
		for _, key := range []uhpc.GateKey{uhpc.StripGate, uhpc.TrafficGate} {
			row.Gates = append(row.Gates, c.cardGate(rec, key))
		}
		for _, n := range rec.Nonconformances {
			if n.ClosedAt == nil {
				row.Open = append(row.Open, strconv.Itoa(n.Number))
			}
		}
		out = append(out, row)
	}
	return out
}

func (c *pourReader) panelThick(d repair.Design) string {
	var parts []string
	if d.PanelLeft > 0 {
		parts = append(parts, "left "+d.PanelLeft.Format(c.sys, 2))
	}
	if d.PanelRight > 0 {
		parts = append(parts, "right "+d.PanelRight.Format(c.sys, 2))
	}
	return strings.Join(parts, ", ")
}

// cardForm is how the form was found before the pour.
func (c *pourReader) cardForm(row *casting.CardEnd, rec *repair.Record) {
	var said []string
	for _, f := range rec.LatestForms() {
		text := faceWords[f.Face] + " " + f.Outcome + " by " + f.ByName
		switch {
		case f.WaterTest != nil && f.Leaked != nil && *f.Leaked:
			text += fmt.Sprintf(", leaked in %.0f min of water", *f.WaterTest)
		case f.WaterTest != nil && f.Leaked != nil:
			text += fmt.Sprintf(", held %.0f min of water", *f.WaterTest)
		}
		said = append(said, text)
	}
	row.Form = strings.Join(said, "; ")
}

// cardFilled is what went into the form, and between which hours.
func (c *pourReader) cardFilled(row *casting.CardEnd, end string) {
	for _, pe := range c.list.PourEnds {
		if pe.EndID == end && pe.VolumeL != nil {
			row.Volume = volumeText(*pe.VolumeL, c.sys)
		}
	}
	mine := map[string]bool{}
	for _, be := range c.list.BatchEnds {
		if be.EndID == end {
			mine[be.BatchID] = true
		}
	}
	var from, to time.Time
	for _, b := range c.list.Batches {
		if b.Refused || b.PlacedAt == nil || len(c.list.BatchEnds) > 0 && !mine[b.ID] {
			continue
		}
		began := b.MixedAt // no batch is placed before it is mixed
		if b.PlaceStart != nil {
			began = *b.PlaceStart
		}
		if from.IsZero() || began.Before(from) {
			from = began
		}
		if b.PlacedAt.After(to) {
			to = *b.PlacedAt
		}
	}
	if !to.IsZero() {
		row.Filled = c.clock(from, c.pour.StartedAt) + " to " + c.clock(to, c.pour.StartedAt) + " (" + logfile.Span(to.Sub(from).Round(time.Minute)) + ")"
	}
}

func (c *pourReader) cardCured(row *casting.CardEnd, end string) {
	n, gap := 0, 0.0
	var cold, hot units.Temperature
	for _, l := range c.list.CuringLogs {
		if l.WithdrawnAt != nil || !inConcrete(l) || l.Rows == 0 || l.EndID != nil && *l.EndID != end {
			continue
		}
		if n == 0 || l.Coldest < cold {
			cold = l.Coldest
		}
		if n == 0 || l.Hottest > hot {
			hot = l.Hottest
		}
		n, gap = n+1, max(gap, l.LongestGapH)
	}
	if n > 0 {
		row.Cured = count(n, "log", "logs") + ", " + units.Temperatures.Figure(float64(cold), c.sys, 0) + " to " + units.Temperatures.Format(float64(hot), c.sys, 0) +
			", longest gap " + logfile.Span(time.Duration(gap*float64(time.Hour)).Round(time.Minute))
	}
	for _, pe := range c.list.PourEnds {
		if pe.EndID == end && pe.CuredAt != nil {
			row.CureEnd = c.day(*pe.CuredAt) + ", " + pe.CuredBy
		}
	}
}

func (c *pourReader) cardGate(rec *repair.Record, key uhpc.GateKey) casting.CardGate {
	g := rec.GateNow(c.scope, key)
	out := casting.CardGate{Name: sentenceCase(key.Words()), Limit: c.strength(g.Gate.Limit)}
	if g.Last == nil || g.Last.At.Before(c.pour.StartedAt) {
		return out
	}
	out.Decided = g.Last.Decision + " by " + g.Last.ByName + ", " + c.day(g.Last.At)
	if g.Last.Mean > 0 {
		out.Decided += ", mean " + c.strength(g.Last.Mean)
	}
	if !g.Current && !(len(rec.State) == 1 && rec.State[0].Closed) {
		out.Decided += "; what it stood on has changed since"
	}
	return out
}

// cardBatches are the batches with all that was weighed, timed and measured.
func (c *pourReader) cardBatches() []casting.CardBatch {
	list := slices.Clone(c.list.Batches)
	slices.SortFunc(list, func(a, b repair.Batch) int { return a.Number - b.Number })
	shown := c.batches()
	var out []casting.CardBatch
	for i, b := range list {
		at := func(t *time.Time) string {
			if t == nil {
				return ""
			}
			return c.clock(*t, c.pour.StartedAt)
		}
		num := func(column string, k units.Kind, v *float64) string {
			if v == nil {
				return ""
			}
			return c.figureAs(b.Typed, column, k, *v)
		}
		row := casting.CardBatch{Number: strconv.Itoa(b.Number), MixFrom: at(b.StartedAt), MixTo: c.clock(b.MixedAt, c.pour.StartedAt), PlaceFrom: at(b.PlaceStart), PlaceTo: at(b.PlacedAt),
			Premix: num("premix_kg", units.Masses, b.PremixKg), Water: num("water_kg", units.Masses, b.WaterKg), Fiber: num("fiber_kg", units.Masses, b.FiberKg),
			Admixture: num("admixture_kg", units.Masses, b.AdmixtureKg), Ice: num("ice_kg", units.Masses, b.IceKg), Lot: b.Lot,
			Flow: num("flow_mm", units.Lengths, asFloat(b.Flow)), Mix: num("mix_temp_c", units.Temperatures, asFloat(b.MixTemp)), Air: num("air_temp_c", units.Temperatures, asFloat(b.AirTemp)),
			Steel: num("steel_temp_c", units.Temperatures, asFloat(b.SteelTemp)), Ends: shown[i].Ends, Mark: shown[i].Mark, Refused: b.Refused}
		if b.Bags != nil {
			row.Bags = strconv.FormatFloat(*b.Bags, 'g', -1, 64)
		}
		if b.Flow1 != nil && b.Flow2 != nil {
			row.Flow = num("flow_1_mm", units.Lengths, asFloat(b.Flow1)) + " × " + num("flow_2_mm", units.Lengths, asFloat(b.Flow2))
		}
		say := func(text string) {
			if text != "" {
				row.Words = append(row.Words, text)
			}
		}
		if b.Refused {
			say("Refused: " + b.RefusedWhy)
		}
		say(shown[i].Decided)
		for _, f := range shown[i].Findings {
			say(f.Mark.Text + ": " + f.Text)
		}
		if b.Corrected != "" {
			say("Corrected: " + b.Corrected)
		}
		say(b.Note)
		out = append(out, row)
	}
	return out
}

// cardSets are the specimens by mark, a set a row.
func (c *pourReader) cardSets() []casting.CardSet {
	rows := map[string]repair.Specimen{}
	for _, sp := range c.list.Specimens {
		rows[sp.Mark] = sp
	}
	var out []casting.CardSet
	for _, x := range c.sets(c.pour, c.list) {
		set := x.set
		first := rows[set.Specimens[0].Mark]
		due := first.CastAt.Add(time.Duration(set.NominalHours * float64(time.Hour)))
		row := casting.CardSet{Batch: strconv.Itoa(x.number), Kind: kindName(string(set.Kind)), Curing: cureWords(string(set.Cure)), For: uhpc.Purpose(first.Purpose).Words(), Age: ageText(set.NominalHours), Due: c.day(due)}
		out2, broken := 0, 0
		var marks []string
		var last time.Time
		for _, sp := range set.Specimens {
			r := rows[sp.Mark]
			mark := sp.Mark
			if r.LostAt != nil {
				mark += " (lost)"
			}
			marks = append(marks, mark)
			if r.DemoldedAt != nil {
				out2, last = out2+1, *r.DemoldedAt
			}
			if r.BrokenAt != nil {
				broken++
			}
		}
		slices.Sort(marks)
		row.Marks = strings.Join(marks, ", ")
		switch n := len(set.Specimens); {
		case out2 == n:
			row.Demolded = c.day(last)
		case out2 > 0:
			row.Demolded = fmt.Sprintf("%d of %d", out2, n)
		}
		if broken > 0 {
			row.Result = fmt.Sprintf("%d of %d broken", broken, len(set.Specimens))
			if x.stats.Counted > 0 {
				row.Result += ", mean " + c.strength(x.stats.Mean) + ", " + x.mark.Text
			}
		}
		out = append(out, row)
	}
	return out
}
