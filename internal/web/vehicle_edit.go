package web

import (
	"encoding/json"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/demand"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/views/loads"
	"endcast/views/settings"
	"endcast/views/ui"
)

// axleRowsMost bounds the rows of the form; the rules know the limit of a vehicle.
const axleRowsMost = 40

// truckBox is one number of a vehicle beside its axles.
type truckBox struct {
	name, label, hint string
	kind              units.Kind
	get               func(*demand.Truck) float64
	set               func(*demand.Truck, float64)
}

var truckBoxes = []truckBox{
	{"gross", "Published gross weight", "Compared with the sum of the axles.", units.Forces,
		func(t *demand.Truck) float64 { return float64(t.Gross) }, func(t *demand.Truck, v float64) { t.Gross = units.Force(v) }},
	{"lane", "Lane load", "Over the whole span, without impact.", units.LineLoads,
		func(t *demand.Truck) float64 { return t.Lane }, func(t *demand.Truck, v float64) { t.Lane = v }},
	{"lane_point", "Concentrated load with it", "Stands over the bearing.", units.Forces,
		func(t *demand.Truck) float64 { return float64(t.LanePoint) }, func(t *demand.Truck, v float64) { t.LanePoint = units.Force(v) }},
	{"over", "Counts on spans over", "Empty: on any span.", units.Spans,
		func(t *demand.Truck) float64 { return float64(t.Over) }, func(t *demand.Truck, v float64) { t.Over = units.Length(v) }},
	{"gamma", "Live-load factor of the permit", "Empty: the setting of the design basis.", units.Numbers,
		func(t *demand.Truck) float64 { return t.Gamma }, func(t *demand.Truck, v float64) { t.Gamma = v }},
}

// truckFields are the boxes of the form but those of the axles.
func (tr *truckReader) truckFields() []ui.Field {
	var classes, tags []ui.Option
	for _, c := range demand.Classes() {
		classes = append(classes, ui.Option{Value: string(c), Label: sentenceCase(c.Words())})
	}
	for _, t := range []basis.Tag{basis.Read, basis.SecondHand, basis.Memory, basis.Common, basis.Proposal} {
		tags = append(tags, ui.Option{Value: string(t), Label: sentenceCase(string(t))})
	}
	out := []ui.Field{{Name: "code", Label: "Code", Hint: "Short and unique, such as P-12.", Short: true}, {Name: "name", Label: "Name", Optional: true},
		{Name: "class", Label: "Class", Options: classes, Hint: "Decides its factors."},
		{Name: "method", Label: "Method", Options: []ui.Option{{Value: "", Label: "Both methods"}, {Value: string(demand.LRFR), Label: sentenceCase(demand.LRFR.Words())},
			{Value: string(demand.LoadFactor), Label: sentenceCase(demand.LoadFactor.Words())}}},
		{Name: "load", Label: "Alternative of the load", Hint: "Of several alternatives the one that gives most counts.", Optional: true},
		{Name: "source", Label: "Source", Rows: 2, Hint: "The permit, rule, edition or drawing that the axles come from."},
		{Name: "tag", Label: "How confirmed", Options: tags, Hint: "Read: by whoever enters it, in the text itself."}}
	for _, b := range truckBoxes {
		out = append(out, ui.Field{Name: b.name, Label: b.label, Hint: b.hint, Unit: b.kind.Label(tr.sys), InputMode: "decimal", Optional: true})
	}
	return out
}

var axleParts = []struct {
	name, label string
	kind        units.Kind
}{{"load", "Load of axle %d", units.Forces}, {"gap", "Gap before axle %d", units.Spans}, {"gap_max", "Longest gap before axle %d", units.Spans}}

func axleField(i int, part string) string { return "axles[" + strconv.Itoa(i) + "]." + part }

func axlePart(a demand.Axle, part string) float64 {
	switch part {
	case "load":
		return float64(a.Load)
	case "gap":
		return float64(a.Gap)
	}
	return float64(a.GapMax)
}

// typed is a vehicle as the texts of its form.
func (tr *truckReader) typed(t demand.Truck) map[string]string {
	var was repair.Typed
	if row := tr.frame.Truck(t.Code); row != nil {
		was = row.Typed
	}
	out := map[string]string{"code": t.Code, "name": t.Name, "class": string(t.Class), "method": string(t.Method), "load": t.Load, "source": "", "tag": string(basis.Read),
		"lane_alone": onOff(t.LaneAlone), "one_lane": onOff(t.OneLane), "axles": strconv.Itoa(max(len(t.Axles), 1))}
	for _, b := range truckBoxes {
		out[b.name] = shownBox(b.kind, was[b.name], b.get(&t), true, tr.sys)
	}
	for i, a := range t.Axles {
		for _, p := range axleParts {
			name := axleField(i, p.name)
			out[name] = shownBox(p.kind, was[name], axlePart(a, p.name), true, tr.sys)
		}
	}
	return out
}

