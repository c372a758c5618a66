package web

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/views/casting"
	"endcast/views/ui"
)

// headFields ask what a log is of. Names carry a prefix where a page has more than
// one such form.
func (c *pourReader) headFields(prefix string, typed url.Values, bad *fault.Invalid) []ui.Field {
	covered := c.pour.StartedAt
	if c.pour.EndedAt != nil {
		covered = *c.pour.EndedAt
	}
	ends := []ui.Option{{Label: "every end of the pour"}}
	for _, r := range c.scope.Ends {
		ends = append(ends, ui.Option{Value: r.End.ID, Label: r.End.Name})
	}
	fields := []ui.Field{
		{Name: prefix + "sensor", Label: "Sensor", Hint: "As it is marked."},
		{Name: prefix + "place", Label: "Place of the sensor", Options: append([]ui.Option{{Label: "choose"}}, placesWords...)},
		{Name: prefix + "end_id", Label: "Speaks for", Options: ends},
		{Name: prefix + "covered_at", Label: "Covered by concrete at", Type: "datetime-local", Value: covered.In(c.zone).Format("2006-01-02T15:04")},
		{Name: prefix + "note", Label: "Note", Optional: true},
	}
	for i, f := range fields {
		if typed.Has(f.Name) {
			fields[i].Value = typed.Get(f.Name)
		}
		fields[i] = fields[i].With(bad)
	}
	return fields
}

// head reads headFields.
func (c *pourReader) logHead(prefix string, typed url.Values, bad *fault.Invalid) repair.LogHead {
	h := repair.LogHead{Pour: c.pour.Number, Sensor: typed.Get(prefix + "sensor"), Place: typed.Get(prefix + "place"), EndID: typed.Get(prefix + "end_id"), Note: typed.Get(prefix + "note")}
	h.CoveredAt = c.moment(bad, prefix+"covered_at", typed.Get(prefix+"covered_at"))
	if h.CoveredAt.IsZero() && bad.Of(prefix+"covered_at") == nil {
		bad.Add(prefix+"covered_at", "", "say when the sensor was covered")
	}
	return h
}

// renamed maps the fields of a log's head to those of a form with a prefix.
func renamed(prefix string) map[string]string {
	out := map[string]string{}
	for _, n := range []string{"sensor", "place", "end_id", "covered_at", "note"} {
		out[n] = prefix + n
	}
	return out
}

func (c *pourReader) handForm(typed url.Values, bad *fault.Invalid) casting.CuringHand {
	v := casting.CuringHand{Log: ui.Field{Name: "log", Label: "To the log of", Options: []ui.Option{{Label: "a new log"}}, Value: typed.Get("log")}, Head: c.headFields("hand_", typed, bad)}
	for _, l := range c.list.CuringLogs {
		if l.Kind == "hand" && l.WithdrawnAt == nil {
			v.Log.Options = append(v.Log.Options, ui.Option{Value: l.ID, Label: l.Sensor})
		}
	}
	v.Log = v.Log.With(bad)
	for i := range v.Head {
		v.Head[i].Optional = true
	}
	for i := 1; i <= handRows; i++ {
		at, temp := fmt.Sprintf("readings-%d-at", i), fmt.Sprintf("readings-%d-temp", i)
		v.Rows = append(v.Rows, [2]ui.Field{
			ui.Field{Name: at, Label: fmt.Sprintf("Time of reading %d", i), Type: "datetime-local", Value: typed.Get(at), Optional: true}.With(bad),
			ui.Field{Name: temp, Label: fmt.Sprintf("Temperature %d", i), InputMode: "decimal", Unit: units.Temperatures.Label(c.sys), Value: typed.Get(temp), Optional: true, Short: true}.With(bad)})
	}
	return v
}

