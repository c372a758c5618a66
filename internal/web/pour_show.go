package web

import (
	"cmp"
	"fmt"
	"math"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/go-chi/chi/v5"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/basis"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/sequence"
	"endcast/internal/domain/uhpc"
	"endcast/internal/domain/units"
	"endcast/views/casting"
	"endcast/views/ui"
)

// pourReader is castReader for one pour and the ends that it served.
type pourReader struct {
	*castReader
	s     *Server
	pour  repair.Pour
	list  db.CastingList
	scope *repair.Scope
	who   map[string]string
}

// openPour loads the pour of the address.
func (s *Server) openPour(r *http.Request) (*pourReader, error) {
	c, err := s.openCastings(r)
	if err != nil {
		return nil, err
	}
	number, err := strconv.Atoi(chi.URLParam(r, "number"))
	if err != nil || number < 1 || number > math.MaxInt32 {
		return nil, fault.New(fault.NotFound, "a pour is named by its number")
	}
	list, err := s.store.Casting(r.Context(), c.head.ID.String(), number)
	if err != nil {
		return nil, err
	}
	var ids []string
	for _, pe := range list.PourEnds {
		ids = append(ids, pe.EndID)
	}
	scope, err := s.store.Ends(r.Context(), c.head.ID.String(), ids)
	if err != nil {
		return nil, err
	}
	slices.SortFunc(scope.Ends, func(a, b *repair.Record) int { return compareNames(a.End.Name, b.End.Name) })
	who, err := s.store.UserNames(r.Context())
	if err != nil {
		return nil, err
	}
	return &pourReader{castReader: c, s: s, pour: list.Pours[0], list: list, scope: scope, who: who}, nil
}

// pourShow is the page of one pour.
func (s *Server) pourShow(w http.ResponseWriter, r *http.Request) error {
	c, err := s.openPour(r)
	if err != nil {
		return err
	}
	v, err := c.view()
	if err != nil {
		return err
	}
	if v.Capacities, err = c.capacities(r.Context()); err != nil {
		return err
	}
	if v.Open && s.can(r, authz.RecordPour) {
		v.Live = c.head.Path("pours", v.Number, "live")
	}
	p := s.page(r, "Pour "+v.Number, ui.Crumb{Label: "Bridge", Href: c.head.Path()}, ui.Crumb{Label: "Pours", Href: c.head.Path("pours")})
	p.Block = c.block()
	return s.render(w, r, http.StatusOK, casting.PourPage(p, v))
}

func (c *pourReader) block() *ui.TitleBlock {
	return &ui.TitleBlock{Cells: append([]ui.Cell{{Label: "Program", Value: c.head.Name, Wide: true}, {Label: "Pour", Value: strconv.Itoa(c.pour.Number)},
		{Label: "Cast", Value: c.day(c.pour.StartedAt)}, {Label: "Ends", Value: c.endNames()}, {Label: "Release", Value: c.s.cfg.Release}}, c.standingCells(c.scope)...)}
}

func (c *pourReader) endNames() string {
	var names []string
	for _, r := range c.scope.Ends {
		names = append(names, r.End.Name)
	}
	return strings.Join(names, ", ")
}

// view gathers what the page and the card show.
func (c *pourReader) view() (casting.Pour, error) {
	p := c.pour
	v := casting.Pour{Number: strconv.Itoa(p.Number), When: c.span(p), Night: c.night(p.StartedAt), By: c.who[p.ByUser], Note: p.Note, Zone: c.zoneNote(),
		Card: c.head.Path("pours", strconv.Itoa(p.Number), "card"), Curing: c.curingPath(), Laboratory: c.head.Path("laboratory"),
		FlowUnit: units.Lengths.Label(c.sys), TempUnit: units.Temperatures.Label(c.sys), StressUnit: units.Stresses.Label(c.sys), ForceUnit: units.Forces.Label(c.sys),
		Batches: c.batches()}
	v.Open, v.Facts = p.Open, c.pourFacts()
	var err error
	if v.Releases, err = c.releaseMarks(c.scope); err != nil {
		return v, err
	}
	v.Gaps = c.findingLines("", repair.Gaps(p, c.list.Batches, c.basis))
	for _, r := range c.scope.Ends {
		row, err := c.end(r)
		if err != nil {
			return v, err
		}
		v.Ends = append(v.Ends, row)
		v.Photos = append(v.Photos, c.photos(r)...)
		v.PhotoHint = append(v.PhotoHint, casting.Link{Text: r.End.Name, Href: c.head.Path("ends", r.End.Name) + "#photos"})
	}
	sets := c.sets(p, c.list)
	for _, set := range sets {
		v.Sets = append(v.Sets, c.setRow(set))
	}
	v.Chart = c.chart(sets)
	v.Due = c.dueLines(c.list.Specimens)
	for _, sp := range c.byMark() {
		row, differs := c.specimen(sp, p, c.refusedBatch(sp.BatchNo))
		v.Specimens = append(v.Specimens, row)
		v.Differ = v.Differ || differs
	}
	return v, nil
}