func onOff(b bool) string {
	if b {
		return "on"
	}
	return ""
}

// truckForm reads the form. Rows of the table that were emptied are left out.
func (tr *truckReader) truckForm(r *http.Request) map[string]string {
	names := []string{"code", "lane_alone", "one_lane"}
	for _, f := range tr.truckFields() {
		names = append(names, f.Name)
	}
	out := typedIn(r, names...)
	n, _ := strconv.Atoi(r.PostFormValue("axles"))
	rows := 0
	for i := range min(max(n, 0), axleRowsMost) {
		row := map[string]string{}
		full := false
		for _, p := range axleParts {
			row[p.name] = strings.TrimSpace(r.PostFormValue(axleField(i, p.name)))
			full = full || row[p.name] != ""
		}
		if !full {
			continue
		}
		for name, text := range row {
			out[axleField(rows, name)] = text
		}
		rows++
	}
	out["axles"] = strconv.Itoa(rows)
	return out
}

// truckTyped reads a vehicle from the texts of the form. was is the one on record,
// whose untouched numbers stay what they are.
func (tr *truckReader) truckTyped(typed map[string]string, was demand.Truck) (demand.Truck, repair.Typed, *fault.Invalid) {
	bad := &fault.Invalid{}
	shown, kept := tr.typed(was), repair.Typed{}
	read := func(name string, k units.Kind, optional bool, before float64) float64 {
		if typed[name] != "" {
			kept[name] = typed[name]
		}
		return readBox(bad, name, typed[name], k, optional, tr.sys, before, shown[name])
	}
	t := demand.Truck{Code: typed["code"], Name: typed["name"], Class: demand.Class(typed["class"]), Method: demand.Method(typed["method"]), Load: typed["load"],
		Source: typed["source"], Tag: basis.Tag(typed["tag"]), LaneAlone: typed["lane_alone"] == "on", OneLane: typed["one_lane"] == "on"}
	for _, b := range truckBoxes {
		b.set(&t, read(b.name, b.kind, true, b.get(&was)))
	}
	rows, _ := strconv.Atoi(typed["axles"])
	for i := range rows {
		var before demand.Axle
		if i < len(was.Axles) {
			before = was.Axles[i]
		}
		a := demand.Axle{Load: units.Force(read(axleField(i, "load"), units.Forces, false, float64(before.Load)))}
		if i > 0 {
			a.Gap = units.Length(read(axleField(i, "gap"), units.Spans, false, float64(before.Gap)))
			a.GapMax = units.Length(read(axleField(i, "gap_max"), units.Spans, true, float64(before.GapMax)))
		}
		t.Axles = append(t.Axles, a)
	}
	if rows == 0 {
		bad.Add(axleField(0, "load"), "", "is needed: a vehicle has one axle or more")
	}
	if !slices.Contains([]basis.Tag{basis.Read, basis.SecondHand, basis.Memory, basis.Common, basis.Proposal}, t.Tag) {
		bad.Add("tag", string(t.Tag), "say how the axles are confirmed")
	}
	if t.Source == "" {
		bad.Add("source", "", "name the permit, the rule or the drawing that the vehicle comes from")
	}
	return t, kept, bad
}

// vehicleNew is the form of another vehicle.
func (s *Server) vehicleNew(w http.ResponseWriter, r *http.Request) error {
	tr, err := s.readTrucks(r)
	if err != nil {
		return err
	}
	return s.vehiclePage(w, r, http.StatusOK, tr, nil, loads.VehicleView{}, map[string]string{"class": string(demand.Permit), "tag": string(basis.Read), "axles": "4"})
}

// vehicleCreate enters another vehicle.
func (s *Server) vehicleCreate(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	tr, err := s.readTrucks(r)
	if err != nil {
		return err
	}
	return s.vehicleSend(w, r, tr, nil)
}