// curingHand takes readings that a person took.
func (s *Server) curingHand(w http.ResponseWriter, r *http.Request) error {
	c, err := s.openPour(r)
	if err != nil {
		return err
	}
	if err := parseForm(r); err != nil {
		return err
	}
	bad := &fault.Invalid{}
	ch := repair.AddHandReadings{Log: r.PostFormValue("log"), LogHead: repair.LogHead{Pour: c.pour.Number}}
	if ch.Log == "" {
		ch.LogHead = c.logHead("hand_", r.PostForm, bad)
	}
	rename := renamed("hand_")
	for i := 1; i <= handRows; i++ {
		at, temp := fmt.Sprintf("readings-%d-at", i), fmt.Sprintf("readings-%d-temp", i)
		if r.PostFormValue(at) == "" && r.PostFormValue(temp) == "" {
			continue
		}
		when := c.moment(bad, at, r.PostFormValue(at))
		if r.PostFormValue(at) == "" {
			bad.Add(at, "", "say when reading %d was taken", i)
		}
		t := as[units.Temperature](c.quantity(bad, temp, r.PostFormValue(temp), units.Temperatures))
		if r.PostFormValue(temp) == "" {
			bad.Add(temp, "", "reading %d has no temperature", i)
		}
		if t == nil || when.IsZero() {
			continue
		}
		ch.Readings = append(ch.Readings, repair.HandReading{At: when, Temp: *t})
		n := len(ch.Readings)
		rename[fmt.Sprintf("readings-%d-at", n)], rename[fmt.Sprintf("readings-%d-temp", n)] = at, temp
	}
	if len(ch.Readings) == 0 && len(bad.Fields) == 0 {
		bad.Add("readings-1-at", "", "enter at least one reading")
	}
	if bad.Err() != nil {
		return s.curingPage(w, r, http.StatusUnprocessableEntity, c, r.PostForm, bad, "")
	}
	return s.curingDone(w, r, c, ch, rename, "The readings are on record.")
}

// curingWithdraw takes a log out of what counts.
func (s *Server) curingWithdraw(w http.ResponseWriter, r *http.Request) error {
	c, err := s.openPour(r)
	if err != nil {
		return err
	}
	if err := parseForm(r); err != nil {
		return err
	}
	ch := repair.WithdrawCuringLog{Pour: c.pour.Number, Log: r.PostFormValue("log"), Why: r.PostFormValue("why")}
	return s.curingDone(w, r, c, ch, map[string]string{"why": "why-" + ch.Log}, "The log is withdrawn. It stays on record.")
}

func (c *pourReader) endForm(typed url.Values, bad *fault.Invalid) []ui.Field {
	ends := []ui.Option{{Label: "every end of the pour"}}
	for _, r := range c.scope.Ends {
		ends = append(ends, ui.Option{Value: r.End.ID, Label: r.End.Name})
	}
	fields := []ui.Field{{Name: "cured_end", Label: "At", Options: ends}, {Name: "cured_at", Label: "Curing ended at", Type: "datetime-local"}, {Name: "cured_note", Label: "Note", Optional: true}}
	for i, f := range fields {
		fields[i].Value = typed.Get(f.Name)
		fields[i] = fields[i].With(bad)
	}
	return fields
}

// curingEnd takes the word of a person that curing is over.
func (s *Server) curingEnd(w http.ResponseWriter, r *http.Request) error {
	c, err := s.openPour(r)
	if err != nil {
		return err
	}
	if err := parseForm(r); err != nil {
		return err
	}
	bad := &fault.Invalid{}
	ch := repair.EndCuring{Pour: c.pour.Number, EndID: r.PostFormValue("cured_end"), Note: r.PostFormValue("cured_note"), At: c.moment(bad, "cured_at", r.PostFormValue("cured_at"))}
	if r.PostFormValue("cured_at") == "" {
		bad.Add("cured_at", "", "say when curing ended")
	}
	if ch.EndID != "" && !slices.ContainsFunc(c.scope.Ends, func(x *repair.Record) bool { return x.End.ID == ch.EndID }) {
		bad.Add("cured_end", "", "the pour does not serve this end")
	}
	if bad.Err() != nil {
		return s.curingPage(w, r, http.StatusUnprocessableEntity, c, r.PostForm, bad, "")
	}
	return s.curingDone(w, r, c, ch, map[string]string{"at": "cured_at", "note": "cured_note", "end_id": "cured_end"}, "The end of curing is on record.")
}
