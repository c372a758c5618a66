package web

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"time"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/basis"
	"endcast/internal/domain/demand"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/views/loads"
	"endcast/views/settings"
)

// parts lists the parts of the dead load, retired ones last.
func (sr *spanReader) parts() []loads.PartRow {
	may := sr.row != nil && sr.s.can(sr.r, authz.EditEnd)
	var out, gone []loads.PartRow
	for _, x := range sr.sc.PartsOf(sr.span.ID) {
		row := loads.PartRow{Name: x.Name, Bucket: demand.Bucket(x.Bucket).Words(), Value: partValue(x.Kind, x.Value, sr.sys), Where: sr.whereWords(x), Source: orDash(x.Source),
			Set: x.SetByName + ", " + x.SetAt.In(sr.zone).Format(time.DateOnly), Retired: x.Retired}
		if may {
			row.Href = sr.path("parts", x.ID)
		}
		if x.Retired {
			gone = append(gone, row)
		} else {
			out = append(out, row)
		}
	}
	return append(out, gone...)
}

// partValue prints the value of a part in the unit of its kind.
func partValue(kind string, v float64, sys units.System) string {
	switch demand.Kind(kind) {
	case demand.Line:
		return units.LineLoads.Format(v, sys, -1)
	case demand.Point:
		return units.Forces.Format(v, sys, -1)
	}
	return areaLoad(v, sys)
}

var whereTexts = map[demand.Where]string{demand.Each: "each girder in full", demand.Shared: "all girders alike, as a whole", demand.Tributary: "by tributary width",
	demand.Exterior: "each exterior girder", demand.One: "one girder"}

func (sr *spanReader) whereWords(x repair.LoadPart) string {
	out := whereTexts[demand.Where(x.Where)]
	if demand.Where(x.Where) == demand.One {
		out = "girder " + numberOf(x.Girder)
	}
	if demand.Kind(x.Kind) == demand.Point {
		if x.At == 0 && x.From == "" {
			return out + ", on the bearing"
		}
		out += ", " + sr.feet(x.At)
		switch x.From {
		case "N":
			out += " from the near bearing"
		case "F":
			out += " from the far bearing"
		default:
			out += " from either bearing"
		}
	}
	return out
}

// dead is what each part gives at each girder end: one table a side, or one for both
// where they are alike.
func (sr *spanReader) dead() []loads.DeadTable {
	parts := slices.DeleteFunc(slices.Clone(sr.sc.PartsOf(sr.span.ID)), func(x repair.LoadPart) bool { return x.Retired })
	if len(parts) == 0 {
		return nil
	}
	var out []loads.DeadTable
	for _, side := range [...]string{"N", "F"} {
		t := loads.DeadTable{Caption: "Dead load at the " + sideWords[side] + " ends, unfactored, " + units.Forces.Label(sr.sys)}
		cols := [][]float64{}
		for _, rec := range sr.sc.Ends {
			if rec.End.Side != side {
				continue
			}
			in, why := rec.Statics(sr.sc)
			if why != "" {
				return nil
			}
			col := make([]float64, len(parts))
			for i, x := range parts {
				l, err := demand.Dead(nil, in.Span, in.End, []demand.Part{x.Load()})
				if err != nil {
					return nil
				}
				col[i] = float64(l.Bucket(demand.Bucket(x.Bucket)).Force)
			}
			cols, t.Heads = append(cols, col), append(t.Heads, rec.End.Name)
		}
		if len(cols) == 0 {
			continue
		}
		t.Rows = sr.deadRows(parts, cols)
		if len(out) == 1 && sameCells(out[0].Rows, t.Rows) {
			out[0].Caption = "Dead load at the near ends, and alike at the far ends, unfactored, " + units.Forces.Label(sr.sys)
			continue
		}
		out = append(out, t)
	}
	return out
}

func sameCells(a, b []loads.DeadRow) bool {
	return slices.EqualFunc(a, b, func(x, y loads.DeadRow) bool { return x.Name == y.Name && slices.Equal(x.Cells, y.Cells) })
}

// deadRows are the parts by bucket, each bucket with its sum, and the sum of all.
func (sr *spanReader) deadRows(parts []repair.LoadPart, cols [][]float64) []loads.DeadRow {
	var out []loads.DeadRow
	row := func(kind, name string, take func(i int) bool) {
		x := loads.DeadRow{Kind: kind, Name: name}
		for _, col := range cols {
			sum := 0.0
			for i, v := range col {
				if take(i) {
					sum += v
				}
			}
			x.Cells = append(x.Cells, units.Forces.Figure(sum, sr.sys, 2))
		}
		out = append(out, x)
	}
	for _, k := range demand.Buckets() {
		n := 0
		for i := range parts {
			if parts[i].Bucket == string(k) {
				n++
				row("part", parts[i].Name, func(j int) bool { return j == i })
			}
		}
		name := strings.ToUpper(string(k)) + ", " + k.Words()
		if n == 0 {
			x := loads.DeadRow{Kind: "bucket", Name: name}
			for range cols {
				x.Cells = append(x.Cells, "not known")
			}
			out = append(out, x)
			continue
		}
		row("bucket", name, func(j int) bool { return parts[j].Bucket == string(k) })
	}
	row("sum", "Together", func(int) bool { return true })
	return out
}