// vehicleSubmit changes one, or takes it out of the ratings.
func (s *Server) vehicleSubmit(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	tr, t, err := s.openVehicle(r)
	if err != nil {
		return err
	}
	from := r.PostFormValue("from")
	switch r.PostFormValue("do") {
	case "back":
		if ship := shipped(t.Code); ship != nil {
			typed := tr.typed(*ship)
			typed["source"], typed["tag"] = sentenceCase(ship.Source), string(ship.Tag)
			v := loads.VehicleView{Form: settings.Form{From: from, Notice: "The form holds the vehicle as it ships. Nothing is stored yet: look at what it changes, then save."}}
			return s.vehiclePage(w, r, http.StatusOK, tr, &t, v, typed)
		}
	case "retire":
		change := repair.EditTruck{Truck: demand.Truck{Code: t.Code, Source: strings.TrimSpace(r.PostFormValue("why"))}, Retire: true, From: from}
		_, err = s.editSettings(r, time.Time{}, change)
		return s.vehicleMoved(w, r, tr, t, err, t.Code+" is not rated any more. Every rating was computed anew.")
	case "restore":
		again := t
		again.Source = strings.TrimSpace(r.PostFormValue("why"))
		_, err = s.editSettings(r, time.Time{}, repair.EditTruck{Truck: again, From: from})
		return s.vehicleMoved(w, r, tr, t, err, t.Code+" is rated again. Every rating was computed anew.")
	}
	return s.vehicleSend(w, r, tr, &t)
}

// vehicleMoved answers the form that takes a vehicle out of the ratings or back.
func (s *Server) vehicleMoved(w http.ResponseWriter, r *http.Request, tr *truckReader, t demand.Truck, err error, done string) error {
	if err == nil {
		s.flash(r, ui.Done, done)
		return seeOther(w, r, tr.head.Path("vehicles"))
	}
	v, status := loads.VehicleView{}, http.StatusConflict
	if fault.KindOf(err) == fault.Conflict {
		v.Clash = &settings.Clash{Text: "Nothing of yours was stored: the page shows the vehicle as it is now. Send the form again if it still holds."}
	} else {
		form, st, ok := refused(r, err)
		if !ok {
			return err
		}
		status, v.Notice = st, form.Notice
		if p := form.Bad.Of("source"); p != nil {
			v.Notice = ui.Sentence(p.Reason)
		}
	}
	typed := tr.typed(t)
	typed["why"] = r.PostFormValue("why")
	return s.vehiclePage(w, r, status, tr, &t, v, typed)
}

// vehicleSend shows what a vehicle does to the ends, and stores it when exactly that
// was shown. t is the one on record, nil for another.
func (s *Server) vehicleSend(w http.ResponseWriter, r *http.Request, tr *truckReader, t *demand.Truck) error {
	typed := tr.truckForm(r)
	v := loads.VehicleView{Form: settings.Form{Entry: r.PostFormValue("entry"), From: r.PostFormValue("from")}}
	var was demand.Truck
	if t != nil {
		was = *t
		typed["code"] = t.Code
	}
	if r.PostFormValue("do") == "add" {
		rows, _ := strconv.Atoi(typed["axles"])
		typed["axles"] = strconv.Itoa(min(rows+1, axleRowsMost))
		return s.vehiclePage(w, r, http.StatusOK, tr, t, v, typed)
	}
	truck, kept, bad := tr.truckTyped(typed, was)
	if t == nil {
		v.From = tr.frame.TruckDigest(truck.Code) // nobody has seen it yet
	}
	if t == nil && bad.Of("code") == nil {
		if _, taken := tr.find(truck.Code); taken {
			bad.Add("code", truck.Code, "is the code of another vehicle")
		}
	}
	change := repair.EditTruck{Truck: truck, Typed: kept, From: v.From}
	shown := calc.Digest([]any{change.Truck, change.Typed})
	err := bad.Err()
	if err == nil && r.PostFormValue("do") == "save" && r.PostFormValue("previewed") == shown {
		if _, err = s.editSettings(r, time.Time{}, change); err == nil {
			s.flash(r, ui.Done, truck.Code+" is on record. Every rating was computed anew.")
			return seeOther(w, r, tr.head.Path("vehicles", truck.Code))
		}
	} else if err == nil {
		p, perr := s.store.Preview(r.Context(), tr.head.ID.String(), s.actor(r), change)
		if err = perr; err == nil {
			if r.PostFormValue("do") == "save" {
				v.Notice = "The vehicle changed since you saw what it does. Nothing is stored yet: look again, then save."
			}
			e := effectsOf(p, tr.head, "No design goes out of date and no capacity moves. Rating factors are computed anew.")
			v.Effects, v.Previewed = &e, shown
			return s.vehiclePage(w, r, http.StatusOK, tr, t, v, typed)
		}
	}
	if fault.KindOf(err) == fault.Conflict {
		v.From, v.Entry = "", ""
		v.Clash = tr.truckClash(typed, was)
		return s.vehiclePage(w, r, http.StatusConflict, tr, t, v, typed)
	}
	form, status, ok := refused(r, err)
	if !ok {
		return err
	}
	v.Bad, v.Notice = form.Bad, form.Notice
	return s.vehiclePage(w, r, status, tr, t, v, typed)
}

