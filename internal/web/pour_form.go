package web

import (
	"fmt"
	"net/url"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/views/ui"
)

// mostRows bounds the batches and the sets of one form.
const mostRows = 24

// lastBatch asks for specimens of the last batch that was placed, which governs;
// everyBatch for a set of each that was placed.
const lastBatch, everyBatch = "last", "every"

// pourForm is the form of a pour as it was typed. It is read into a change and
// shown again from the same words.
type pourForm struct {
	c             *castReader
	values        url.Values
	batches, sets int // rows shown
	// rowOf gives the row of the form for a batch or a set of the change.
	batchRow, setRow []int
}

// blankPour is the form as it begins, with the specimens of the plan in force.
func blankPour(c *castReader) *pourForm {
	f := &pourForm{c: c, values: url.Values{}, batches: 3}
	plan, _ := c.frame.SpecimensToMake()
	for i, x := range plan[:min(len(plan), mostRows)] {
		n, from := fmt.Sprintf("specimens-%d-", i+1), lastBatch
		if x.PerBatch {
			from = everyBatch
		}
		for k, v := range map[string]string{"count": strconv.Itoa(x.Count), "days": units.Days.Exact(x.NominalDays, c.sys), "curing": string(x.Cure), "kind": string(x.Kind), "batch": from, "duty": string(x.Duty), "purpose": string(x.Purpose)} {
			f.values.Set(n+k, v)
		}
		f.sets++
	}
	return f
}

// readPour takes the form as it was sent.
func readPour(c *castReader, values url.Values) *pourForm {
	rows := func(name string) int {
		n, err := strconv.Atoi(values.Get(name))
		if err != nil {
			return 1
		}
		return min(max(n, 1), mostRows)
	}
	return &pourForm{c: c, values: values, batches: rows("batch_rows"), sets: rows("set_rows")}
}

func (f *pourForm) get(name string) string { return strings.TrimSpace(f.values.Get(name)) }

// ends are the identifiers that were ticked, each once.
func (f *pourForm) ends() []string {
	list := slices.Clone(f.values["end"])
	slices.Sort(list)
	return slices.Compact(list)
}

// change reads the form. What cannot be read is in the list of faults, at the name
// of its box. names are the names of the ticked ends by identifier.
func (f *pourForm) change(names map[string]string) (repair.RecordPour, *fault.Invalid) {
	bad := &fault.Invalid{}
	ch := repair.RecordPour{Note: f.get("note"), VolumeL: map[string]float64{}}
	if ch.StartedAt = f.c.moment(bad, "started_at", f.get("started_at")); ch.StartedAt.IsZero() && bad.Of("started_at") == nil {
		bad.Add("started_at", "", "say when the pour began")
	}
	if t := f.c.moment(bad, "ended_at", f.get("ended_at")); !t.IsZero() {
		ch.EndedAt = &t
	}
	for _, id := range f.ends() {
		field := "volume-" + names[id]
		if v := f.c.quantity(bad, field, f.get(field), units.Volumes); v != nil {
			ch.VolumeL[id] = *v / 1e6 // liters
		}
	}
	f.readBatches(&ch, bad)
	f.readSets(&ch, bad)
	return ch, bad
}

func (f *pourForm) readBatches(ch *repair.RecordPour, bad *fault.Invalid) {
	f.batchRow = nil
	for row := 1; row <= f.batches; row++ {
		if f.batchBlank(row) {
			continue
		}
		n := fmt.Sprintf("batch-%d-", row)
		b := repair.BatchIn{Refused: f.get(n+"refused") != "", RefusedWhy: f.get(n + "why"), Typed: repair.Typed{}}
		if b.MixedAt = f.c.moment(bad, n+"mixed", f.get(n+"mixed")); b.MixedAt.IsZero() && bad.Of(n+"mixed") == nil {
			bad.Add(n+"mixed", "", "say when batch %d was mixed", row)
		}
		if t := f.c.moment(bad, n+"placed", f.get(n+"placed")); !t.IsZero() {
			b.PlacedAt = &t
		}
		b.Flow = as[units.Length](f.c.quantity(bad, n+"flow", f.get(n+"flow"), units.Lengths))
		b.MixTemp = as[units.Temperature](f.c.quantity(bad, n+"mix_temp", f.get(n+"mix_temp"), units.Temperatures))
		b.AirTemp = as[units.Temperature](f.c.quantity(bad, n+"air_temp", f.get(n+"air_temp"), units.Temperatures))
		for column, box := range map[string]string{"flow_mm": "flow", "mix_temp_c": "mix_temp", "air_temp_c": "air_temp"} {
			if text := f.get(n + box); text != "" {
				b.Typed[column] = text
			}
		}
		ch.Batches = append(ch.Batches, b)
		f.batchRow = append(f.batchRow, row)
	}
}