func (c *pourReader) byMark() []repair.Specimen {
	list := slices.Clone(c.list.Specimens)
	slices.SortFunc(list, func(a, b repair.Specimen) int { return cmp.Compare(a.Mark, b.Mark) })
	return list
}

func (c *pourReader) refusedBatch(number int) bool {
	return slices.ContainsFunc(c.list.Batches, func(b repair.Batch) bool { return b.Number == number && b.Refused })
}

// end is one end of the pour: the volume beside that of its design, and the
// strengths that its sequence asks for.
func (c *pourReader) end(r *repair.Record) (casting.EndRow, error) {
	row := casting.EndRow{Name: r.End.Name, Href: c.head.Path("ends", r.End.Name), Reading: endReading(c.scope, r.End), Volume: "–", Designed: "–"}
	var volume *float64
	for _, pe := range c.list.PourEnds {
		if pe.EndID == r.End.ID {
			volume = pe.VolumeL
		}
	}
	if volume != nil {
		row.Volume = volumeText(*volume, c.sys)
	}
	if net, ok := designVolume(r); ok {
		row.Designed = volumeText(net, c.sys)
		if volume != nil {
			row.Off = volumeMark(*volume, net, c.basis.Value(basis.VolumeOff))
		}
	}
	facts, err := r.Facts(c.scope)
	if err != nil {
		return row, err
	}
	row.Reached = c.reached(r, facts)
	return row, nil
}

// reached compares the strengths proved at an end with what its sequence asks for.
func (c *pourReader) reached(r *repair.Record, f sequence.Facts) []casting.Strength {
	var out []casting.Strength
	for _, st := range c.frame.Sequence() {
		for _, q := range st.Requires {
			want, against := units.Stress(0), ""
			switch q.Condition {
			case sequence.StrengthReached:
				want, against = units.Stress(q.Value), "for the step "+st.Name
			case sequence.DesignStrengthReached:
				want, against = f.Design.Strength, "that the design counts on"
			case sequence.StripGate:
				out = append(out, c.atGate(r, uhpc.StripGate)...)
			case sequence.TrafficGate:
				out = append(out, c.atGate(r, uhpc.TrafficGate)...)
			}
			if st.Retired || want <= 0 {
				continue
			}
			best, age := units.Stress(0), 0.0
			for _, g := range f.Strengths {
				if g.AgeDays >= q.AgeDays && g.Value > best {
					best, age = g.Value, g.AgeDays
				}
			}
			x := casting.Strength{Against: "of " + c.strength(want) + " " + against, Mark: ui.Mark{State: ui.Wait, Text: "not yet"}}
			if q.AgeDays > 0 {
				x.Against += " at " + ageText(24*q.AgeDays)
			}
			switch {
			case best >= want:
				x.Mark = ui.Mark{State: ui.Good, Text: "reached"}
			case best > 0 && q.AgeDays > 0:
				x.Mark = ui.Mark{State: ui.Stop, Text: "below"}
			}
			if best > 0 {
				x.Value, x.Age = c.strength(best), "at "+ageText(24*age)
			}
			out = append(out, x)
		}
	}
	return out
}

// atGate is where a gate stands at an end: the mean that decides against its limit.
func (c *pourReader) atGate(r *repair.Record, key uhpc.GateKey) []casting.Strength {
	g := r.GateNow(c.scope, key)
	x := casting.Strength{Against: "of " + c.strength(g.Gate.Limit) + " to " + key.Words(), Mark: ui.Mark{State: ui.Wait, Text: "not yet"},
		Href: c.head.Path("ends", r.End.Name, "gates", string(key))}
	switch {
	case g.Passed():
		x.Mark = ui.Mark{State: ui.Good, Text: "reached, gate passed"}
	case g.Opened.Open:
		x.Mark = ui.Mark{State: ui.Wait, Text: "reached, gate not decided"}
	case g.Opened.StrengthMet():
		x.Mark = ui.Mark{State: ui.Wait, Text: "reached, gate shut by other evidence"}
	}
	if g.Opened.Mean > 0 {
		x.Value = c.strength(g.Opened.Mean)
	}
	for i, set := range g.Opened.Decides {
		if i == 0 {
			x.Age = "at " + uhpc.AgeText(set.NominalHours)
		}
	}
	return []casting.Strength{x}
}

// endReading is the plain reading of an end's name: "Pier 2, back face".
func endReading(s *repair.Scope, e repair.End) string {
	sup, _ := s.Support(e.SupportID)
	if e.Face == "" {
		return sup.Name
	}
	return sup.Name + ", " + e.Face + " face"
}

