package web

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"github.com/go-chi/chi/v5"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/basis"
	"endcast/internal/domain/demand"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/views/loads"
	"endcast/views/settings"
	"endcast/views/ui"
)

// truckReader turns the vehicles of a program into texts for one reader.
type truckReader struct {
	head  ProgramHead
	frame *repair.Scope
	sys   units.System
	zone  *time.Location
	// What drawings on one page share: the longest wheelbase and the heaviest axle.
	longest, heaviest float64
}

func (s *Server) readTrucks(r *http.Request) (*truckReader, error) {
	frame, err := s.store.Frame(r.Context(), s.program(r).ID.String())
	if err != nil {
		return nil, err
	}
	return &truckReader{head: s.program(r), frame: frame, sys: s.units(r), zone: zoneOf(frame.Program)}, nil
}

// shipped is the vehicle of a code as the program ships it, nil for another.
func shipped(code string) *demand.Truck {
	for _, t := range demand.Builtin() {
		if t.Code == code {
			return &t
		}
	}
	return nil
}

// all are the vehicles of the program with the retired ones, shipped ones first.
func (tr *truckReader) all() []demand.Truck {
	out := slices.Clone(tr.frame.Vehicles())
	for i := range tr.frame.Trucks {
		if row := &tr.frame.Trucks[i]; row.Retired {
			out = append(out, row.Vehicle())
		}
	}
	return out
}

func (tr *truckReader) find(code string) (demand.Truck, bool) {
	list := tr.all()
	i := slices.IndexFunc(list, func(t demand.Truck) bool { return t.Code == code })
	if i < 0 {
		return demand.Truck{}, false
	}
	return list[i], true
}

// view is one vehicle as printed.
func (tr *truckReader) view(t demand.Truck, n int) loads.Vehicle {
	v := loads.Vehicle{Href: tr.head.Path("vehicles", t.Code), Code: t.Code, Name: t.Name, Class: t.Class.Words(), Weight: units.Forces.Format(float64(t.GVW()), tr.sys, -1),
		Base: "one axle", Source: sentenceCase(t.Source), Tag: tagMark(t.Tag), Counts: tr.counts(t), LoadUnit: units.Forces.Label(tr.sys), GapUnit: units.Spans.Label(tr.sys)}
	if len(t.Axles) > 1 {
		v.Base = tr.feet(t.Wheelbase())
	}
	d := loads.AxleData{ID: fmt.Sprintf("axles-%d", n), Name: t.Code, Longest: tr.longest, Heaviest: tr.heaviest}
	var said []string
	for i, a := range t.Axles {
		row := loads.Axle{Load: units.Forces.Figure(float64(a.Load), tr.sys, -1), Gap: "–"}
		gap := ""
		if i > 0 {
			row.Gap = units.Spans.Figure(float64(a.Gap), tr.sys, 1)
			gap = row.Gap
			if a.GapMax > 0 {
				row.Longest = units.Spans.Figure(float64(a.GapMax), tr.sys, 1)
				gap += "–" + row.Longest
			}
			said = append(said, gap+" "+units.Spans.Label(tr.sys)+" to")
		}
		said = append(said, units.Forces.Format(float64(a.Load), tr.sys, -1))
		v.Axles = append(v.Axles, row)
		d.Loads, d.Gaps = append(d.Loads, float64(a.Load)), append(d.Gaps, float64(a.Gap))
		d.Figures, d.GapTexts = append(d.Figures, row.Load), append(d.GapTexts, gap)
	}
	d.Desc = "From the first axle: " + strings.Join(said, ", ") + "."
	if t.Lane > 0 {
		d.Lane = units.LineLoads.Format(t.Lane, tr.sys, -1)
	}
	v.Figure = loads.Axles(d)
	if row := tr.frame.Truck(t.Code); row != nil {
		v.Own = "Entered by"
		switch {
		case row.Retired:
			v.Own = "Taken out by"
		case shipped(t.Code) != nil:
			v.Own = "Set in place of the shipped one by"
		}
		v.Changed = row.SetByName + ", " + row.SetAt.In(tr.zone).Format(time.DateOnly)
	}
	return v
}

func (tr *truckReader) feet(l units.Length) string { return units.Spans.Format(float64(l), tr.sys, -1) }

// counts says what counts of a vehicle beside its axles.
func (tr *truckReader) counts(t demand.Truck) []string {
	var out []string
	add := func(format string, args ...any) { out = append(out, fmt.Sprintf(format, args...)) }
	if t.Load != "" {
		add("one alternative of %s", t.Load)
	}
	if t.Lane > 0 {
		text := "lane load of " + units.LineLoads.Format(t.Lane, tr.sys, -1)
		if t.LanePoint > 0 {
			text += " with " + units.Forces.Format(float64(t.LanePoint), tr.sys, -1) + " over the bearing"
		}
		if t.LaneAlone {
			text += ", in place of the axles where it gives more"
		}
		add("%s", text)
	}
	if t.Method != "" {
		add("%s only", t.Method.Words())
	}
	if t.OneLane {
		add("alone in one lane")
	}
	if t.Over > 0 {
		add("on spans over %s", tr.feet(t.Over))
	}
	if t.Gamma > 0 {
		add("live-load factor %s of its permit", units.Significant(t.Gamma, 4))
	}
	return out
}