// batchBlank tells whether nothing was entered in a row of batches.
func (f *pourForm) batchBlank(row int) bool {
	for _, box := range []string{"mixed", "placed", "flow", "mix_temp", "air_temp", "refused", "why"} {
		if f.get(fmt.Sprintf("batch-%d-%s", row, box)) != "" {
			return false
		}
	}
	return true
}

func (f *pourForm) readSets(ch *repair.RecordPour, bad *fault.Invalid) {
	f.setRow = nil
	for row := 1; row <= f.sets; row++ {
		n := fmt.Sprintf("specimens-%d-", row)
		count := f.get(n + "count")
		if count == "" || count == "0" {
			continue
		}
		set := repair.SpecimenSet{Kind: f.get(n + "kind"), Curing: f.get(n + "curing"), Duty: f.get(n + "duty"), Purpose: f.get(n + "purpose")}
		var err error
		if set.Count, err = strconv.Atoi(count); err != nil {
			bad.Add(n+"count", count, "count must be a whole number from 1 to 100, got %q", count)
		}
		if v := f.c.quantity(bad, n+"days", f.get(n+"days"), units.Days); v != nil {
			set.NominalDays = *v
		} else if bad.Of(n+"days") == nil {
			bad.Add(n+"days", "", "say at which age the set is broken")
		}
		for _, set.Batch = range f.batchNumbers(n+"batch", ch, bad) {
			ch.Specimens = append(ch.Specimens, set)
			f.setRow = append(f.setRow, row)
		}
	}
}

// batchNumbers finds the batches of the change that a set names by its row.
func (f *pourForm) batchNumbers(field string, ch *repair.RecordPour, bad *fault.Invalid) []int {
	var placed []int
	for i, b := range ch.Batches {
		if !b.Refused {
			placed = append(placed, i+1)
		}
	}
	switch text := f.get(field); {
	case (text == lastBatch || text == "" || text == everyBatch) && len(placed) == 0:
		return []int{max(len(ch.Batches), 1)}
	case text == everyBatch:
		return placed
	case text == lastBatch || text == "":
		return placed[len(placed)-1:]
	default:
		row, err := strconv.Atoi(text)
		if i := slices.Index(f.batchRow, row); err == nil && i >= 0 {
			return []int{i + 1}
		}
		bad.Add(field, text, "nothing is entered in the row of batch %s", text)
		return []int{1}
	}
}

var numbered = regexp.MustCompile(`^(batch|specimens)-(\d+)-(.*)$`)

// placed puts the faults of a change, which count batches and sets as they are
// stored, at the rows of the form.
func (f *pourForm) placed(v *fault.Invalid) *fault.Invalid {
	out := &fault.Invalid{}
	for _, x := range v.Fields {
		if m := numbered.FindStringSubmatch(x.Field); m != nil {
			rows := f.batchRow
			if m[1] == "specimens" {
				rows = f.setRow
			}
			if n, err := strconv.Atoi(m[2]); err == nil && n >= 1 && n <= len(rows) {
				x.Field = fmt.Sprintf("%s-%d-%s", m[1], rows[n-1], m[3])
			}
		}
		out.Fields = append(out.Fields, x)
	}
	return inRows(out)
}

// inRows says in each reason of which row it speaks, for a list apart from the
// boxes.
func inRows(v *fault.Invalid) *fault.Invalid {
	out := &fault.Invalid{}
	for _, x := range v.Fields {
		if m := numbered.FindStringSubmatch(x.Field); m != nil {
			x.Reason = map[string]string{"batch": "batch", "specimens": "set"}[m[1]] + " " + m[2] + ": " + x.Reason
		}
		out.Fields = append(out.Fields, x)
	}
	return out
}

// field is one box with what was typed in it and why it was not taken.
func (f *pourForm) field(bad *fault.Invalid, x ui.Field) ui.Field {
	x.Value = f.values.Get(x.Name)
	if p := bad.Of(x.Name); p != nil {
		x.Reason = p.Reason
	}
	return x
}