// shares is how live load reaches each end.
func (sr *spanReader) shares() ([]loads.ShareRow, []string) {
	var out []loads.ShareRow
	var warns []string
	g := func(v float64) string {
		if v == 0 {
			return "–"
		}
		return fmt.Sprintf("%.3f", v)
	}
	for _, rec := range sr.sc.Ends {
		in, why := rec.Statics(sr.sc)
		if why != "" {
			return nil, nil
		}
		in.Methods = nil
		l, err := demand.Reactions(nil, sr.sc.Basis(), in)
		if err != nil {
			continue
		}
		x := l.Share
		out = append(out, loads.ShareRow{End: rec.End.Name, Href: sr.head.Path("ends", rec.End.Name, "demand"), Corner: x.Corner.Words(), Lanes: numberOf(x.Lanes),
			One: g(x.One), Multi: g(x.Multi), Skew: g(x.Skew), G: g(x.G), Over: g(x.Over), Away: g(x.Away)})
		for _, w := range x.Warnings {
			if !slices.Contains(warns, w) {
				warns = append(warns, w)
			}
		}
	}
	return out, warns
}

// openFactors are the subjects that stand open on the page.
var openFactors = []string{"Load factors of the demand", "Impact", "Skew", "Dead load"}

// factors are the settings that the demand and the ratings read, by subject.
func (sr *spanReader) factors() ([]loads.Factors, error) {
	names, err := sr.s.store.UserNames(sr.r.Context())
	if err != nil {
		return nil, err
	}
	b := basisReader{head: sr.head, frame: sr.sc, sys: sr.sys, zone: sr.zone, who: names}
	var out []loads.Factors
	at := map[string]int{}
	for _, d := range basis.Definitions() {
		group, _, _ := strings.Cut(string(d.Key), ".")
		if group != "demand" && group != "rating" {
			continue
		}
		i, ok := at[d.Group]
		if !ok {
			i = len(out)
			at[d.Group] = i
			out = append(out, loads.Factors{Group: settings.BasisGroup{Name: sentenceCase(d.Group)}, Open: slices.Contains(openFactors, d.Group)})
		}
		out[i].Group.Rows = append(out[i].Group.Rows, b.row(d))
	}
	for i := range out {
		out[i].Count = count(len(out[i].Group.Rows), "setting", "settings")
	}
	return out, nil
}

// log lists what was changed of the loads of this span.
func (sr *spanReader) log() ([]settings.LogLine, error) {
	list, err := sr.s.store.SettingChanges(sr.r.Context(), sr.head.ID.String(), []string{"span.demand", "span.load_parts"}, 1000)
	if err != nil {
		return nil, err
	}
	list = slices.DeleteFunc(list, func(c db.SettingChange) bool {
		var ch struct {
			SpanID string `json:"span_id"`
		}
		return json.Unmarshal(c.Change, &ch) != nil || ch.SpanID != sr.span.ID
	})
	return logOf(list[:min(len(list), logLines)], sr.sys, sr.zone), nil
}

// spanInWords says what an entry did to the loads of a span.
func spanInWords(c db.SettingChange, sys units.System) string {
	if c.Kind == "span.demand" {
		var ch repair.EditSpanDemand
		_ = json.Unmarshal(c.Change, &ch)
		return fmt.Sprintf("Cross section: deck %s, skew %s and %s. Source: %s", units.Lengths.Format(float64(ch.Demand.Deck), sys, -1),
			units.Angles.Format(float64(ch.Demand.SkewNear), sys, -1), units.Angles.Format(float64(ch.Demand.SkewFar), sys, -1), ch.Demand.Source)
	}
	var ch repair.EditLoadParts
	_ = json.Unmarshal(c.Change, &ch)
	var out []string
	for _, x := range ch.Parts {
		switch {
		case x.Retire:
			out = append(out, "retired "+x.Name)
		case x.ID == "":
			out = append(out, "added "+x.Name+", "+partValue(x.Kind, x.Value, sys))
		default:
			out = append(out, "changed "+x.Name+" to "+partValue(x.Kind, x.Value, sys))
		}
	}
	return "Dead load: " + strings.Join(out, "; ") + "."
}