func (tr *truckReader) truckClash(typed map[string]string, now demand.Truck) *settings.Clash {
	fields := slices.DeleteFunc(tr.truckFields(), func(f ui.Field) bool { return f.Name == "source" || f.Name == "tag" })
	stored := tr.typed(now)
	for i := range axleRowsMost {
		for _, p := range axleParts {
			if name := axleField(i, p.name); typed[name] != "" || stored[name] != "" {
				fields = append(fields, ui.Field{Name: name, Label: fmt.Sprintf(p.label, i+1)})
			}
		}
	}
	return clashOf("Nothing of yours was stored yet. The form holds what you typed; look at what it changes now, then save it over what is stored.", fields, typed, stored)
}

// vehiclePage renders a vehicle with its form.
func (s *Server) vehiclePage(w http.ResponseWriter, r *http.Request, status int, tr *truckReader, t *demand.Truck, v loads.VehicleView, typed map[string]string) error {
	inWords(v.Bad, typed, tr.sys)
	v.May, v.New = s.can(r, authz.EditBasis), t == nil
	v.Axles, _ = strconv.Atoi(typed["axles"])
	v.Axles = min(max(v.Axles, 1), axleRowsMost)
	v.LaneAlone, v.OneLane = typed["lane_alone"] == "on", typed["one_lane"] == "on"
	v.LoadUnit, v.GapUnit = units.Forces.Label(tr.sys), units.Spans.Label(tr.sys)
	fields := tr.truckFields()
	for i := range v.Axles {
		for _, p := range axleParts {
			fields = append(fields, ui.Field{Name: axleField(i, p.name), Label: fmt.Sprintf(p.label, i+1)})
		}
	}
	v.Fields = boxesOf(fields, typed, v.Bad)
	if t == nil {
		v.Title, v.Action = "Enter a vehicle", tr.head.Path("vehicles")
		return s.render(w, r, status, loads.VehiclePage(s.page(r, v.Title, vehicleCrumb(tr.head)), v))
	}
	row := tr.frame.Truck(t.Code)
	v.Vehicle = tr.view(*t, 1)
	v.Title, v.Action, v.Back = t.Code+", "+t.Name, v.Href, row != nil && shipped(t.Code) != nil
	v.Title = strings.TrimSuffix(v.Title, ", ")
	v.Vehicle.Figure.Caption = "Axle loads to scale, in " + units.Forces.Label(tr.sys) + "; gaps in " + units.Spans.Label(tr.sys) + ", drawn at their shortest."
	if v.From == "" {
		v.From = tr.frame.TruckDigest(t.Code)
	}
	v.Facts, v.Caution, v.Reactions = truckFacts(v.Vehicle), truckCaution(*t, row), tr.reactions(*t)
	if v.May {
		v.Retire = tr.retireForm(*t, row, typed["why"])
	}
	list, err := s.store.SettingChanges(r.Context(), tr.head.ID.String(), []string{"truck.edit"}, 1000)
	if err != nil {
		return err
	}
	list = slices.DeleteFunc(list, func(c db.SettingChange) bool {
		var ch repair.EditTruck
		return json.Unmarshal(c.Change, &ch) != nil || ch.Truck.Code != t.Code
	})
	v.Log = logOf(list, tr.sys, tr.zone)
	return s.render(w, r, status, loads.VehiclePage(s.page(r, v.Title, vehicleCrumb(tr.head)), v))
}

func (tr *truckReader) retireForm(t demand.Truck, row *repair.Truck, why string) *loads.Retire {
	out := &loads.Retire{Value: "retire", Label: "Take it out of the ratings", Says: "No end is rated for it any more. It stays on record and can be brought back.",
		Source: ui.Field{Name: "why", Label: "Why", Value: why, Rows: 2}}
	if row != nil && row.Retired {
		out.Value, out.Label, out.Says = "restore", "Rate for it again", "Every end is rated for it again, with the axles as they stand."
		out.Source.Label = "Why, or the source of its axles"
	} else if t.Title() == demand.HL93 {
		return nil // the demand of designs stands on it
	}
	return out
}

// truckInWords says what an entry did to a vehicle, for the list of changes.
func truckInWords(c db.SettingChange, sys units.System) string {
	var ch repair.EditTruck
	_ = json.Unmarshal(c.Change, &ch)
	if ch.Retire {
		return ch.Truck.Code + " is not rated any more: " + ch.Truck.Source
	}
	var axles []string
	for _, a := range ch.Truck.Axles {
		axles = append(axles, units.Forces.Figure(float64(a.Load), sys, -1))
	}
	return fmt.Sprintf("%s: axles of %s %s, together %s. Source: %s", ch.Truck.Code, strings.Join(axles, ", "), units.Forces.Label(sys),
		units.Forces.Format(float64(ch.Truck.GVW()), sys, -1), ch.Truck.Source)
}