// scale finds what the drawings of a list share.
func (tr *truckReader) scale(list []demand.Truck) {
	for _, t := range list {
		tr.longest = max(tr.longest, float64(t.Wheelbase()))
		for _, a := range t.Axles {
			tr.heaviest = max(tr.heaviest, float64(a.Load))
		}
	}
}

// vehicleList shows every vehicle by class.
func (s *Server) vehicleList(w http.ResponseWriter, r *http.Request) error {
	tr, err := s.readTrucks(r)
	if err != nil {
		return err
	}
	list := tr.all()
	tr.scale(list)
	var v loads.VehiclesView
	for i, c := range demand.Classes() {
		g := loads.VehicleClass{Name: sentenceCase(manyWords(c)), Anchor: "class-" + numberOf(i+1)}
		for n, t := range list {
			row := tr.frame.Truck(t.Code)
			if t.Class == c && (row == nil || !row.Retired) {
				g.Vehicles = append(g.Vehicles, tr.view(t, n))
			}
		}
		if len(g.Vehicles) > 0 {
			v.Classes = append(v.Classes, g)
		}
	}
	for n, t := range list {
		if row := tr.frame.Truck(t.Code); row != nil && row.Retired {
			v.Retired = append(v.Retired, tr.view(t, n))
		}
	}
	if s.can(r, authz.EditBasis) {
		v.NewHref = tr.head.Path("vehicles", "new")
	}
	if v.Log, err = s.settingsLog(r, tr.zone, "truck.edit"); err != nil {
		return err
	}
	return s.render(w, r, http.StatusOK, loads.Vehicles(s.page(r, "Vehicles"), v))
}

func manyWords(c demand.Class) string { return c.Words() + "s" }

// openVehicle finds the vehicle of the address.
func (s *Server) openVehicle(r *http.Request) (*truckReader, demand.Truck, error) {
	tr, err := s.readTrucks(r)
	if err != nil {
		return nil, demand.Truck{}, err
	}
	if t, ok := tr.find(pathPart(r, "vehicle")); ok {
		tr.scale([]demand.Truck{t})
		return tr, t, nil
	}
	return nil, demand.Truck{}, fault.New(fault.NotFound, "this program has no such vehicle")
}

// pathPart is a part of the address as it was before it was escaped.
func pathPart(r *http.Request, name string) string {
	part := chi.URLParam(r, name)
	if r.URL.RawPath != "" {
		if plain, err := url.PathUnescape(part); err == nil {
			return plain
		}
	}
	return part
}

// vehicleShow is the page of one vehicle.
func (s *Server) vehicleShow(w http.ResponseWriter, r *http.Request) error {
	tr, t, err := s.openVehicle(r)
	if err != nil {
		return err
	}
	return s.vehiclePage(w, r, http.StatusOK, tr, &t, loads.VehicleView{}, tr.typed(t))
}

// reactions is what one lane of a vehicle gives at an end of each span.
func (tr *truckReader) reactions(t demand.Truck) []loads.SpanReaction {
	var out []loads.SpanReaction
	b := tr.frame.Basis()
	for _, sp := range tr.frame.Spans {
		row := loads.SpanReaction{Href: tr.head.Path("spans", numberOf(sp.Number), "loads"), Span: "Span " + numberOf(sp.Number), Length: tr.feet(sp.Length),
			LRFR: perLaneText(b, t, sp.Length, demand.LRFR, tr.sys), Factor: perLaneText(b, t, sp.Length, demand.LoadFactor, tr.sys)}
		out = append(out, row)
	}
	return out
}

// perLaneText is the reaction of one lane with impact, and a dash where the vehicle
// does not count.
func perLaneText(b basis.Basis, t demand.Truck, span units.Length, m demand.Method, sys units.System) string {
	if t.Method != "" && t.Method != m || span <= t.Over {
		return "–"
	}
	f, _ := demand.PerLane(nil, b, t, span, m)
	return units.Forces.Format(float64(f), sys, 2)
}

// truckCaution asks for a comparison where nobody of the program stands behind a
// remembered vehicle.
func truckCaution(t demand.Truck, row *repair.Truck) string {
	if row != nil || t.Tag == basis.Read {
		return ""
	}
	return "These axles were not read in the text named. Compare them with the rule in force, then save them here with that source, changed or not."
}

func truckFacts(v loads.Vehicle) []settings.Fact {
	out := []settings.Fact{{Label: "Class", Value: sentenceCase(v.Class)}, {Label: "Gross weight", Value: v.Weight}, {Label: "First to last axle", Value: v.Base}}
	if v.Changed != "" {
		out = append(out, settings.Fact{Label: v.Own, Value: v.Changed})
	}
	out = append(out, settings.Fact{Label: "Source", Value: v.Source, Wide: true})
	for _, c := range v.Counts {
		out = append(out, settings.Fact{Label: "Counts", Value: sentenceCase(c)})
	}
	return out
}

func vehicleCrumb(head ProgramHead) ui.Crumb {
	return ui.Crumb{Label: "Vehicles", Href: head.Path("vehicles")}
}