// designVolume is the net volume of the panel of the design in force, in liters.
func designVolume(r *repair.Record) (float64, bool) {
	d := r.DesignInForce()
	if d == nil {
		return 0, false
	}
	net, err := uhpc.PanelVolume(nil, *r.DesignOf(d))
	return float64(net) / 1e6, err == nil && net > 0
}

// volumeMark says when what went in differs from the design by more than a part of it,
// which the design basis sets. Less hints at a void, more at a leak or lost steel.
func volumeMark(poured, net, most float64) ui.Mark {
	switch off := poured/net - 1; {
	case off < -most:
		return ui.Mark{State: ui.Caution, Text: fmt.Sprintf("%.0f %% less: look for a void", -100*off)}
	case off > most:
		return ui.Mark{State: ui.Caution, Text: fmt.Sprintf("%.0f %% more: look for a leak", 100*off)}
	}
	return ui.Mark{}
}

// batches lists the mixes against their limits.
func (c *pourReader) batches() []casting.Batch {
	list := slices.Clone(c.list.Batches)
	slices.SortFunc(list, func(a, b repair.Batch) int { return a.Number - b.Number })
	var out []casting.Batch
	for _, b := range list {
		row := casting.Batch{Number: strconv.Itoa(b.Number), Mixed: c.clock(b.MixedAt, c.pour.StartedAt), Placed: "–", Minutes: "–", Flow: "–", MixTemp: "–", AirTemp: "–",
			Mark: ui.Mark{State: ui.Good, Text: "within the limits"}, Href: c.head.Path("pours", strconv.Itoa(c.pour.Number), "batches", strconv.Itoa(b.Number)), Corrected: b.Corrected}
		c.batchFacts(&row, b)
		if b.PlacedAt != nil {
			row.Placed = c.clock(*b.PlacedAt, c.pour.StartedAt)
			row.Minutes = strconv.Itoa(int(math.Round(b.PlacedAt.Sub(b.MixedAt).Minutes())))
		}
		if b.Flow != nil {
			row.Flow = c.figureAs(b.Typed, "flow_mm", units.Lengths, float64(*b.Flow))
		}
		if b.MixTemp != nil {
			row.MixTemp = c.figureAs(b.Typed, "mix_temp_c", units.Temperatures, float64(*b.MixTemp))
		}
		if b.AirTemp != nil {
			row.AirTemp = c.figureAs(b.Typed, "air_temp_c", units.Temperatures, float64(*b.AirTemp))
		}
		findings := c.scope.BatchFindings(c.pour, b)
		row.Findings = c.findingLines("", findings)
		switch {
		case b.Refused:
			row.Mark, row.Why = ui.Mark{State: ui.Stop, Text: "refused"}, b.RefusedWhy
		case uhpc.Stopped(findings) && b.DecidedAt != nil:
			row.Mark = ui.Mark{State: ui.Caution, Text: "let stand"}
			row.Decided = "Let stand by " + b.DecidedBy + ", " + c.day(*b.DecidedAt) + ": " + b.DecidedWhy
		case b.PlacedAt == nil:
			row.Mark = ui.Mark{State: ui.Wait, Text: "not placed yet"}
		case uhpc.Stopped(findings):
			row.Mark = ui.Mark{State: ui.Stop, Text: "placed outside a limit"}
		case len(findings) > 0:
			row.Mark = ui.Mark{State: ui.Caution, Text: "see"}
		case b.Flow == nil:
			row.Mark = ui.Mark{State: ui.Caution, Text: "flow not recorded"}
		}
		out = append(out, row)
	}
	return out
}

// photos are the pictures of an end that show its casting.
func (c *pourReader) photos(r *repair.Record) []casting.Photo {
	codes := map[string]bool{}
	for _, st := range c.frame.Sequence() {
		if slices.ContainsFunc(st.Requires, func(q sequence.Requirement) bool { return q.Condition == sequence.PourRecorded }) {
			codes[st.Code] = true
		}
	}
	var out []casting.Photo
	for _, x := range newestFirst(r.Photos, func(x repair.Photo) time.Time { return x.CapturedAt }) {
		near := x.CapturedAt.Sub(c.pour.StartedAt)
		if !codes[x.Subject] || near < -24*time.Hour || near > 72*time.Hour {
			continue
		}
		caption := r.End.Name
		switch {
		case strings.HasPrefix(x.Caption, caption):
			caption = x.Caption
		case x.Caption != "":
			caption += ": " + x.Caption
		}
		out = append(out, casting.Photo{Src: c.head.Path("ends", r.End.Name, "photos", x.SHA256, "sheet"), Thumb: c.head.Path("ends", r.End.Name, "photos", x.SHA256, "thumb"), Alt: "Casting at " + caption, Caption: caption, When: c.day(x.CapturedAt)})
	}
	return out
}
